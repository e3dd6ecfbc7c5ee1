"""A buck's own dates of coming and going, from his past seasons.

Visitors come "often the same days each year" (common practice, no published source). A date of his
in a new season is his own middle date, give or take some days from year to year; his own middle is
near the pattern's until past seasons say otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt

from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import (
    BEFORE,
    EXCURSION,
    FALL,
    HERE,
    LEFT,
    RUT,
    STATES,
    SUMMER,
    first_of_june,
)

Floats = npt.NDArray[np.float64]

LEAST_WEIGHT = 0.2
"""A season counts only where the pattern, and the date itself, are at least this likely (our
choice)."""
RUT_DEPARTURE = "rut_departure"


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
class OwnDates:
    """What to expect of one buck.

    Attributes
    ----------
    judgement
        With his own dates in place of the patterns'.
    rut_departure
        Middle, in days after the rut peak, and standard deviation of the day a rut visit of his
        ends; None where nothing is known of it.
    """

    judgement: Judgement
    rut_departure: tuple[float, float] | None


@dataclass(frozen=True, kw_only=True)
class _DateKind:
    """A date of a pattern, and how it shows in the states.

    ``not_yet`` are the states before it; it is looked for from ``first_day`` to ``last_day`` after
    1 June.
    """

    name: str
    pattern: int
    not_yet: tuple[int, ...]
    from_peak: bool = False
    first_day: int = 0
    last_day: int = 10_000


_KINDS = (
    _DateKind(name="rut_arrival", pattern=RUT, not_yet=(BEFORE, EXCURSION), from_peak=True),
    _DateKind(name=RUT_DEPARTURE, pattern=RUT, not_yet=(BEFORE, EXCURSION, HERE), from_peak=True),
    _DateKind(name="fall_arrival", pattern=FALL, not_yet=(BEFORE, EXCURSION)),
    _DateKind(
        name="fall_departure",
        pattern=FALL,
        not_yet=tuple(s for s in range(len(STATES)) if s != LEFT),
        first_day=200,
    ),
    _DateKind(
        name="summer_departure",
        pattern=SUMMER,
        not_yet=tuple(s for s in range(len(STATES)) if s not in (LEFT, EXCURSION)),
        last_day=230,
    ),
)


def dates_seen(
    states: Floats, pattern_chance: Floats, first: date, rut_peak: date
) -> dict[str, DateSeen]:
    """His dates in one season, by name.

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
        waiting = states[:, kind.pattern, list(kind.not_yet)].sum(axis=-1)
        low = min(max(june + kind.first_day, 0), len(waiting) - 1)
        high = min(june + kind.last_day, len(waiting) - 1)
        came = np.maximum(-np.diff(waiting[low : high + 1]), 0.0)
        total = float(came.sum())
        weight = float(pattern_chance[kind.pattern]) * min(total, 1.0)
        if weight < LEAST_WEIGHT:
            continue
        day = low + 1 + np.arange(len(came))
        mean = float(came @ day) / total
        sd = float(np.sqrt(came @ (day - mean) ** 2 / total + 1 / 12))
        origin = peak if kind.from_peak else june
        found[kind.name] = DateSeen(day=mean - origin, sd=sd, weight=weight)
    return found


def own_dates(
    judgement: Judgement, seasons: Sequence[Mapping[str, DateSeen]], year_to_year_sd: float
) -> OwnDates:
    """A buck's own dates, near the patterns' where little is known of him.

    Parameters
    ----------
    seasons
        Of `dates_seen`, one a past season.
    year_to_year_sd
        Days by which his dates differ between years, standard deviation.
    """
    j = judgement
    usual = {
        "rut_arrival": (j.rut_arrival_after_peak, j.rut_arrival_sd),
        RUT_DEPARTURE: (
            j.rut_arrival_after_peak + j.rut_stay_days,
            float(np.hypot(j.rut_arrival_sd, j.rut_stay_days)),
        ),
        "fall_arrival": (j.fall_arrival_day, j.fall_arrival_sd),
        "fall_departure": (j.fall_departure_day, j.fall_departure_sd),
        "summer_departure": (j.summer_departure_day, j.summer_departure_sd),
    }
    own: dict[str, tuple[float, float]] = {}
    for name, (middle, sd) in usual.items():
        seen = [season[name] for season in seasons if name in season]
        found = own_date(middle, sd, seen, year_to_year_sd)
        if found is not None:
            own[name] = found
    dates = {name: own.get(name, usual[name]) for name in usual}
    return OwnDates(
        judgement=replace(
            judgement,
            rut_arrival_after_peak=dates["rut_arrival"][0],
            rut_arrival_sd=dates["rut_arrival"][1],
            fall_arrival_day=dates["fall_arrival"][0],
            fall_arrival_sd=dates["fall_arrival"][1],
            fall_departure_day=dates["fall_departure"][0],
            fall_departure_sd=dates["fall_departure"][1],
            summer_departure_day=dates["summer_departure"][0],
            summer_departure_sd=dates["summer_departure"][1],
        ),
        rut_departure=own.get(RUT_DEPARTURE),
    )


def own_date(
    middle: float, sd: float, seen: Sequence[DateSeen], year_to_year_sd: float
) -> tuple[float, float] | None:
    """Middle and spread of one date of his in a season to come; None where nothing is known.

    Normal throughout: his own middle about the pattern's, each year about his own middle, and what
    the record says about that year.

    Parameters
    ----------
    middle, sd
        The pattern's, in days.
    """
    between = max(sd**2 - year_to_year_sd**2, 1.0)
    precision, total = 1 / between, middle / between
    for date_seen in seen:
        if date_seen.sd >= 0.95 * sd:
            continue
        # What the record alone said: the pattern's prior is taken out of the posterior again.
        alone = 1 / date_seen.sd**2 - 1 / sd**2
        day = (date_seen.day / date_seen.sd**2 - middle / sd**2) / alone
        says = date_seen.weight / (1 / alone + year_to_year_sd**2)
        precision += says
        total += says * day
    if precision == 1 / between:
        return None
    return total / precision, float(np.sqrt(1 / precision + year_to_year_sd**2))
