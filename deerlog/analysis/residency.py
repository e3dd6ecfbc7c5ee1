"""Does he live here, or does he visit? The residency score of every buck, with its evidence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.effort_grid import EffortGrid, effort_grid, site_weights, watched_share
from deerlog.analysis.intervals import jeffreys
from deerlog.analysis.patterns import (
    PATTERNS,
    RESIDENT,
    Judgement,
    pattern_chains,
    pattern_prior,
    rate_grid,
    season_transition,
)
from deerlog.analysis.season_evidence import (
    Combined,
    SeasonEvidence,
    combine_seasons,
    learned_rate_weights,
    season_evidence,
)
from deerlog.analysis.weeks import NOT_WATCHED, season_weeks, week_table
from deerlog.timekeeping.seasons import SeasonCalendar

Floats = npt.NDArray[np.float64]

RESIDENT_AT_LEAST = 80.0
VISITING_AT_MOST = 20.0
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
    "shooting_light_visits", "state", "around", "evidence", "phase",
]  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Residency:
    """Labels and their evidence.

    Attributes
    ----------
    table
        `RESIDENCY_COLUMNS`: one row a buck and season (``season`` as text, from what was known up
        to and including it) and one with season ``all``. The four ``p_`` fall short of 1 by the
        chance that he did not use the property at all that season.
    weekly
        `WEEKLY_COLUMNS`: one row a buck, season and week. ``evidence`` is how much the week moved
        the log odds that he lives here in the latest season; a buck's weeks and his
        ``prior_log_odds`` sum to the log odds of his ``all`` score. ``phase`` is that of the
        week's middle day.
    around
        Index: every day from the first season's start to the end of the season of ``as_of``;
        columns: bucks; smoothed chance that he was around, and beyond ``as_of`` the forecast. NaN
        in seasons before he was first seen.
    share
        Same index and columns: share of his own cameras that ran.
    prior_log_odds
        By buck.
    rate
        By buck: sightings a day when around and his cameras run, posterior mean.
    """

    table: pd.DataFrame
    weekly: pd.DataFrame
    around: pd.DataFrame
    share: pd.DataFrame
    prior_log_odds: Mapping[str, float]
    rate: Mapping[str, float]


def residency(
    visits: pd.DataFrame,
    effort: pd.DataFrame,
    calendar: SeasonCalendar,
    *,
    as_of: pd.Timestamp,
    targets: Sequence[str] = (),
    judgement: Judgement | None = None,
    week_starts: str = "Mon",
    least_watched_share: float = 0.25,
) -> Residency:
    """Score every buck.

    The score is the probability, from 0 to 100, that he lives here through the hunting season
    rather than visits or leaves before it. Each day he is around or gone; each pattern (see
    `deerlog.analysis.patterns`) has its own daily chances of coming and going; a sighting depends
    on being around and on what ran; the sighting rate is unknown and integrated out; a few tags
    are wrong. Days without a camera say nothing.

    Parameters
    ----------
    visits
        Of `deerlog.analysis.visits.buck_visits`, sure tags only, none after ``as_of``.
    effort
        ``camera, site, day, camera_day``.
    as_of
        The last day known (naive midnight); effort after it is ignored.
    targets
        Bucks marked as targets.
    judgement
        Rates fixed by judgement.
    least_watched_share
        A week in which a smaller share of his cameras ran was not watched.
    """
    judgement = judgement or Judgement()
    bucks = sorted(visits["buck"].unique())
    if not bucks:
        return _nothing()
    first_season = int(visits["season"].min())
    last_season = int(calendar.season_of(pd.DatetimeIndex([as_of]))[0])
    seasons = list(range(first_season, last_season + 1))
    first_day = pd.Timestamp(calendar.bounds(first_season)[0])
    last_day = pd.Timestamp(calendar.bounds(last_season)[1]) - pd.Timedelta(days=1)
    known = effort[effort["day"] <= as_of]
    grid = effort_grid(known, first_day, last_day)
    counts = _daily_counts(visits, bucks, grid)
    share = _share_of_his_cameras(visits, bucks, grid, judgement)
    wrong = _wrong_tags(counts.visits, share, judgement)
    debut = {b: int(s) for b, s in visits.groupby("buck")["season"].min().items()}

    rates, rate_weights = rate_grid(judgement)
    evidence: dict[int, SeasonEvidence] = {}
    week_of: dict[int, pd.DatetimeIndex] = {}
    for season in seasons:
        days, week_of[season] = season_weeks(calendar, season, as_of, week_starts)
        rows = _season_rows(calendar, season, grid)
        evidence[season] = season_evidence(
            pattern_chains(calendar, season, judgement),
            counts.seen[rows],
            share[rows],
            rates,
            wrong[rows],
            _week_ends(week_of[season]),
        )
    prior, transition = pattern_prior(judgement), season_transition(judgement)
    logs = [
        [evidence[s].log_evidence[:, :, b, :] for s in seasons if s >= debut[buck]]
        for b, buck in enumerate(bucks)
    ]
    weights = learned_rate_weights(
        logs, prior, rate_weights, transition, prior_bucks=judgement.rate_learning_bucks
    )
    combined = [combine_seasons(log, prior, weights, transition) for log in logs]

    around = np.full((len(grid.days), len(bucks)), np.nan)
    for b, buck in enumerate(bucks):
        for i, season in enumerate(s for s in seasons if s >= debut[buck]):
            rows = _season_rows(calendar, season, grid)
            given = evidence[season].around[:, :, b, :]
            around[rows, b] = np.einsum("tkr,kr->t", given, combined[b].smoothed[i])

    weekly = _weekly(
        bucks, seasons, debut, combined, counts, share, around, grid, calendar, week_of,
        least_watched_share,
    )  # fmt: skip
    table = _table(bucks, seasons, debut, combined, weekly, visits, share, grid, set(targets),
                   least_watched_share)  # fmt: skip
    return Residency(
        table=table,
        weekly=weekly,
        around=pd.DataFrame(around, index=grid.days, columns=bucks),
        share=pd.DataFrame(share, index=grid.days, columns=bucks),
        prior_log_odds={b: c.prior_log_odds for b, c in zip(bucks, combined, strict=True)},
        rate={b: float(c.rate @ rates) for b, c in zip(bucks, combined, strict=True)},
    )


def label_of(score: float, days_seen: int, p_absent: float) -> str:
    """The label of a score: resident, visiting or undecided.

    Undecided also where nothing was seen in the season, or where it is likelier than not that he
    did not use the property at all: neither living here nor visiting is then what happened.
    """
    if days_seen == 0 or p_absent > 0.5:
        return "undecided"
    if score >= RESIDENT_AT_LEAST:
        return "resident"
    return "visiting" if score <= VISITING_AT_MOST else "undecided"


@dataclass(frozen=True)
class _DailyCounts:
    seen: npt.NDArray[np.bool_]
    visits: npt.NDArray[np.int64]
    light: npt.NDArray[np.int64]


def _daily_counts(visits: pd.DataFrame, bucks: list[str], grid: EffortGrid) -> _DailyCounts:
    row = grid.day_number(visits["day"])
    column = pd.Categorical(visits["buck"], categories=bucks).codes.astype(np.int64)
    n = np.zeros((len(grid.days), len(bucks)), dtype=np.int64)
    light = np.zeros_like(n)
    np.add.at(n, (row, column), 1)
    np.add.at(light, (row, column), visits["in_light"].to_numpy(dtype=np.int64))
    return _DailyCounts(seen=n > 0, visits=n, light=light)


def _share_of_his_cameras(
    visits: pd.DataFrame, bucks: list[str], grid: EffortGrid, judgement: Judgement
) -> Floats:
    sites = pd.CategoricalDtype(list(grid.sites))
    days = visits.drop_duplicates(["buck", "site", "day"])
    days = days[days["site"].isin(grid.sites)]
    used = np.zeros((len(bucks), len(grid.sites)))
    np.add.at(
        used,
        (
            pd.Categorical(days["buck"], categories=bucks).codes.astype(np.int64),
            days["site"].astype(sites).cat.codes.to_numpy(dtype=np.int64),
        ),
        1.0,
    )
    weights = site_weights(used, grid.running.sum(axis=0), judgement.site_learning_days)
    return watched_share(grid.running, weights)


def _wrong_tags(visits: npt.NDArray[np.int64], share: Floats, judgement: Judgement) -> Floats:
    """Expected sightings a day under each name that were another buck, shape (T, bucks).

    A wrong tag needs a visit to be put on: the more was tagged on a day, the likelier that one of
    the tags is wrong. What ran bounds the rest.
    """
    named = judgement.wrong_tag_share * visits.sum(axis=1, keepdims=True) / visits.shape[1]
    return np.asarray(named + judgement.stranger_rate * np.minimum(share, 1.0))


def _season_rows(calendar: SeasonCalendar, season: int, grid: EffortGrid) -> slice:
    first, after = calendar.bounds(season)
    start = (pd.Timestamp(first) - grid.days[0]).days
    return slice(start, start + (after - first).days)


def _week_ends(week: pd.DatetimeIndex) -> npt.NDArray[np.int64]:
    """Place of the last day of each week among the season's days."""
    return np.flatnonzero(np.append(np.asarray(week[1:] != week[:-1]), True))


def _weekly(
    bucks: list[str],
    seasons: list[int],
    debut: Mapping[str, int],
    combined: list[Combined],
    counts: _DailyCounts,
    share: Floats,
    around: Floats,
    grid: EffortGrid,
    calendar: SeasonCalendar,
    week_of: Mapping[int, pd.DatetimeIndex],
    least_watched_share: float,
) -> pd.DataFrame:
    parts = []
    for b, buck in enumerate(bucks):
        before = combined[b].prior_log_odds
        for i, season in enumerate(s for s in seasons if s >= debut[buck]):
            week = week_of[season]
            rows = _season_rows(calendar, season, grid)
            rows = slice(rows.start, rows.start + len(week))
            part = week_table(
                day=grid.days[rows],
                week=week,
                share=share[rows, b],
                camera_days=grid.camera_days[rows],
                visits=counts.visits[rows, b],
                light_visits=counts.light[rows, b],
                least_watched_share=least_watched_share,
                around=around[rows, b],
            )
            odds = combined[b].log_odds[i]
            part["evidence"] = np.diff(odds, prepend=before)
            # The step from one season to the next is no week's doing: `to_last` already carries
            # every season's odds to the last one, so the first week starts where the last ended.
            before = float(odds[-1])
            ends = _week_ends(week)
            starts = np.append(0, ends[:-1] + 1)
            part["phase"] = calendar.phase_of(grid.days[rows][(starts + ends) // 2])
            part["buck"], part["season"] = buck, season
            parts.append(part)
    return pd.concat(parts, ignore_index=True)[WEEKLY_COLUMNS]


def _table(
    bucks: list[str],
    seasons: list[int],
    debut: Mapping[str, int],
    combined: list[Combined],
    weekly: pd.DataFrame,
    visits: pd.DataFrame,
    share: Floats,
    grid: EffortGrid,
    targets: set[str],
    least_watched_share: float,
) -> pd.DataFrame:
    absent = PATTERNS.index("absent")
    rows = []
    for b, buck in enumerate(bucks):
        his_visits = visits[visits["buck"] == buck]
        his_weeks = weekly[weekly["buck"] == buck]
        watched = share[:, b] >= least_watched_share
        own = [s for s in seasons if s >= debut[buck]]
        absences: list[int] = []
        for i, season in enumerate([*own, ALL]):
            whole = season == ALL
            chance = combined[b].filtered[-1 if whole else i]
            part = his_visits if whole else his_visits[his_visits["season"] == season]
            weeks = his_weeks if whole else his_weeks[his_weeks["season"] == season]
            days = pd.DatetimeIndex(part["day"].unique()).sort_values()
            if not whole:
                absence = _longest_absence(grid.day_number(days), watched)
                absences += [] if absence is None else [absence]
            else:
                absence = max(absences, default=None)
            n, light = len(part), int(part["in_light"].sum())
            low, high = jeffreys(light, n)
            score = float(100 * chance[RESIDENT].sum())
            rows.append(
                (
                    buck, buck in targets, str(season), score,
                    label_of(score, len(days), float(chance[absent])),
                    PATTERNS[int(chance[:absent].argmax())] if len(days) else "",
                    *chance[:absent],
                    int(weeks["state"].eq("seen").sum()),
                    int(weeks["state"].ne(NOT_WATCHED).sum()),
                    len(days), n, light,
                    light / n if n else np.nan, float(low) if n else np.nan,
                    float(high) if n else np.nan,
                    pd.NA if absence is None else absence,
                    days[0] if len(days) else pd.NaT, days[-1] if len(days) else pd.NaT,
                )
            )  # fmt: skip
    table = pd.DataFrame(rows, columns=RESIDENCY_COLUMNS)
    return table.astype({"longest_absence_days": "Int64"})


def _longest_absence(
    days: npt.NDArray[np.int64], watched: npt.NDArray[np.bool_]
) -> int | None:
    """Most watched days between two sightings that followed each other; None below two."""
    if len(days) < 2:
        return None
    so_far = np.cumsum(watched)
    between = so_far[days[1:] - 1] - so_far[days[:-1]]
    return int(between.max())


def _nothing() -> Residency:
    empty = pd.DataFrame(index=pd.DatetimeIndex([], dtype="datetime64[us]"))
    return Residency(
        table=pd.DataFrame(columns=RESIDENCY_COLUMNS),
        weekly=pd.DataFrame(columns=WEEKLY_COLUMNS),
        around=empty,
        share=empty,
        prior_log_odds={},
        rate={},
    )
