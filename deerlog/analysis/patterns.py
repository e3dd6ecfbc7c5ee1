"""The ways a buck can use a property through a season, as daily chances. All judgement is here.

Each pattern is one chain over five states a day:

    before     not come yet this season
    here       around
    away       a resident's absence, or the time between two visits
    left       gone for the season, or dead
    excursion  around for a day or two, far from home

A buck can be photographed in ``here`` and ``excursion``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from deerlog.errors import PropertyError
from deerlog.timekeeping.seasons import SeasonCalendar

Floats = npt.NDArray[np.float64]

STATES = ("before", "here", "away", "left", "excursion")
BEFORE, HERE, AWAY, LEFT, EXCURSION = range(5)
AROUND = np.array([False, True, False, False, True])

PATTERNS = ("year-round", "fall", "summer", "rut", "absent")
"""Patterns in order. ``absent``, a season that he did not use the property at all (dead, or gone
for good), is no label: it keeps an empty season from looking like a rut visitor's."""
RESIDENT = np.array([True, True, False, False, False])


@dataclass(frozen=True)
class Judgement:
    """Every rate fixed by judgement, with its reason or source. Settable under ``[presence]``.

    Chances a day unless the name says days; dates as days from a named day.
    """

    absence_start: float = 1 / 45
    """A resident sets out on an absence. 5.9 excursions a year (Resop et al. 2024, Ecology and
    Evolution, 10.1002/ece3.10875), of which the short ones do not show on cameras."""
    absence_days: float = 9.0
    """Mean length of an absence: up to a fortnight or three weeks, and he returns (common
    practice, no published source)."""
    loss: float = 1 / 900
    """He dies or leaves for good: about one in three a year (our choice)."""
    fall_arrival_day: float = 104.0
    """Days from 1 June to the middle of the shift to fall ground, mid September (common practice,
    no published source)."""
    fall_arrival_sd: float = 20.0
    fall_departure_day: float = 270.0
    """Days from 1 June to when fall ground is left, late February (our choice)."""
    fall_departure_sd: float = 35.0
    summer_departure_day: float = 98.0
    """Days from 1 June to when summer ground is left, early September, with the shedding of velvet
    (common practice, no published source)."""
    summer_departure_sd: float = 16.0
    summer_return_day: float = 325.0
    """Days from 1 June to the return to summer ground, late April (our choice)."""
    summer_return_sd: float = 30.0
    rut_arrival_after_peak: float = 2.0
    """Days from the rut peak to a visitor's first coming: the middle or later part of the rut
    (common practice, no published source)."""
    rut_arrival_sd: float = 9.0
    rut_stay_days: float = 9.0
    """Mean length of a rut visitor's stay: around ten days (common practice, no published
    source)."""
    rut_return: float = 1 / 30
    """A rut visitor who left comes again, a day, within the rut. Focal areas are revisited
    (Foley et al. 2015, Journal of Mammalogy)."""
    excursion: float = 1 / 250
    """A buck who lives elsewhere passes through for a day or two. 63 % made an excursion in fall
    (Karns et al. 2011, Southeastern Naturalist 10:39)."""
    excursion_days: float = 1.6
    wrong_tag_share: float = 0.015
    """Share of visits tagged with the wrong name, spread over the named bucks (our choice)."""
    stranger_rate: float = 1 / 1500
    """Sightings a day under his name that were a buck nobody has named (our choice)."""
    persistence: float = 0.85
    """The pattern of one season holds in the next (our choice; 67 % of bucks keep one range
    through a year, Resop et al. 2024)."""
    vanish: float = 0.08
    """He does not use the property at all in the next season (our choice)."""
    prior_year_round: float = 0.30
    prior_fall: float = 0.18
    prior_summer: float = 0.14
    prior_rut: float = 0.38
    """A buck named by the user, before anything is known (our choice, near even between living
    here and not)."""
    rate_median: float = 0.25
    """Sightings a day when around, for a buck nothing is known of: one day in four (our
    choice)."""
    rate_log_sd: float = 1.0
    rate_learning_bucks: float = 4.0
    """How many bucks' worth the sighting rate above weighs against the property's own bucks (our
    choice)."""
    site_learning_days: float = 40.0
    """How many camera-days of evidence it takes to move a site's share of a buck's use halfway
    from his average (our choice)."""

    @classmethod
    def from_settings(cls, chosen: Mapping[str, float]) -> Judgement:
        """The table with the user's own values put in.

        Raises
        ------
        PropertyError
            For a name that is not in the table, or a value that is not above 0.
        """
        known = {f.name for f in fields(cls)}
        for key, value in chosen.items():
            if key not in known:
                raise PropertyError(
                    f"[presence] has no setting named {key!r}.",
                    where="property.toml",
                    how=f"The settings are: {', '.join(sorted(known))}.",
                )
            if not value > 0 or not np.isfinite(value):
                raise PropertyError(
                    f"[presence] {key} is {value!r}; it must be a number above 0.",
                    where="property.toml",
                    how=f"Remove the line to have the default ({getattr(cls(), key):g}).",
                )
        return replace(cls(), **dict(chosen))


@dataclass(frozen=True)
class PatternChains:
    """The chains of one season.

    Attributes
    ----------
    start
        Shape (patterns, states).
    transition
        Shape (days - 1, patterns, states, states), from i to j, rows sum to 1.
    """

    start: Floats
    transition: Floats


def pattern_chains(
    calendar: SeasonCalendar, season: int, judgement: Judgement
) -> PatternChains:
    """Daily chances of every pattern through one season.

    Returns
    -------
    PatternChains
        For the days of ``calendar.bounds(season)``.
    """
    first, after = calendar.bounds(season)
    n_days = (after - first).days
    j = judgement
    summer = (_first_of_june(first) - first).days
    peak = (calendar.rut_peak_day(season) - first).days

    day = np.arange(n_days)
    arrive_fall = _date_hazard(day, summer + j.fall_arrival_day, j.fall_arrival_sd)
    leave_fall = _date_hazard(day, summer + j.fall_departure_day, j.fall_departure_sd)
    leave_summer = _date_hazard(day, summer + j.summer_departure_day, j.summer_departure_sd)
    return_summer = _date_hazard(day, summer + j.summer_return_day, j.summer_return_sd)
    # He may also come late or not at all: the hazard stops at the end of the rut.
    arrive_rut = _date_hazard(day, peak + j.rut_arrival_after_peak, j.rut_arrival_sd)
    arrive_rut = np.where(day > peak + 30, 0.0, arrive_rut)
    rut_time = np.where((day >= peak - 12) & (day <= peak + 25), j.rut_return, 0.0)
    back = 1 / j.absence_days
    visit_again = np.full(n_days, j.excursion)
    homeward = np.full(n_days, 1 / j.excursion_days)
    steady = np.ones(n_days)

    moves: dict[str, list[tuple[int, int, Floats]]] = {
        "year-round": [
            (HERE, AWAY, j.absence_start * steady),
            (HERE, LEFT, j.loss * steady),
            (AWAY, HERE, back * steady),
        ],
        "fall": [
            (BEFORE, HERE, arrive_fall),
            (BEFORE, EXCURSION, visit_again),
            (EXCURSION, BEFORE, homeward),
            (HERE, AWAY, j.absence_start * steady),
            (HERE, LEFT, leave_fall + j.loss),
            (AWAY, HERE, back * steady),
        ],
        "summer": [
            (HERE, AWAY, j.absence_start * steady),
            (HERE, LEFT, np.where(day < summer + 240, leave_summer, 0.0) + j.loss),
            (AWAY, HERE, back * steady),
            (LEFT, EXCURSION, visit_again),
            (EXCURSION, LEFT, homeward),
            (LEFT, HERE, np.where(day >= summer + 240, return_summer, 0.0)),
        ],
        "rut": [
            (BEFORE, HERE, arrive_rut),
            (BEFORE, EXCURSION, visit_again),
            (EXCURSION, BEFORE, homeward),
            (HERE, AWAY, steady / j.rut_stay_days),
            (AWAY, HERE, rut_time + j.excursion / 4),
        ],
        "absent": [],
    }
    starts = {
        "year-round": {HERE: 0.85, AWAY: 0.15},
        "fall": {BEFORE: 0.97, HERE: 0.03},
        "summer": {HERE: 0.85, AWAY: 0.15},
        "rut": {BEFORE: 1.0},
        "absent": {LEFT: 1.0},
    }
    start = np.zeros((len(PATTERNS), len(STATES)))
    transition = np.zeros((n_days - 1, len(PATTERNS), len(STATES), len(STATES)))
    for k, pattern in enumerate(PATTERNS):
        for state, chance in starts[pattern].items():
            start[k, state] = chance
        for origin, target, chance_by_day in moves[pattern]:
            transition[:, k, origin, target] = chance_by_day[:-1]
    leaving = transition.sum(axis=-1)
    # Two ways out may together ask for more than the day has.
    transition /= np.maximum(leaving, 1.0)[..., None]
    for state in range(len(STATES)):
        transition[:, :, state, state] = 1 - np.minimum(leaving[:, :, state], 1.0)
    return PatternChains(start=start, transition=transition)


def season_transition(judgement: Judgement) -> Floats:
    """Chance of each pattern in a season given the one before, shape (patterns, patterns).

    ``[i, j]`` is from pattern i to pattern j; rows sum to 1.
    """
    prior = pattern_prior(judgement)
    n = len(PATTERNS)
    absent = PATTERNS.index("absent")
    table = np.zeros((n, n))
    stay = judgement.persistence * (1 - judgement.vanish)
    for i in range(n):
        if i == absent:
            # Gone a whole season: mostly dead; sometimes back, by any pattern.
            table[i] = 0.15 * prior
            table[i, absent] = 0.85
            continue
        others = np.where(np.arange(n) == i, 0.0, prior)
        others[absent] = 0.0
        table[i] = (1 - judgement.vanish - stay) * others / others.sum()
        table[i, i] = stay
        table[i, absent] = judgement.vanish
    return table


def pattern_prior(judgement: Judgement) -> Floats:
    """Chance of each pattern in a buck's first season, shape (patterns,); never ``absent``."""
    j = judgement
    prior = np.array([j.prior_year_round, j.prior_fall, j.prior_summer, j.prior_rut, 0.0])
    return np.asarray(prior / prior.sum())


def rate_grid(judgement: Judgement, n_rates: int = 13) -> tuple[Floats, Floats]:
    """Sighting rates a day to integrate over, and the chance of each before anything is seen.

    Returns
    -------
    rates, weights
        Shape (n_rates,): log-spaced over three standard deviations each way, and normal weights
        in the log.
    """
    z = np.linspace(-3, 3, n_rates)
    weights = np.exp(-0.5 * z**2)
    rates = judgement.rate_median * np.exp(judgement.rate_log_sd * z)
    return np.minimum(rates, 6.0), weights / weights.sum()


def _date_hazard(day: npt.NDArray[np.int64], middle: float, sd: float) -> Floats:
    """Chance that a date spread normally around ``middle`` falls on each day, if not before."""
    upper = ndtr((day + 1 - middle) / sd)
    lower = ndtr((day - middle) / sd)
    return np.asarray(np.minimum((upper - lower) / np.maximum(1 - lower, 1e-9), 0.5))


def _first_of_june(season_first: date) -> date:
    """The 1 June nearest a season's first day, from which the deer's own dates count."""
    candidates = [date(season_first.year + shift, 6, 1) for shift in (-1, 0, 1)]
    return min(candidates, key=lambda d: abs(d - season_first) / timedelta(days=1))
