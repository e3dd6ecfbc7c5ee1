"""The residency table and the weeks behind it, from scored seasons."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.effort_grid import EffortGrid
from deerlog.analysis.intervals import jeffreys
from deerlog.analysis.presence.patterns import GONE, RESIDENT, TOLD
from deerlog.analysis.presence.season_evidence import Combined
from deerlog.analysis.weeks import NOT_WATCHED, SEEN, week_ends, week_table
from deerlog.timekeeping.seasons import SeasonCalendar

Floats = npt.NDArray[np.float64]

RESIDENT_AT_LEAST = 80.0
VISITING_AT_MOST = 20.0
LEAST_DAYS_SEEN = 2
"""One day on camera, in whatever record, may be another buck under his name (our choice)."""
ALL = "all"

RESIDENCY_COLUMNS = [
    "buck", "target", "season", "score", "label", "pattern",
    "p_year_round", "p_fall", "p_summer", "p_rut",
    "weeks_seen", "weeks_watched", "days_seen", "visits", "shooting_light_visits",
    "daylight_share", "daylight_low", "daylight_high",
    "longest_absence_days", "first_seen", "last_seen",
]  # fmt: skip
WEEKLY_COLUMNS = [
    "buck", "season", "week_start", "camera_days", "days_seen", "visits",
    "shooting_light_visits", "state", "around", "evidence", "phase", "phases_seen", "months_seen",
]  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class ScoredSeasons:
    """Everything known of B bucks over T days.

    Attributes
    ----------
    bucks, seasons
        Names and years in order.
    debut
        By buck: the season he was first seen in; what comes before is no part of his record.
    calendar, grid
        Seasons, and what ran on the T days.
    week_of
        By season: the week of each of its days known.
    visits, light_visits
        Shape (T, B): sure visits, and those in shooting light.
    share, around
        Shape (T, B): share of his cameras that ran; smoothed chance that he was around.
    combined
        By buck: chances of the patterns, one entry a season from his debut.
    least_watched_share
        Below it a day or a week was not watched.
    """

    bucks: Sequence[str]
    seasons: Sequence[int]
    debut: Mapping[str, int]
    calendar: SeasonCalendar
    grid: EffortGrid
    week_of: Mapping[int, pd.DatetimeIndex]
    visits: npt.NDArray[np.int64]
    light_visits: npt.NDArray[np.int64]
    share: Floats
    around: Floats
    combined: Sequence[Combined]
    least_watched_share: float

    def own_seasons(self, buck: str) -> list[int]:
        """Seasons from his debut on."""
        return [s for s in self.seasons if s >= self.debut[buck]]


def label_of(score: float, days_seen: int, days_so_far: int, p_gone: float) -> str:
    """The label of a score: resident, visiting or undecided.

    Undecided also where nothing was seen in the season (``days_seen``), where he was seen on fewer
    than `LEAST_DAYS_SEEN` days up to its end (``days_so_far``), or where it is likelier than not
    that he did not use the property at all or lived here and was lost before the pre-rut
    (``p_gone``): neither living here nor visiting is then what happened.
    """
    if days_seen == 0 or days_so_far < LEAST_DAYS_SEEN or p_gone > 0.5:
        return "undecided"
    if score >= RESIDENT_AT_LEAST:
        return "resident"
    return "visiting" if score <= VISITING_AT_MOST else "undecided"


def weekly_table(scored: ScoredSeasons) -> pd.DataFrame:
    """`WEEKLY_COLUMNS`: one row a buck, season and week, from his debut to the last day known.

    ``phases_seen`` and ``months_seen`` (1 to 12) are tuples: those of the days he was seen on, in
    order; empty where he was not. A week may lie in two phases; ``phase`` is that of the first day
    he was seen on, else of the week's middle day.
    """
    parts = []
    for season in scored.seasons:
        columns = [b for b, name in enumerate(scored.bucks) if scored.debut[name] <= season]
        week = scored.week_of[season]
        first = scored.grid.rows(*scored.calendar.bounds(season)).start
        rows = slice(first, first + len(week))
        part = week_table(
            [scored.bucks[b] for b in columns],
            week=week,
            share=scored.share[rows, columns],
            camera_days=scored.grid.camera_days[rows],
            visits=scored.visits[rows, columns],
            light_visits=scored.light_visits[rows, columns],
            around=scored.around[rows, columns],
            least_watched_share=scored.least_watched_share,
        )
        part["season"] = season
        part["evidence"] = np.concatenate([_argued(scored, b, season) for b in columns])
        ends = week_ends(week)
        middle = (np.append(0, ends[:-1] + 1) + ends) // 2
        days = scored.grid.days[rows]
        phase = scored.calendar.phase_of(days)
        seen = scored.visits[rows, columns] > 0
        phases_seen = _of_seen_days(phase.tolist(), seen, ends)
        months_seen = _of_seen_days(days.month.tolist(), seen, ends)
        middles = np.tile(phase[middle], len(columns)).tolist()
        part["phase"] = [
            phases[0] if phases else usual
            for phases, usual in zip(phases_seen, middles, strict=True)
        ]
        part["phases_seen"] = pd.Series(phases_seen, dtype="object")
        part["months_seen"] = pd.Series(months_seen, dtype="object")
        parts.append(part)
    table = pd.concat(parts, ignore_index=True)
    number = pd.Categorical(table["buck"], categories=list(scored.bucks)).codes
    order = np.argsort(number, kind="stable")
    return table.iloc[order].reset_index(drop=True)[WEEKLY_COLUMNS]


def _of_seen_days(
    of_day: Sequence[Any], seen: npt.NDArray[np.bool_], ends: npt.NDArray[np.int64]
) -> list[tuple[Any, ...]]:
    """What the days he was seen on have, each once: a tuple a buck and week.

    Parameters
    ----------
    of_day
        Something of each of T days.
    seen
        Shape (T, B).
    ends
        Of `week_ends`.
    """
    week = np.searchsorted(ends, np.arange(len(seen)))
    found: list[dict[Any, None]] = [{} for _ in range(seen.shape[1] * len(ends))]
    for b, day in zip(*np.nonzero(seen.T), strict=True):
        found[int(b) * len(ends) + int(week[day])][of_day[int(day)]] = None
    return [tuple(each) for each in found]


def _argued(scored: ScoredSeasons, b: int, season: int) -> Floats:
    """How much each week of a season moved the log odds that a buck lives here."""
    combined = scored.combined[b]
    i = season - scored.debut[scored.bucks[b]]
    # The step from one season to the next is no week's doing: every season's odds are carried to
    # the last season, so the first week starts where the season before ended.
    before = float(combined.log_odds[i - 1][-1]) if i else combined.prior_log_odds
    return np.diff(combined.log_odds[i], prepend=before)


def residency_table(
    scored: ScoredSeasons, weekly: pd.DataFrame, targets: Collection[str]
) -> pd.DataFrame:
    """`RESIDENCY_COLUMNS`: one row a buck and season, and one with season ``all``.

    Parameters
    ----------
    weekly
        Of `weekly_table`.
    targets
        Bucks marked as targets.
    """
    state = weekly["state"]
    weeks = pd.DataFrame({"seen": state.eq(SEEN), "watched": state.ne(NOT_WATCHED)}).astype(int)
    by_season = weeks.groupby([weekly["buck"], weekly["season"]]).sum().to_dict("index")
    rows = []
    for b, buck in enumerate(scored.bucks):
        seasons = scored.own_seasons(buck)
        absences = []
        for i, season in enumerate(seasons):
            days = scored.grid.rows(*scored.calendar.bounds(season))
            absences.append(_longest_absence(scored, b, days))
            counts = by_season[buck, season]
            rows.append(
                _row(scored, b, days, str(season), i, counts["seen"], counts["watched"])
                | {"longest_absence_days": absences[-1]}
            )
        n_seen, n_watched = (sum(by_season[buck, s][k] for s in seasons) for k in weeks)
        rows.append(
            _row(scored, b, slice(None), ALL, -1, n_seen, n_watched)
            | {"longest_absence_days": max((a for a in absences if a is not None), default=None)}
        )
    table = pd.DataFrame(rows)
    table["target"] = table["buck"].isin(list(targets))
    low, high = jeffreys(table["shooting_light_visits"], table["visits"])
    seen = table["visits"] > 0
    table["daylight_share"] = table["shooting_light_visits"] / table["visits"].where(seen)
    table["daylight_low"], table["daylight_high"] = np.where(seen, [low, high], np.nan)
    return table[RESIDENCY_COLUMNS].astype({"longest_absence_days": "Int64"})


def _row(
    scored: ScoredSeasons,
    b: int,
    days: slice,
    season: str,
    i: int,
    weeks_seen: int,
    weeks_watched: int,
) -> dict[str, object]:
    chance = scored.combined[b].filtered[i]
    visits = scored.visits[days, b]
    seen_on = scored.grid.days[days][visits > 0]
    days_so_far = int((scored.visits[: days.stop, b] > 0).sum())
    score = min(float(100 * chance[RESIDENT].sum()), 100.0)  # a sum may round to a hair above 1
    return {
        "buck": scored.bucks[b],
        "season": season,
        "score": score,
        "label": label_of(score, len(seen_on), days_so_far, float(chance[GONE].sum())),
        "pattern": TOLD[int(chance[: len(TOLD)].argmax())] if len(seen_on) else "",
        "p_year_round": chance[0],
        "p_fall": chance[1],
        "p_summer": chance[2],
        "p_rut": chance[3],
        "weeks_seen": weeks_seen,
        "weeks_watched": weeks_watched,
        "days_seen": len(seen_on),
        "visits": int(visits.sum()),
        "shooting_light_visits": int(scored.light_visits[days, b].sum()),
        "first_seen": seen_on[0] if len(seen_on) else pd.NaT,
        "last_seen": seen_on[-1] if len(seen_on) else pd.NaT,
    }


def _longest_absence(scored: ScoredSeasons, b: int, days: slice) -> int | None:
    """Most watched days between two sightings that followed each other; None below two."""
    seen_on = np.flatnonzero(scored.visits[days, b])
    if len(seen_on) < 2:
        return None
    watched_so_far = np.cumsum(scored.share[days, b] >= scored.least_watched_share)
    return int((watched_so_far[seen_on[1:] - 1] - watched_so_far[seen_on[:-1]]).max())
