"""Where on the ground a buck's ranges lie, and where he centres on each day.

Metres east and north of the property's centre. The property is a square.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.signal import lfilter
from scipy.special import ndtr

from .life import FALL_RANGE, PATTERNS, RUT_RANGE, SUMMER_RANGE, Life

MIN_SHARE_INSIDE = 0.35
"""A range called his here holds at least this share of its use inside the property."""

CENTRE_SHIFT_SD_M = 205.0
"""Yearly jitter of a range's centre along each axis. Two years then differ by 363 m on average, as
in south Texas (Webb, Hewitt and Hellickson 2007, Southwestern Naturalist 52:411)."""


@dataclass(frozen=True, kw_only=True)
class Ranges:
    """Ranges of each buck by season, and his daily centres.

    Attributes
    ----------
    centre_m
        Centre of the range he is on, shape (bucks, days, 2); NaN where he is not on the property.
    day_centre_m
        Centre of what he covers that day, shape (bucks, days, 2); NaN likewise.
    spread_m
        SD of a day's positions about the day's centre along each axis, shape (bucks, days).
    wander_m
        SD of the daily centres about the range's centre along each axis, shape (bucks,).
    """

    centre_m: npt.NDArray[np.float64]
    day_centre_m: npt.NDArray[np.float64]
    spread_m: npt.NDArray[np.float64]
    wander_m: npt.NDArray[np.float64]


def share_inside(
    centre_m: npt.NDArray[np.float64], spread_m: npt.NDArray[np.float64] | float, side_m: float
) -> npt.NDArray[np.float64]:
    """Share of a round bivariate normal range that lies inside the property, shape ``[...]``."""
    spread = np.asarray(spread_m)[..., None]
    inside = ndtr((side_m / 2 - centre_m) / spread) - ndtr((-side_m / 2 - centre_m) / spread)
    return np.asarray(inside.prod(axis=-1))


def draw_ranges(
    rng: np.random.Generator,
    life: Life,
    *,
    season_lengths: list[int],
    side_m: float,
    in_rut: npt.NDArray[np.bool_],
) -> Ranges:
    """Draw the ranges of every buck and his daily centres.

    Parameters
    ----------
    in_rut
        True on days of the rut, shape (days,): bucks then range wider.
    """
    n_bucks, n_days = life.stage.shape
    n_seasons = len(season_lengths)
    # 95 % of a round normal range lies within 2.45 SD: 230 to 430 m gives 100 to 350 ha; fall
    # ranges of 367 ha and summer ranges of 168 ha were found in northern Pennsylvania (Olson).
    total = np.clip(rng.lognormal(np.log(300), 0.18, n_bucks), 200, 450)
    wander_share = rng.uniform(0.3, 0.6, n_bucks)
    wander = total * np.sqrt(wander_share)
    spread_of_buck = total * np.sqrt(1 - wander_share)

    season_of_day = np.repeat(np.arange(n_seasons), season_lengths)
    kinds = (SUMMER_RANGE, FALL_RANGE, RUT_RANGE)
    centres = np.full((n_bucks, n_seasons, max(kinds) + 1, 2), np.nan)
    for buck in range(n_bucks):
        home: dict[int, npt.NDArray[np.float64]] = {}
        for season in range(n_seasons):
            if life.new_ground[buck, season]:
                home = _homes(rng, PATTERNS[life.pattern[buck, season]], float(total[buck]), side_m)
            for kind, base in home.items():
                centres[buck, season, kind] = _near(
                    rng, base, CENTRE_SHIFT_SD_M, float(total[buck]), side_m
                )
    buck_of = np.arange(n_bucks)[:, None]
    centre = centres[buck_of, season_of_day[None, :], np.maximum(life.stage, 0)]
    day_centre = centre + _wander(rng, n_bucks, n_days, wander)
    spread = spread_of_buck[:, None] * np.where(in_rut, 1.25, 1.0)[None, :]
    return Ranges(centre_m=centre, day_centre_m=day_centre, spread_m=spread, wander_m=wander)


def _homes(
    rng: np.random.Generator, pattern: str, total_m: float, side_m: float
) -> dict[int, npt.NDArray[np.float64]]:
    """Long-term centres of the ranges a buck of this pattern has on the property."""
    first = _on_property(rng, total_m, side_m)
    if pattern == "fall":
        return {FALL_RANGE: first}
    if pattern == "rut":
        return {RUT_RANGE: first}
    if pattern == "summer":
        return {SUMMER_RANGE: first, RUT_RANGE: _on_property(rng, total_m, side_m)}
    # Half of the year-round bucks change ground between summer and fall, by a quarter mile to a
    # mile (common practice, no published source), as far as the property reaches.
    shift = rng.uniform(250, 700) if rng.random() < 0.5 else rng.uniform(0, 150)
    return {SUMMER_RANGE: first, FALL_RANGE: _near(rng, first, shift, total_m, side_m)}


def _on_property(
    rng: np.random.Generator, total_m: float, side_m: float
) -> npt.NDArray[np.float64]:
    tries = rng.uniform(-0.5, 0.5, (40, 2)) * side_m
    share = share_inside(tries, total_m, side_m)
    good = np.flatnonzero(share >= MIN_SHARE_INSIDE)
    return np.asarray(tries[good[0]] if len(good) else np.zeros(2))


def _near(
    rng: np.random.Generator,
    base: npt.NDArray[np.float64],
    sd_m: float,
    total_m: float,
    side_m: float,
) -> npt.NDArray[np.float64]:
    """A centre near another that is still his on the property."""
    tries = base + rng.normal(0, 1, (12, 2)) * sd_m
    share = share_inside(tries, total_m, side_m)
    good = np.flatnonzero(share >= MIN_SHARE_INSIDE)
    return np.asarray(tries[good[0]] if len(good) else base)


def _wander(
    rng: np.random.Generator, n_bucks: int, n_days: int, sd_m: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Drift of the daily centre about the range's centre, correlated over some days."""
    noise = rng.normal(0, 1, (n_bucks, n_days, 2))
    keep = np.exp(-1 / rng.uniform(1.0, 4.0, n_bucks))
    drift = np.empty_like(noise)
    for buck in range(n_bucks):
        scaled = noise[buck] * np.sqrt(1 - keep[buck] ** 2)
        scaled[0] = noise[buck, 0]
        drift[buck] = lfilter([1.0], [1.0, -keep[buck]], scaled, axis=0)
    return np.asarray(drift * sd_m[:, None, None])
