"""The ways a buck can use a property through a season, as daily chances.

Each pattern is one chain over five states a day:

    before     not come yet this season
    here       around
    away       a resident's absence, or the time between two visits
    left       gone for the season, or dead
    excursion  around for a day or two, far from home

A buck can be photographed in ``here`` and ``excursion``.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr

from deerlog.analysis.presence.judgement import Judgement
from deerlog.timekeeping.seasons import SeasonCalendar

Floats = npt.NDArray[np.float64]

STATES = ("before", "here", "away", "left", "excursion")
BEFORE, HERE, AWAY, LEFT, EXCURSION = range(5)
AROUND = np.array([False, True, False, False, True])

PATTERNS = ("year-round", "fall", "summer", "rut", "absent", "lost")
"""Patterns in order. The last two are never told as a pattern. ``absent`` is a season that he did
not use the property at all (dead, or gone for good), which would else look like a rut visitor's;
``lost`` is a year-round buck's season when he died or left for good before the pre-rut, which would
else look like a summer buck's, or speak for a resident who is not there to be hunted."""
YEAR_ROUND, FALL, SUMMER, RUT, ABSENT, LOST = range(6)
TOLD = PATTERNS[:ABSENT]
RESIDENT = np.array([True, True, False, False, False, False])
GONE = np.array([False, False, False, False, True, True])


@dataclass(frozen=True)
class PatternChains:
    """The chains of one season.

    Attributes
    ----------
    start
        Shape (patterns, states).
    transition
        Shape (days - 1, patterns, states, states), from i to j, rows sum to 1.
    quiet
        Shape (days,): what is left of the sighting rate of a year-round buck whose fall ground
        lies mostly off the cameras; 1 on the days of summer ground.
    """

    start: Floats
    transition: Floats
    quiet: Floats


def pattern_chains(calendar: SeasonCalendar, season: int, judgement: Judgement) -> PatternChains:
    """Daily chances of every pattern through one season.

    Returns
    -------
    PatternChains
        For the days of ``calendar.bounds(season)``.
    """
    first, after = calendar.bounds(season)
    n_days = (after - first).days
    j = judgement
    summer = (first_of_june(first) - first).days
    peak = (calendar.rut_peak_day(season) - first).days
    pre_rut = (_pre_rut(calendar, season) - first).days

    day = np.arange(n_days)
    arrive_fall = date_hazard(day, summer + j.fall_arrival_day, j.fall_arrival_sd)
    leave_fall = date_hazard(day, summer + j.fall_departure_day, j.fall_departure_sd)
    leave_summer = date_hazard(day, summer + j.summer_departure_day, j.summer_departure_sd)
    # He comes back in spring unless he died elsewhere.
    elsewhere_days = max(j.summer_return_day - j.summer_departure_day, 0.0)
    return_summer = date_hazard(
        day,
        summer + j.summer_return_day,
        j.summer_return_sd,
        comes=float((1 - j.loss) ** elsewhere_days),
    )
    # He may also come late or not at all: the hazard stops at the end of the rut.
    arrive_rut = date_hazard(
        day, peak + j.rut_arrival_after_peak, j.rut_arrival_sd, comes=1 - j.rut_skip
    )
    arrive_rut = np.where(day > peak + 30, 0.0, arrive_rut)
    rut_time = np.where((day >= peak - 12) & (day <= peak + 25), j.rut_return, 0.0)
    back = 1 / j.absence_days
    visit_again = np.full(n_days, j.excursion)
    homeward = np.full(n_days, 1 / j.excursion_days)
    steady = np.ones(n_days)
    # Losses before the pre-rut are a pattern of their own, with any day as likely as another.
    loss = np.where(day >= pre_rut, j.loss, 0.0)
    early_loss = np.where(day < pre_rut, 1 / np.maximum(pre_rut - day, 1), 0.0)

    moves: dict[str, list[tuple[int, int, Floats]]] = {
        "year-round": [
            (HERE, AWAY, j.absence_start * steady),
            (HERE, LEFT, loss),
            (AWAY, HERE, back * steady),
        ],
        "fall": [
            (BEFORE, HERE, arrive_fall),
            (BEFORE, EXCURSION, visit_again),
            (EXCURSION, BEFORE, homeward),
            (HERE, AWAY, j.absence_start * steady),
            (HERE, LEFT, leave_fall + loss),
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
        "lost": [
            (HERE, AWAY, j.absence_start * (1 - early_loss)),
            (HERE, LEFT, early_loss),
            (AWAY, HERE, back * (1 - early_loss)),
            (AWAY, LEFT, early_loss),
        ],
    }
    here = {HERE: 0.85, AWAY: 0.15}
    starts = {
        "year-round": here,
        "fall": {BEFORE: 0.97, HERE: 0.03},
        "summer": here,
        "rut": {BEFORE: 1.0},
        "absent": {LEFT: 1.0},
        "lost": here if pre_rut > 0 else {LEFT: 1.0},
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
    elsewhere = day - summer - j.summer_departure_day
    on_fall_ground = (elsewhere >= 0) & (elsewhere < elsewhere_days)
    return PatternChains(
        start=start,
        transition=transition,
        quiet=np.where(on_fall_ground, j.quiet_rate, 1.0),
    )


def season_transition(judgement: Judgement) -> Floats:
    """Chance of each pattern in a season given the one before, shape (patterns, patterns).

    ``[i, j]`` is from pattern i to pattern j; rows sum to 1.
    """
    # As if no loss were early; those are split off at the end.
    prior = pattern_prior(judgement)
    prior[YEAR_ROUND] += prior[LOST]
    prior[LOST] = 0.0
    table = np.zeros((len(PATTERNS), len(PATTERNS)))
    stay = judgement.persistence * (1 - judgement.vanish)
    for i in range(ABSENT):
        others = np.where(np.arange(len(PATTERNS)) == i, 0.0, prior)
        table[i] = (1 - judgement.vanish - stay) * others / others.sum()
        table[i, i] = stay
        table[i, ABSENT] = judgement.vanish
    # Gone a whole season, or for good: mostly dead; sometimes back, by any pattern.
    table[[ABSENT, LOST]] = 0.15 * prior
    table[[ABSENT, LOST], ABSENT] = 0.85
    table[:, LOST] = judgement.lost_early * table[:, YEAR_ROUND]
    table[:, YEAR_ROUND] -= table[:, LOST]
    return table


def pattern_prior(judgement: Judgement) -> Floats:
    """Chance of each pattern in a buck's first season, shape (patterns,); never ``absent``."""
    j = judgement
    prior = np.array([j.prior_year_round, j.prior_fall, j.prior_summer, j.prior_rut, 0.0, 0.0])
    prior /= prior.sum()
    prior[LOST] = j.lost_early * prior[YEAR_ROUND]
    prior[YEAR_ROUND] -= prior[LOST]
    return prior


def _pre_rut(calendar: SeasonCalendar, season: int) -> date:
    """First day of the pre-rut."""
    return next(begins for name, begins, _ in calendar.phase_bounds(season) if name == "pre-rut")


def date_hazard(
    day: npt.NDArray[np.int64], middle: float, sd: float, *, comes: float = 1.0
) -> Floats:
    """Chance that a date spread normally around ``middle`` falls on each day, if not before.

    From the logs of the tail, which keeps its digits far past the middle, where the date is long
    overdue. At most a half (our choice), so that no single day is certain. ``comes`` is the chance
    that the date comes at all; the longer overdue, the likelier that it does not.
    """
    log_not_before = log_ndtr((middle - day) / sd)
    log_not_yet = log_ndtr((middle - day - 1) / sd)
    hazard = np.minimum(-np.expm1(log_not_yet - log_not_before), 0.5)
    if comes < 1:
        still_to_come = comes * np.exp(log_not_before)
        hazard *= still_to_come / (1 - comes + still_to_come)
    return np.asarray(hazard)


def first_of_june(season_first: date) -> date:
    """The 1 June nearest a season's first day, from which the deer's own dates count."""
    candidates = [date(season_first.year + shift, 6, 1) for shift in (-1, 0, 1)]
    return min(candidates, key=lambda d: abs(d - season_first) / timedelta(days=1))
