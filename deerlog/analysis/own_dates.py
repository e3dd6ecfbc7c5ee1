"""A buck's own dates of coming and going, from his past seasons.

Visitors come "often the same days each year" (common practice, no published source). A date of his
in a new season is his own middle date, give or take some days from year to year; his own middle is
near the pattern's until past seasons say otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt

from deerlog.analysis.judgement import Judgement
from deerlog.analysis.patterns import (
    BEFORE,
    EXCURSION,
    LEFT,
    PATTERNS,
    first_of_june,
)
from deerlog.timekeeping.seasons import SeasonCalendar

Floats = npt.NDArray[np.float64]

LEAST_WEIGHT = 0.2
"""A season counts only where the pattern, and the date itself, are at least this likely (our
choice)."""


@dataclass(frozen=True, kw_only=True)
class DateSeen:
    """One date in one past season.

    Attributes
    ----------
    day
        Days from the day that the pattern's date is counted from (1 June, or the rut peak).
    sd
        Posterior standard deviation in days, the pattern's own prior being part of it.
    weight
        0 to 1: chance that he followed the pattern that season and that the date came.
    """

    day: float
    sd: float
    weight: float


@dataclass(frozen=True, kw_only=True)
class _DateKind:
    """A date of a pattern: where it stands in the judgement, and how it shows in the states."""

    pattern: str
    day_field: str
    sd_field: str
    not_yet: tuple[int, ...]
    from_peak: bool = False
    first_day: int = 0
    last_day: int = 10_000


_KINDS = (
    _DateKind(
        pattern="rut",
        day_field="rut_arrival_after_peak",
        sd_field="rut_arrival_sd",
        not_yet=(BEFORE, EXCURSION),
        from_peak=True,
    ),
    _DateKind(
        pattern="fall",
        day_field="fall_arrival_day",
        sd_field="fall_arrival_sd",
        not_yet=(BEFORE, EXCURSION),
    ),
    _DateKind(
        pattern="fall",
        day_field="fall_departure_day",
        sd_field="fall_departure_sd",
        not_yet=tuple(s for s in range(5) if s != LEFT),
        first_day=200,
    ),
    _DateKind(
        pattern="summer",
        day_field="summer_departure_day",
        sd_field="summer_departure_sd",
        not_yet=tuple(s for s in range(5) if s not in (LEFT, EXCURSION)),
        last_day=230,
    ),
)


def dates_seen(
    states: Floats, pattern_chance: Floats, first: date, rut_peak: date
) -> dict[str, DateSeen]:
    """His dates in one season, by the name of their setting in `Judgement`.

    Parameters
    ----------
    states
        Shape (T, patterns, states): smoothed chance of each state on each day of the season given
        the pattern.
    pattern_chance
        Shape (patterns,).
    first, rut_peak
        First day of the season, and its breeding peak.
    """
    june = (first_of_june(first) - first).days
    peak = (rut_peak - first).days
    found = {}
    for kind in _KINDS:
        k = PATTERNS.index(kind.pattern)
        waiting = states[:, k, list(kind.not_yet)].sum(axis=-1)
        low = min(max(june + kind.first_day, 0), len(waiting) - 1)
        high = min(june + kind.last_day, len(waiting) - 1)
        waiting = waiting[low : high + 1]
        came = np.maximum(waiting[:-1] - waiting[1:], 0.0)
        total = float(came.sum())
        weight = float(pattern_chance[k]) * total
        if weight < LEAST_WEIGHT:
            continue
        day = low + 1 + np.arange(len(came))
        mean = float(came @ day) / total
        sd = float(np.sqrt(came @ (day - mean) ** 2 / total + 1 / 12))
        origin = peak if kind.from_peak else june
        found[kind.day_field] = DateSeen(day=mean - origin, sd=sd, weight=min(weight, 1.0))
    return found


def with_own_dates(
    judgement: Judgement, seasons: Sequence[dict[str, DateSeen]], year_to_year_sd: float
) -> Judgement:
    """The judgement with a buck's own dates in place of the patterns'.

    Parameters
    ----------
    seasons
        Of `dates_seen`, one a past season.
    year_to_year_sd
        Days by which his dates differ between years, standard deviation.
    """
    changes: dict[str, float] = {}
    for kind in _KINDS:
        middle, sd = getattr(judgement, kind.day_field), getattr(judgement, kind.sd_field)
        between = max(sd**2 - year_to_year_sd**2, 1.0)
        precision, total = 1 / between, middle / between
        for season in seasons:
            seen = season.get(kind.day_field)
            if seen is None or seen.sd >= 0.95 * sd:
                continue
            # What the record alone said: the pattern's prior is taken out of the posterior again.
            alone = 1 / seen.sd**2 - 1 / sd**2
            day = (seen.day / seen.sd**2 - middle / sd**2) / alone
            says = seen.weight / (1 / alone + year_to_year_sd**2)
            precision += says
            total += says * day
        if precision > 1 / between:
            changes[kind.day_field] = total / precision
            changes[kind.sd_field] = float(np.sqrt(1 / precision + year_to_year_sd**2))
    return replace(judgement, **changes)


def pattern_dates(judgement: Judgement, calendar: SeasonCalendar, season: int) -> dict[str, float]:
    """Middle dates of a judgement as days of one season, by the name of their setting."""
    first = calendar.bounds(season)[0]
    june = (first_of_june(first) - first).days
    peak = (calendar.rut_peak_day(season) - first).days
    return {
        kind.day_field: getattr(judgement, kind.day_field) + (peak if kind.from_peak else june)
        for kind in _KINDS
    }
