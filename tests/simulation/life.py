"""Which pattern each buck follows each season, and which of his ranges he is on each day.

All dates are days since the season's first day (0 = 1 June with the usual calendar). Figures are
our choice unless a source stands beside them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

PATTERNS = ("year-round", "fall", "summer", "rut")
RESIDENT_PATTERNS = ("year-round", "fall")

NOT_ALIVE, AWAY, SUMMER_RANGE, FALL_RANGE, RUT_RANGE = range(5)
"""Codes of where a buck is on a day. Only the last three overlap the property."""


@dataclass(frozen=True, kw_only=True)
class Life:
    """Patterns and daily whereabouts of the bucks of one property.

    Attributes
    ----------
    pattern
        Index into `PATTERNS`, shape (bucks, seasons).
    new_ground
        True where the buck takes up other ranges than the season before, shape (bucks, seasons).
    stage
        Whereabouts code, shape (bucks, days).
    """

    pattern: npt.NDArray[np.int64]
    new_ground: npt.NDArray[np.bool_]
    stage: npt.NDArray[np.int8]


def draw_mix(
    rng: np.random.Generator, resident_share: tuple[float, float]
) -> npt.NDArray[np.float64]:
    """Shares of the four patterns on one property, shape (4,), drawn anew for each property."""
    resident = rng.uniform(*resident_share)
    year_round = rng.uniform(0.5, 0.8)
    rut = rng.uniform(0.5, 0.8)
    return np.array(
        [
            resident * year_round,
            resident * (1 - year_round),
            (1 - resident) * (1 - rut),
            (1 - resident) * rut,
        ]
    )


def draw_life(
    rng: np.random.Generator,
    *,
    n_bucks: int,
    season_lengths: list[int],
    rut_peak_days: list[int],
    mix: npt.NDArray[np.float64],
    persistence: float,
    p_newcomer: float,
    p_death: float,
) -> Life:
    """Draw the patterns of every buck and season, and where he is each day.

    Parameters
    ----------
    season_lengths, rut_peak_days
        Days in each season, and the season day of the breeding peak.
    persistence
        Probability that a pattern carries over to the next season; else it is drawn afresh.
    p_newcomer
        Probability that a buck first turns up in a season after the first (drawn evenly).
    p_death
        Probability of dying in a season, within the hunting months.
    """
    n_seasons = len(season_lengths)
    pattern = np.empty((n_bucks, n_seasons), dtype=np.int64)
    new_ground = np.zeros((n_bucks, n_seasons), dtype=bool)
    stage = np.full((n_bucks, sum(season_lengths)), AWAY, dtype=np.int8)
    starts = np.concatenate([[0], np.cumsum(season_lengths)])
    for buck in range(n_bucks):
        habits = _Habits.draw(rng)
        first_season = 0
        if n_seasons > 1 and rng.random() < p_newcomer:
            first_season = int(rng.integers(1, n_seasons))
        dead = False
        for season in range(n_seasons):
            if season == 0 or rng.random() >= persistence:
                pattern[buck, season] = rng.choice(len(PATTERNS), p=mix)
                new_ground[buck, season] = season == 0 or (
                    pattern[buck, season] != pattern[buck, season - 1]
                )
            else:
                pattern[buck, season] = pattern[buck, season - 1]
            days = stage[buck, starts[season] : starts[season + 1]]
            if season < first_season or dead:
                days[:] = NOT_ALIVE
                continue
            _fill_season(rng, days, PATTERNS[pattern[buck, season]], habits, rut_peak_days[season])
            if rng.random() < p_death:
                days[int(rng.integers(110, 225)) :] = NOT_ALIVE
                dead = True
    return Life(pattern=pattern, new_ground=new_ground, stage=stage)


@dataclass(frozen=True, kw_only=True)
class _Habits:
    """What one buck keeps from year to year."""

    leaves_summer_range: float
    arrives_in_fall: float
    leaves_fall_range: float
    rut_visit_after_peak: float
    rut_visit_days: float

    @classmethod
    def draw(cls, rng: np.random.Generator) -> _Habits:
        return cls(
            # Mid August to late September.
            leaves_summer_range=float(np.clip(rng.normal(92, 9), 75, 115)),
            # Late August to mid October.
            arrives_in_fall=rng.uniform(85, 136),
            # February or later.
            leaves_fall_range=float(np.clip(rng.normal(285, 30), 250, 365)),
            # Middle or later part of the rut (common practice, no published source).
            rut_visit_after_peak=rng.uniform(-3, 13),
            rut_visit_days=float(np.clip(rng.gamma(9, 10 / 9), 4, 20)),
        )


def _fill_season(
    rng: np.random.Generator,
    days: npt.NDArray[np.int8],
    pattern: str,
    habits: _Habits,
    rut_peak_day: int,
) -> None:
    """Write a season's whereabouts into ``days``, which begins all `AWAY`."""
    n = len(days)
    if pattern == "year-round":
        shift = int(np.clip(rng.normal(habits.leaves_summer_range, 5), 70, 140))
        days[:shift] = SUMMER_RANGE
        days[shift:] = FALL_RANGE
        back = int(rng.normal(318, 15))  # back on the summer range in April or so
        days[back:] = SUMMER_RANGE
        _leave_for_a_while(rng, days)
    elif pattern == "fall":
        arrives = int(np.clip(rng.normal(habits.arrives_in_fall, 6), 80, 145))
        leaves = int(np.clip(rng.normal(habits.leaves_fall_range, 8), 246, n))
        days[arrives:leaves] = FALL_RANGE
        _leave_for_a_while(rng, days)
    elif pattern == "summer":
        leaves = int(np.clip(rng.normal(habits.leaves_summer_range, 4), 70, 122))
        days[:leaves] = SUMMER_RANGE
        if rng.random() < 0.7:
            days[int(rng.normal(330, 14)) :] = SUMMER_RANGE
        if rng.random() < 0.15:  # looks in once during the rut
            _visit(days, rut_peak_day + int(rng.integers(-14, 21)), int(rng.integers(1, 5)))
    else:
        # The same days each year, give or take 4 to 5: population means of breeding dates vary
        # with SD 4 days (Dye et al. 2012, Wildlife Society Bulletin).
        if rng.random() < 0.92:
            middle = rng.normal(rut_peak_day + habits.rut_visit_after_peak, 4.5)
            length = max(2.0, rng.normal(habits.rut_visit_days, 2.5))
            _visit(days, round(middle - length / 2), round(length))
        for _ in range(rng.poisson(0.5)):
            _visit(days, rut_peak_day + int(rng.integers(-30, 35)), int(rng.integers(1, 3)))
        for _ in range(rng.poisson(0.25)):  # a stray trip at any time of year
            _visit(days, int(rng.integers(0, n)), int(rng.integers(1, 3)))


def _visit(days: npt.NDArray[np.int8], first: float, length: float) -> None:
    """Put him on his rut range for some days."""
    start = int(np.clip(first, 0, len(days)))
    days[start : start + max(1, int(length))] = RUT_RANGE


def _leave_for_a_while(rng: np.random.Generator, days: npt.NDArray[np.int8]) -> None:
    """Absences of a buck who lives here.

    Weeks at a stretch (common practice: a fortnight or three weeks, and he returns), and short
    excursions: 63 % of adult bucks made at least one in the fall (Karns et al. 2011, Southeastern
    Naturalist 10:39), and 5.9 a year (Resop et al. 2024, Ecology and Evolution), many of them
    shorter than a day and so not counted here.
    """
    n = len(days)
    if rng.random() < 0.45:
        start = int(rng.integers(95, 260))
        days[start : start + int(rng.integers(7, 22))] = AWAY
    for _ in range(rng.poisson(1.0)):
        start = int(rng.integers(115, 200))
        days[start : start + int(rng.integers(1, 4))] = AWAY
    for _ in range(rng.poisson(0.7)):
        start = int(rng.integers(0, n))
        days[start : start + int(rng.integers(1, 3))] = AWAY
