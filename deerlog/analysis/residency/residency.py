"""Does he live here, or does he visit? The residency score of every buck, with its evidence."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from deerlog.analysis.arrays import Bools, Floats, Ints
from deerlog.analysis.intervals import jeffreys
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import RESIDENT, TOLD
from deerlog.analysis.presence.presence import (
    PastSeasons,
    Presence,
    own_runs,
    own_season,
    past_seasons,
    presence,
    season_steps,
)
from deerlog.analysis.presence.seasons_combined import log_odds_resident
from deerlog.analysis.presence.sightings import rate_prior
from deerlog.analysis.presence.tagger import WrongNames
from deerlog.analysis.residency.standing import Standing, label_of, standing_of, watched_apart
from deerlog.analysis.weeks import NOT_WATCHED, SEEN, season_weeks, week_ends, week_table
from deerlog.timekeeping.seasons import SeasonCalendar

ALL = "all"

RESIDENCY_COLUMNS = [
    "buck", "target", "season", "score", "label", "pattern",
    "p_year_round", "p_fall", "p_summer", "p_rut", "p_passing", "p_gone",
    "weeks_seen", "weeks_watched", "days_seen", "visits", "shooting_light_visits",
    "daylight_share", "daylight_low", "daylight_high",
    "longest_absence_days", "first_seen", "last_seen",
]  # fmt: skip
WEEKLY_COLUMNS = [
    "buck", "season", "week_start", "camera_days", "days_seen", "visits",
    "shooting_light_visits", "state", "around", "evidence", "phase", "phases_seen", "months_seen",
]  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Residency:
    """Labels and their evidence.

    ``table``: `RESIDENCY_COLUMNS`, one row a buck and season (``season`` as text, from what was
    known up to and including it) and one with season ``all``. The chances of the patterns fall
    short of 1 by the chance that he did not use the property at all that season, or lived here and
    was lost before the pre-rut. ``p_gone`` is the chance that he is dead or gone for good by the
    season's end, or the last day known, whatever his pattern was.

    ``weekly``: `WEEKLY_COLUMNS`, one row a buck, season and week, from the season he was first seen
    in; counts are missing in a week that was not watched. ``evidence`` is how much the week moved
    the log odds that he lives here in the latest season; a buck's weeks and his ``prior_log_odds``
    sum to the log odds of his ``all`` score. ``phases_seen`` and ``months_seen`` (1 to 12) are
    tuples: those of the days he was seen on, in order. ``phase`` is that of the first day he was
    seen on, else of the week's middle day.

    ``around`` is that of `Presence`, ``share`` likewise the share of his own cameras that ran.
    ``standing`` and ``wrong`` (names) are None where no buck was ever seen.
    """

    table: pd.DataFrame
    weekly: pd.DataFrame
    around: pd.DataFrame
    share: pd.DataFrame
    prior_log_odds: Mapping[str, float]
    standing: Standing | None
    wrong: WrongNames | None


def residency(
    visits: pd.DataFrame,
    effort: pd.DataFrame,
    calendar: SeasonCalendar,
    *,
    as_of: pd.Timestamp,
    targets: Collection[str] = (),
    judgement: Judgement | None = None,
    week_starts: str = "Mon",
    least_watched_share: float = 0.25,
    past: PastSeasons | None = None,
    unsure: pd.DataFrame | None = None,
) -> Residency:
    """Score every buck from visits (sure tags only) and effort up to ``as_of``, the last day known.

    The score is the probability, from 0 to 100, that he lives here through the hunting season
    rather than visits or leaves before it. Each day he is around or gone; each pattern (see
    `deerlog.analysis.presence.patterns`) has its own daily chances of coming and going; a sighting
    depends on being around and on what ran; the sighting rate is unknown and integrated out; a few
    tags are wrong. Days without a camera say nothing: a week in which less than
    ``least_watched_share`` of his cameras ran was not watched. ``past``, for the season of
    ``as_of``, is worked out where None, with ``unsure`` as for `past_seasons`.
    """
    judgement = judgement or Judgement()
    if past is None:
        season = int(calendar.season_of(pd.DatetimeIndex([as_of]))[0])
        past = past_seasons(visits, effort, calendar, season, judgement, unsure)
    found = presence(past, visits, effort, as_of)
    if found is None:
        empty = pd.DataFrame(index=pd.DatetimeIndex([], dtype="datetime64[us]"))
        return Residency(
            table=pd.DataFrame(columns=RESIDENCY_COLUMNS),
            weekly=pd.DataFrame(columns=WEEKLY_COLUMNS),
            around=empty, share=empty, prior_log_odds={}, standing=None, wrong=None,
        )  # fmt: skip
    week_of = {s: season_weeks(calendar, s, as_of, week_starts)[1] for s in found.seasons}
    steps = season_steps(judgement, rate_prior(judgement))
    prior_odds, argued = {}, {}
    for buck, combined in zip(found.bucks, found.combined, strict=True):
        runs = own_runs(found.runs, buck)
        seasons = [
            own_season(run, b, week_ends(week_of[s]))
            for s, (run, b) in enumerate(runs, found.debut[buck])
        ]
        prior_odds[buck], by_week = log_odds_resident(seasons, combined.before, steps)
        # The step from one season to the next is no week's doing: every season's odds are carried
        # to the last, so the first week starts where the season before ended.
        ends = [prior_odds[buck], *(odds[-1] for odds in by_week)]
        argued[buck] = [np.diff(o, prepend=end) for o, end in zip(by_week, ends, strict=False)]
    weekly = _weekly_table(found, week_of, argued, least_watched_share)
    return Residency(
        table=_residency_table(found, weekly, targets, least_watched_share),
        weekly=weekly,
        around=found.around,
        share=pd.DataFrame(found.record.share, index=found.grid.days, columns=list(found.bucks)),
        prior_log_odds=prior_odds,
        standing=standing_of(found),
        wrong=found.wrong,
    )


def _weekly_table(
    found: Presence,
    week_of: Mapping[int, pd.DatetimeIndex],
    argued: Mapping[str, Sequence[Floats]],
    least_watched_share: float,
) -> pd.DataFrame:
    """`WEEKLY_COLUMNS`; ``argued`` by buck and season of his."""
    parts = []
    for season, week in week_of.items():
        columns = [b for b, name in enumerate(found.bucks) if found.debut[name] <= season]
        names = [found.bucks[b] for b in columns]
        first = found.grid.rows(*found.calendar.bounds(season)).start
        rows = slice(first, first + len(week))
        part = week_table(
            names,
            week=week,
            share=found.record.share[rows, columns],
            camera_days=found.grid.camera_days[rows],
            visits=found.record.visits[rows, columns],
            light_visits=found.record.light_visits[rows, columns],
            around=found.around.to_numpy()[rows, columns],
            least_watched_share=least_watched_share,
        )
        part["season"] = season
        part["evidence"] = np.concatenate([argued[n][season - found.debut[n]] for n in names])
        ends = week_ends(week)
        days = found.grid.days[rows]
        phase = found.calendar.phase_of(days)
        seen = found.record.visits[rows, columns] > 0
        phases_seen = _of_seen_days(phase.tolist(), seen, ends)
        part["phases_seen"] = pd.Series(phases_seen, dtype="object")
        part["months_seen"] = pd.Series(
            _of_seen_days(days.month.tolist(), seen, ends), dtype="object"
        )
        middle = phase[(np.append(0, ends[:-1] + 1) + ends) // 2]
        usual = np.tile(middle, len(columns)).tolist()
        part["phase"] = [p[0] if p else u for p, u in zip(phases_seen, usual, strict=True)]
        parts.append(part)
    table = pd.concat(parts, ignore_index=True)
    number = pd.Categorical(table["buck"], categories=list(found.bucks)).codes
    return table.iloc[np.argsort(number, kind="stable")].reset_index(drop=True)[WEEKLY_COLUMNS]


def _of_seen_days(of_day: Sequence[Any], seen: Bools, ends: Ints) -> list[tuple[Any, ...]]:
    """What the days he was seen on (shape (T, B)) have, each once: a tuple a buck and week."""
    week = np.searchsorted(ends, np.arange(len(seen)))
    found: list[dict[Any, None]] = [{} for _ in range(seen.shape[1] * len(ends))]
    for b, day in zip(*np.nonzero(seen.T), strict=True):
        found[int(b) * len(ends) + int(week[day])][of_day[int(day)]] = None
    return [tuple(each) for each in found]


def _residency_table(
    found: Presence, weekly: pd.DataFrame, targets: Collection[str], least_watched_share: float
) -> pd.DataFrame:
    """`RESIDENCY_COLUMNS`."""
    weeks = weekly.assign(seen=weekly["state"].eq(SEEN), watched=weekly["state"].ne(NOT_WATCHED))
    by_season = weeks.groupby(["buck", "season"])[["seen", "watched"]].sum()
    by_buck = by_season.groupby("buck").sum()
    rows = []
    for b, buck in enumerate(found.bucks):
        own = [s for s in found.seasons if s >= found.debut[buck]]
        absences, apart = [], 0.0
        runs = own_runs(found.runs, buck)
        for i, (season, (run, place)) in enumerate(zip(own, runs, strict=True)):
            days = found.grid.rows(*found.calendar.bounds(season))
            absences.append(_longest_absence(found, b, days, least_watched_share))
            apart = apart + run.apart[place]
            row = _row(found, b, days, i, apart) | {
                "longest_absence_days": absences[-1],
                "weeks_seen": by_season.at[(buck, season), "seen"],
                "weeks_watched": by_season.at[(buck, season), "watched"],
            }
            rows.append(row | {"season": str(season)})
        rows.append(
            _row(found, b, slice(None), -1, apart)
            | {
                "season": ALL,
                "longest_absence_days": max((a for a in absences if a is not None), default=None),
                "weeks_seen": by_buck.at[buck, "seen"],
                "weeks_watched": by_buck.at[buck, "watched"],
            }
        )
    table = pd.DataFrame(rows)
    table["target"] = table["buck"].isin(list(targets))
    low, high = jeffreys(table["shooting_light_visits"], table["visits"])
    seen = table["visits"] > 0
    table["daylight_share"] = table["shooting_light_visits"] / table["visits"].where(seen)
    table["daylight_low"], table["daylight_high"] = np.where(seen, [low, high], np.nan)
    return table[RESIDENCY_COLUMNS].astype({"longest_absence_days": "Int64"})


def _row(found: Presence, b: int, days: slice, i: int, apart: Any) -> dict[str, Any]:
    """What is said of buck ``b`` in the ``i``-th of his seasons."""
    chance, p_gone = found.combined[b].filtered[i], float(found.combined[b].p_gone[i])
    visits = found.record.visits[days, b]
    seen_on = found.grid.days[days][visits > 0]
    score = min(float(100 * chance[RESIDENT].sum()), 100.0)  # a sum may round to a hair above 1
    label = label_of(
        chance,
        p_gone,
        days_seen=len(seen_on),
        days_so_far=int((found.record.visits[: days.stop, b] > 0).sum()),
        enough=watched_apart(chance, apart) >= found.judgement.apart_days,
    )
    told = label != "undecided" and len(seen_on) > 0
    return {
        "buck": found.bucks[b],
        "score": score,
        "label": label,
        "pattern": TOLD[int(chance[: len(TOLD)].argmax())] if told else "",
        **{f"p_{TOLD[k].replace('-', '_')}": chance[k] for k in range(len(TOLD))},
        "p_gone": p_gone,
        "days_seen": len(seen_on),
        "visits": int(visits.sum()),
        "shooting_light_visits": int(found.record.light_visits[days, b].sum()),
        "first_seen": seen_on[0] if len(seen_on) else pd.NaT,
        "last_seen": seen_on[-1] if len(seen_on) else pd.NaT,
    }


def _longest_absence(
    found: Presence, b: int, days: slice, least_watched_share: float
) -> int | None:
    """Most watched days between two sightings that followed each other; None below two."""
    seen_on = np.flatnonzero(found.record.visits[days, b])
    if len(seen_on) < 2:
        return None
    watched_so_far = np.cumsum(found.record.share[days, b] >= least_watched_share)
    return int((watched_so_far[seen_on[1:] - 1] - watched_so_far[seen_on[:-1]]).max())
