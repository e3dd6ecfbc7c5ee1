"""Replays past weeks: the chances that would have been given, by the forecast and by the two rules
of thumb that it must beat, beside what came."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from deerlog.analysis.arrays import Floats
from deerlog.analysis.backtest.correction import Correction, GivenBefore
from deerlog.analysis.backtest.scores import brier, log_loss, reliability, top_sits
from deerlog.analysis.forecast.chances import Forecast, Learned, learn
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.sighting_grid import SightingGrid, sighting_grid
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.presence import PastSeasons, around, past_seasons
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import SeasonCalendar, week_start

LAST_DAYS = 14
ALL_TIME_WEIGHT = 40.0
LAST_DAYS_WEIGHT = 8.0
"""Half-days of the average rate added to each count, so that no chance is 0 or 1 and a log loss is
finite. The weights with which each rule did best on simulated properties (of 1 to 80), so that the
forecast is held against the rules at their best."""


def all_time_rate(known: SightingGrid) -> Floats:
    """A buck's rate at a site in a half since he was first seen, shape (B, S, 2).

    Half-days with a visit in shooting light over half-days that a camera ran, drawn towards the
    average over all bucks, sites and halves. (Counted from the record's first day, before some
    bucks were born, the rule does worse.)
    """
    first = known.seen.any(axis=2).argmax(axis=0)
    so_far = np.concatenate([np.zeros((1, len(known.sites))), np.cumsum(known.running, axis=0)])
    ran = so_far[-1][None] - so_far[first]
    return _rate(known, known, ran, ALL_TIME_WEIGHT)


def last_days_rate(known: SightingGrid) -> Floats:
    """The same over the last `LAST_DAYS` days only, shape (B, S, 2)."""
    last = known.last(LAST_DAYS)
    return _rate(known, last, last.running.sum(axis=0)[None], LAST_DAYS_WEIGHT)


def _rate(known: SightingGrid, counted: SightingGrid, ran: Floats, weight: float) -> Floats:
    half_days = 2 * known.running.sum() * max(len(known.bucks), 1)
    average = (known.seen_in_light.sum() + 0.5) / (half_days + 1.0)
    came = counted.seen_in_light.sum(axis=0)
    watched = np.maximum(ran[..., None], came)
    return np.asarray((came + weight * average) / (watched + weight))


RULES = ("forecast", "all_time", "last_14_days")
HALF_DAY_COLUMNS = ["buck", "site", "half", "day", "seen", *RULES]
SCORE_COLUMNS = [
    "rule", "half_days", "seen", "log_loss", "brier", "top_sits_true", "top_sits",
]  # fmt: skip

RAN_ALL_DAY = 0.99
"""A half-day is scored where the site's cameras ran all day."""
LEAST_LOOKED_AT = 0.9
"""A week is scored where so much of what ran was looked at (our choice). Of less, the half-days
left would be the quiet ones, and every chance would look too high."""
WARM_UP_DAYS = 28
"""Nothing is scored before so many days of record: there is nothing yet to forecast from (our
choice)."""
TOP_SITS = 5


@dataclass(frozen=True, kw_only=True)
class Backtest:
    """Past weeks, replayed.

    ``half_days``: `HALF_DAY_COLUMNS`, one row a buck, site and half-day whose camera ran all day,
    for bucks seen by the week before: whether he came in shooting light, and the chance given
    beforehand by the forecast and by each simple rule. Of the ``weeks`` replayed so many are not
    scored, since too little of them has been looked at yet, and so many have a half-day that is.
    ``correction`` is what the scored weeks say of the chances to come; each week's were corrected
    by the weeks before it.
    """

    half_days: pd.DataFrame
    weeks: int
    weeks_not_looked_at: int = 0
    weeks_scored: int = 0
    correction: Correction = field(default_factory=Correction)

    def scores(self) -> pd.DataFrame:
        """`SCORE_COLUMNS`: one row a rule. ``top_sits_true`` of ``top_sits`` best sits came true.

        ``log_loss`` in nats and ``brier`` a half-day; lower is better.
        """
        seen = self.half_days["seen"]
        rows = []
        for rule in RULES:
            chance = self.half_days[rule]
            rows.append(
                (
                    rule, len(seen), int(seen.sum()), log_loss(chance, seen), brier(chance, seen),
                    *top_sits(self.half_days, rule, TOP_SITS),
                )
            )  # fmt: skip
        return pd.DataFrame(rows, columns=SCORE_COLUMNS)

    def reliability(self, rule: str = "forecast") -> pd.DataFrame:
        """See `deerlog.analysis.backtest.scores.reliability`."""
        return reliability(self.half_days[rule], self.half_days["seen"])


def backtest(
    visits: pd.DataFrame,
    effort: pd.DataFrame,
    calendar: SeasonCalendar,
    sites: pd.DataFrame,
    *,
    first: pd.Timestamp,
    last: pd.Timestamp,
    bucks: Collection[str] | None = None,
    judgement: Judgement | None = None,
    forecast_judgement: ForecastJudgement | None = None,
    week_starts: str = "Mon",
    ran: pd.DataFrame | None = None,
    past: PastSeasons | None = None,
    unsure: pd.DataFrame | None = None,
    progress: Callable[[int, int], None] | None = None,
    each_week: Callable[[Forecast], None] | None = None,
) -> Backtest:
    """Walk forward week by week, each time knowing only what had happened by the week before.

    The weather of the days forecast is left out: it would have to be the weather as it was forecast
    at the time, which nobody kept. Scored are ``bucks`` (None: all) from ``first`` to ``last``;
    learned from are all visits (sure tags only) and ``effort``, what was watched. ``ran`` holds the
    same rows with what ran, looked at or not (None: all of it was): of a half-day that was looked
    at in part only that part of a chance can come true, and so much of it is scored. ``past`` is
    for a season replayed; None, and other seasons, are worked out here. ``unsure`` are visits with
    an unsure name, as for `past_seasons`. ``progress`` is told weeks
    done and in all, ``each_week`` the forecast of each week, made and corrected at the end of the
    week before.
    """
    judgement = judgement or Judgement()
    known_from = min([last, *(table["day"].min() for table in (visits, effort) if len(table))])
    grid = sighting_grid(visits, effort, known_from, last, unsure)
    running = grid.running if ran is None else sighting_grid(visits, ran, known_from, last).running
    learned: Learned | None = None
    not_looked_at, parts, so_far_given = 0, [], GivenBefore()
    weeks = list(_weeks(grid, first, last, calendar, week_starts))
    for done, (today, days) in enumerate(weeks):
        known = grid.until(today)
        if known.bucks:
            season = int(calendar.season_of(days[:1])[0])
            if past is None or past.season != season:
                past = past_seasons(visits, effort, calendar, season, judgement, unsure)
            so_far = visits[visits["day"] <= today]
            here = around(past, so_far, effort, today, until=days[-1])
            learned = learn(
                known, so_far, here, calendar, sites, forecast_judgement, before=learned
            )
            made = learned.forecast(days)
            corrected = so_far_given.correction().forecast(made)
            if each_week is not None:
                each_week(corrected)
            row = int(grid.days.searchsorted(days[0]))
            rows = slice(row, row + len(days))
            ran_then = running[rows].sum()
            if ran_then <= 0 or grid.running[rows].sum() / ran_then >= LEAST_LOOKED_AT:
                part, at_first = _half_days(grid, running, known, rows, (corrected, made), bucks)
                so_far_given.add(at_first, part["seen"].to_numpy(dtype=bool))
                parts.append(part)
            else:
                not_looked_at += 1
        if progress is not None:
            progress(done + 1, len(weeks))
    table = pd.concat(parts, ignore_index=True) if parts else _no_half_days()
    return Backtest(
        half_days=table,
        weeks=len(weeks),
        weeks_not_looked_at=not_looked_at,
        weeks_scored=sum(len(part) > 0 for part in parts),
        correction=so_far_given.correction(),
    )


def _weeks(
    grid: SightingGrid,
    first: pd.Timestamp,
    last: pd.Timestamp,
    calendar: SeasonCalendar,
    week_starts: str,
) -> Iterator[tuple[pd.Timestamp, pd.DatetimeIndex]]:
    """The last day known before each week, and the week's days; a season's end cuts a week."""
    first = max(first, grid.days[0] + pd.Timedelta(days=WARM_UP_DAYS))
    days = pd.date_range(first, last, freq="D", unit="us")
    if not len(days):
        return
    week = week_start(days, week_starts)
    season = calendar.season_of(days)
    new = np.flatnonzero(np.append(True, (week[1:] != week[:-1]) | (season[1:] != season[:-1])))
    starts = [int(start) for start in new]
    for start, end in zip(starts, [*starts[1:], len(days)], strict=True):
        yield days[start] - pd.Timedelta(days=1), days[start:end]


def _half_days(
    grid: SightingGrid,
    running: Floats,
    known: SightingGrid,
    row: slice,
    made: tuple[Forecast, Forecast],
    bucks: Collection[str] | None,
) -> tuple[pd.DataFrame, Floats]:
    """What was said of some days and what came, for cameras that ran; and what was said at first:
    ``made`` are the forecast as corrected and as it was."""
    chance, at_first = (each.chance() for each in made)
    wanted = [b for b, name in enumerate(known.bucks) if bucks is None or name in bucks]
    of_grid = [grid.bucks.index(known.bucks[b]) for b in wanted]
    seen = grid.seen_in_light[row][:, of_grid]
    ran = (running[row][:, None, :, None] >= RAN_ALL_DAY) & ~grid.unsure[row][:, of_grid, :, None]
    ran = np.broadcast_to(ran, seen.shape)
    looked_at = grid.running[row] / np.maximum(running[row], 1e-12)
    part = np.broadcast_to(looked_at[:, None, :, None], seen.shape)
    day, buck, site, half = np.nonzero(ran)
    rules = {
        "forecast": part * chance[:, wanted],
        "all_time": part * all_time_rate(known)[wanted],
        "last_14_days": part * last_days_rate(known)[wanted],
    }
    names = np.array(known.bucks, dtype=object)[wanted]
    given = (part * at_first[:, wanted])[ran]
    sites, halves = np.array(grid.sites, dtype=object), np.array(HALVES, dtype=object)
    table = pd.DataFrame(
        {
            "buck": pd.Categorical(names[buck], categories=list(grid.bucks)),
            "site": pd.Categorical(sites[site], categories=list(grid.sites)),
            "half": pd.Categorical(halves[half], categories=list(HALVES)),
            "day": grid.days[row][day],
            "seen": seen[ran],
            **{name: values[ran] for name, values in rules.items()},
        }
    )
    return table[HALF_DAY_COLUMNS], given


def _no_half_days() -> pd.DataFrame:
    return pd.DataFrame({name: [] for name in HALF_DAY_COLUMNS}).astype(
        {"seen": bool, "day": "datetime64[us]", **dict.fromkeys(RULES, float)}
    )
