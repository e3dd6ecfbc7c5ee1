"""The ways a buck can use a property through a season, as daily chances.

Each pattern is one chain over six states a day:

    elsewhere  not come yet this season, or left it for this season
    here       around
    off        around, where the cameras hardly see him for a while
    away       a resident's absence, or the time between two visits
    excursion  around for a day or two, far from home
    gone       dead, or gone for good
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr

from deerlog.analysis.arrays import Floats
from deerlog.analysis.presence.judgement import Judgement
from deerlog.timekeeping.seasons import SeasonCalendar

STATES = ("elsewhere", "here", "off", "away", "excursion", "gone")
ELSEWHERE, HERE, OFF, AWAY, EXCURSION, GONE = range(6)
AROUND = np.array([False, True, True, False, True, False])

PATTERNS = ("year-round", "fall", "summer", "rut", "passing", "absent", "lost")
"""Patterns in order. ``passing`` is one stay of some weeks and never again. The last two are never
told as a pattern: ``absent`` is a season that he did not use the property at all, which would else
look like a rut visitor's; ``lost`` is a year-round buck's season when he died or left for good
before the pre-rut, which would else look like a summer buck's."""
YEAR_ROUND, FALL, SUMMER, RUT, PASSING, ABSENT, LOST = range(7)
TOLD = PATTERNS[:ABSENT]
RESIDENT = np.isin(np.arange(7), (YEAR_ROUND, FALL))
VISITING = np.isin(np.arange(7), (SUMMER, RUT, PASSING))

Moves = list[tuple[int, int, Floats | float]]
"""From a state to a state, with the chance by day."""

PATTERN_OF_WAY = np.append(np.arange(len(PATTERNS)), YEAR_ROUND)
"""A season is run once a pattern and once more, last, for a year-round buck whose fall ground lies
mostly off the cameras: each run is a *way*."""
QUIET = len(PATTERNS)

Habits = Mapping[str, Floats]
"""A buck's own values of fields of `Judgement`, shape (bucks,), and ``rut_departure_day`` with its
``rut_departure_sd``: days after the rut peak on which his rut visits end, NaN where unknown."""


@dataclass(frozen=True)
class PatternChains:
    """The chains of one season for B bucks, W ways.

    ``start`` is (B, W, states), ``transition`` (days - 1, B, W, states, states) from i to j, rows
    sum to 1. ``quiet`` (days,): what is left of the sighting rate on the quiet way, 1 on the days
    of summer ground.
    """

    start: Floats
    transition: Floats
    quiet: Floats


def pattern_chains(
    calendar: SeasonCalendar, season: int, judgement: Judgement, own: Habits | None = None
) -> PatternChains:
    """Daily chances of every way through the days of ``calendar.bounds(season)``, with the bucks'
    own habits; without them for one buck of whom nothing is known."""
    first, after = calendar.bounds(season)
    j, own = judgement, own or {}
    n_bucks = len(next(iter(own.values()))) if own else 1

    def his(name: str) -> Floats:
        return own.get(name, np.full(n_bucks, getattr(j, name)))

    summer = (first_of_june(first) - first).days
    peak = (calendar.rut_peak_day(season) - first).days
    begins = next(d for name, d, _ in calendar.phase_bounds(season) if name == "pre-rut")
    pre_rut = (begins - first).days
    day = np.arange((after - first).days)[:, None]

    def dated(name: str, origin: int, comes: float = 1.0) -> Floats:
        middle = "rut_arrival_after_peak" if name == "rut_arrival" else f"{name}_day"
        return date_hazard(day, origin + his(middle), his(f"{name}_sd"), comes=comes)

    # He comes back in spring unless he died elsewhere.
    elsewhere_days = max(j.summer_return_day - j.summer_departure_day, 0.0)
    return_summer = dated("summer_return", summer, float((1 - j.loss) ** elsewhere_days))
    leave_summer = np.where(day < summer + 240, dated("summer_departure", summer), 0.0)
    # He may also come late or not at all: the hazards stop some time after the dates.
    arrive_fall = np.where(day < summer + 200, dated("fall_arrival", summer), 0.0)
    arrive_rut = dated("rut_arrival", peak, 1 - j.rut_skip) * (day <= peak + 30)
    visits_end = np.full((len(day), n_bucks), 1 / j.rut_stay_days)
    if "rut_departure_day" in own:
        known = ~np.isnan(own["rut_departure_day"])
        visits_end[:, known] = date_hazard(
            day, peak + own["rut_departure_day"][known], own["rut_departure_sd"][known]
        )
    rut_time = np.where((day >= peak - 12) & (day <= peak + 25), j.rut_return, 0.0)
    # Losses before the pre-rut are a pattern of their own, with any day as likely as another.
    loss = np.where(day >= pre_rut, j.loss, 0.0)
    early_loss = np.where(day < pre_rut, 1 / np.maximum(pre_rut - day, 1), 0.0)
    go, back = his("absence_start"), 1 / his("absence_days")

    turns_off = his("off_start")
    share_off = turns_off / (turns_off + 1 / j.off_days)
    off: Moves = [(HERE, OFF, turns_off), (OFF, HERE, 1 / j.off_days)]
    absences: Moves = [*off, (HERE, AWAY, go), (OFF, AWAY, go), (AWAY, HERE, back)]
    looks_in: Moves = [
        (ELSEWHERE, EXCURSION, j.excursion),
        (EXCURSION, ELSEWHERE, 1 / j.excursion_days),
    ]

    def comes(chance: Floats) -> Moves:
        return [(ELSEWHERE, HERE, chance * (1 - share_off)), (ELSEWHERE, OFF, chance * share_off)]

    def leaves(to: int, chance: Floats | float, *states: int) -> Moves:
        return [(state, to, chance) for state in (HERE, OFF, *states)]

    year_round: Moves = [*absences, *leaves(GONE, loss)]
    moves: list[Moves] = [
        year_round,
        [*absences, *looks_in, *comes(arrive_fall), *leaves(GONE, loss),
         *leaves(ELSEWHERE, np.where(day >= summer + 200, dated("fall_departure", summer), 0.0))],
        [*absences, *looks_in, *leaves(ELSEWHERE, leave_summer),
         *leaves(GONE, j.loss),
         (ELSEWHERE, HERE, np.where(day >= summer + 240, return_summer, 0.0))],
        [*off, *looks_in, *comes(arrive_rut), *leaves(AWAY, visits_end),
         (AWAY, HERE, rut_time + j.excursion / 4)],
        [*off, *looks_in, *comes(dated("passing_arrival", summer)),
         *leaves(GONE, 1 / j.passing_stay_days)],
        [],
        [*((i, to, c * (1 - early_loss)) for i, to, c in absences),
         *leaves(GONE, early_loss, AWAY)],
        year_round,
    ]  # fmt: skip
    around = {HERE: 0.85 * (1 - share_off), OFF: 0.85 * share_off}
    here: dict[int, Floats | float] = {**around, AWAY: 0.15}
    starts: list[Mapping[int, Floats | float]] = [
        here, {ELSEWHERE: 0.97, HERE: 0.03}, here, {ELSEWHERE: 1.0}, {ELSEWHERE: 1.0},
        {GONE: 1.0}, here if pre_rut > 0 else {GONE: 1.0}, here,
    ]  # fmt: skip
    start, transition = _as_arrays(starts, moves, n_bucks, len(day))
    elsewhere = day[:, 0] - summer - j.summer_departure_day
    on_fall_ground = (elsewhere >= 0) & (elsewhere < elsewhere_days)
    quiet = np.where(on_fall_ground, j.quiet_rate, 1.0)
    return PatternChains(start=start, transition=transition, quiet=quiet)


def _as_arrays(
    starts: Sequence[Mapping[int, Floats | float]],
    moves: Sequence[Moves],
    n_bucks: int,
    n_days: int,
) -> tuple[Floats, Floats]:
    """``start`` and ``transition`` of `PatternChains`; what does not move stays."""
    start = np.zeros((n_bucks, len(moves), len(STATES)), dtype=np.float32)
    shape = (n_days - 1, n_bucks, len(moves), len(STATES), len(STATES))
    transition = np.zeros(shape, dtype=np.float32)
    for way, his_moves in enumerate(moves):
        for state, chance in starts[way].items():
            start[:, way, state] = chance
        for origin in range(len(STATES)):
            out = [(to, np.asarray(c)) for state, to, c in his_moves if state == origin]
            total = sum((c for _, c in out), np.zeros((n_days, 1)))
            # Two ways out may together ask for more than the day has.
            fits = 1 / np.maximum(total, 1.0)
            for to, c in out:
                transition[:, :, way, origin, to] += (c * fits)[:-1]
            transition[:, :, way, origin, origin] = 1 - (total * fits)[:-1]
    return start, transition


def ways_of_effort(share: Floats, chains: PatternChains) -> list[tuple[slice, Floats]]:
    """The ways that share a record, with what its days' watch (shape (T, B)) is to them."""
    quiet = share * chains.quiet[: len(share), None]
    return [(slice(0, QUIET), share), (slice(QUIET, None), quiet)]


def way_prior(judgement: Judgement) -> Floats:
    """Chance of each way in a buck's first season, shape (W,)."""
    prior = pattern_prior(judgement)[PATTERN_OF_WAY]
    prior[YEAR_ROUND] *= 1 - judgement.quiet_share
    prior[QUIET] *= judgement.quiet_share
    return np.asarray(prior)


def prior_states(chains: PatternChains) -> Floats:
    """Chance of each state on each day before anything is seen, shape (days, B, W, states)."""
    states = np.empty((len(chains.transition) + 1, *chains.start.shape))
    states[0] = chains.start
    for t, step in enumerate(chains.transition):
        states[t + 1] = (states[t][..., None, :] @ step)[..., 0, :]
    return states


def season_transition(judgement: Judgement) -> tuple[Floats, Floats]:
    """Chance of each pattern in a season given the one before: (patterns, patterns), from i to j,
    rows sum to 1, for a buck who was not gone at the end of the season; (patterns,) for one who
    was."""
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
    return table, table[ABSENT]


def pattern_prior(judgement: Judgement) -> Floats:
    """Chance of each pattern in a buck's first season, shape (patterns,); never ``absent``."""
    j = judgement
    told = (j.prior_year_round, j.prior_fall, j.prior_summer, j.prior_rut, j.prior_passing)
    prior = np.array([*told, 0.0, 0.0]) / sum(told)
    prior[LOST] = j.lost_early * prior[YEAR_ROUND]
    prior[YEAR_ROUND] -= prior[LOST]
    return prior


def date_hazard(day: npt.ArrayLike, middle: Floats, sd: Floats, *, comes: float = 1.0) -> Floats:
    """Chance that a date spread normally around ``middle`` falls on each day, if not before.

    From the logs of the tail, which keeps its digits far past the middle, where the date is long
    overdue. At most a half (our choice), so that no single day is certain. ``comes`` is the chance
    that the date comes at all; the longer overdue, the likelier that it does not.
    """
    gap = (middle - np.asarray(day)) / sd
    log_not_before = log_ndtr(gap)
    hazard = np.minimum(-np.expm1(log_ndtr(gap - 1 / sd) - log_not_before), 0.5)
    if comes < 1:
        still_to_come = comes * np.exp(log_not_before)
        hazard *= still_to_come / (1 - comes + still_to_come)
    return np.asarray(hazard)


def first_of_june(season_first: date) -> date:
    """The 1 June nearest a season's first day, from which the deer's own dates count."""
    candidates = [date(season_first.year + shift, 6, 1) for shift in (-1, 0, 1)]
    return min(candidates, key=lambda d: abs(d - season_first) / timedelta(days=1))
