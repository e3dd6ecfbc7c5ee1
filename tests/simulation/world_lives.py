"""Bucks that the four yearly patterns do not describe: passing, shot, gone, new, on the edge."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.signal import lfilter

from .life import AWAY, FALL_RANGE, NOT_ALIVE, RUT_RANGE, SUMMER_RANGE, Life, draw_life
from .ranges import Ranges

KINDS = {
    "passer": (0.0, 0.0, 0.0, 1.0),
    "edge": (1.0, 0.0, 0.0, 0.0),
    "shot": (0.65, 0.35, 0.0, 0.0),
    "left": (0.65, 0.35, 0.0, 0.0),
    "moved in": (0.0, 1.0, 0.0, 0.0),
    "moved ground": (1.0, 0.0, 0.0, 0.0),
}
"""Shares of `life.PATTERNS` that each kind's life is begun from."""

SUMMER_SIGMA_M, FALL_SIGMA_M = 299.0, 442.0
"""Half-normal ranges that hold 95 % of use on 168 ha in summer and 367 ha in fall, as in northern
Pennsylvania (Olson, University of Georgia): 95 % lies within 2.448 sigma."""


@dataclass(frozen=True, kw_only=True)
class Lives:
    """Lives of all bucks of a property.

    Attributes
    ----------
    life
        As drawn.
    kind
        ``""`` for a buck of the four patterns, else a key of `KINDS`; shape (bucks,).
    moves
        Day on which one who moves ground does so, -1 for the rest; shape (bucks,).
    """

    life: Life
    kind: npt.NDArray[np.str_]
    moves: npt.NDArray[np.int64]


def add_kinds(
    rng: np.random.Generator,
    life: Life,
    kinds: Mapping[str, int],
    *,
    season_lengths: list[int],
    rut_peak_days: list[int],
    hunting_season: int,
    shot_on: int | None,
) -> Lives:
    """The bucks of ``life`` and, behind them, those of some kinds.

    Parameters
    ----------
    hunting_season
        Place of the season in which it all happens.
    shot_on
        Day of that season on which those that are shot are shot; None draws one for each.
    """
    starts = np.concatenate([[0], np.cumsum(season_lengths)])
    first, n_known = int(starts[hunting_season]), len(life.pattern)
    lives, kind = [life], [""] * n_known
    moves = [-1] * n_known
    for name, n in kinds.items():
        begun = draw_life(
            rng,
            n_bucks=n,
            season_lengths=season_lengths,
            rut_peak_days=rut_peak_days,
            mix=np.array(KINDS[name]),
            persistence=1.0,
            p_newcomer=0.0,
            p_death=0.0,
        )
        for stage in begun.stage:
            moves.append(_happens(rng, name, stage, first, shot_on))
        lives.append(begun)
        kind += [name] * n
    return Lives(
        life=Life(
            pattern=np.concatenate([one.pattern for one in lives]),
            new_ground=np.concatenate([one.new_ground for one in lives]),
            stage=np.concatenate([one.stage for one in lives]),
        ),
        kind=np.array(kind),
        moves=np.array(moves),
    )


def _happens(
    rng: np.random.Generator,
    kind: str,
    stage: npt.NDArray[np.int8],
    first: int,
    shot_on: int | None,
) -> int:
    """Writes what happens to one buck into ``stage``; the day on which he moves ground, or -1.

    Days are counted from 1 June of that season: 122 is 1 October.
    """
    if kind == "passer":
        stage[:] = AWAY
        comes = first + int(rng.integers(118, 138))
        stage[comes : comes + int(rng.integers(14, 29))] = RUT_RANGE
    elif kind == "shot":
        day = int(rng.integers(122, 229)) if shot_on is None else shot_on
        stage[first + day + 1 :] = NOT_ALIVE
    elif kind == "left":
        stage[first + int(rng.integers(131, 183)) :] = AWAY
    elif kind == "moved in":
        comes = first + int(rng.integers(92, 163))
        stage[:comes] = AWAY
        stage[comes:] = FALL_RANGE
    elif kind == "moved ground":
        return first + int(rng.integers(122, 163))
    return -1


def gone_from(lives: Lives) -> npt.NDArray[np.int64]:
    """Day from which a buck is dead or gone for good, else -1; shape (bucks,)."""
    around = np.isin(lives.life.stage, (SUMMER_RANGE, FALL_RANGE, RUT_RANGE))
    n_days = around.shape[1]
    last_around = np.where(around.any(axis=1), n_days - 1 - around[:, ::-1].argmax(axis=1), -1)
    dead = lives.life.stage == NOT_ALIVE
    dies = np.where(dead[:, -1], n_days - dead[:, ::-1].cumprod(axis=1).sum(axis=1), -1)
    leaves = np.isin(lives.kind, ("passer", "left"))
    return np.where(leaves, last_around + 1, dies).astype(np.int64)


def lay_ranges(
    rng: np.random.Generator, ranges: Ranges, lives: Lives, *, side_m: float, field_ranges: bool
) -> Ranges:
    """Ranges with the edge bucks' centres beyond the edge, moved ground moved, and, where asked
    for, as large as in the field."""
    centre, off = ranges.centre_m.copy(), ranges.day_centre_m - ranges.centre_m
    spread, wander = ranges.spread_m, ranges.wander_m
    for buck in np.flatnonzero(lives.kind == "edge"):
        axis, sign = int(rng.integers(2)), int(rng.choice((-1, 1)))
        here = ~np.isnan(centre[buck, :, axis])
        centre[buck, here, axis] = sign * (side_m / 2 + rng.uniform(100, 350))
    for buck, day in enumerate(lives.moves):
        if day < 0:
            continue
        later = centre[buck, day:]
        angle, far = rng.uniform(0, 2 * np.pi), rng.uniform(500, 900)
        step = far * np.array([np.cos(angle), np.sin(angle)])
        old = later[~np.isnan(later[:, 0])].mean(axis=0)
        # Not over the edge: then the other way.
        step = np.where(np.abs(old + step) > side_m / 2, -step, step)
        centre[buck, day:] = later + step
    if field_ranges:
        size = rng.lognormal(0, 0.15, len(wander))
        share = rng.uniform(0.3, 0.6, len(wander))
        new_wander = SUMMER_SIGMA_M * size * np.sqrt(share)
        off = off * (new_wander / wander)[:, None, None]
        stage = lives.life.stage
        sigma = np.where(stage == SUMMER_RANGE, SUMMER_SIGMA_M, FALL_SIGMA_M) * size[:, None]
        spread, wander = np.sqrt(sigma**2 - new_wander[:, None] ** 2), new_wander
    return replace(
        ranges, centre_m=centre, day_centre_m=centre + off, spread_m=spread, wander_m=wander
    )


def draw_drift(
    rng: np.random.Generator, shape: tuple[int, int], *, sd: float, fades_in_days: float
) -> npt.NDArray[np.float64]:
    """Factor on each buck's rate by day with mean 1, shape (bucks, days): log-normal, and alike
    from day to day."""
    keep = float(np.exp(-1 / fades_in_days))
    noise = rng.normal(0, sd * np.sqrt(1 - keep**2), shape)
    noise[:, 0] = rng.normal(0, sd, shape[0])
    return np.asarray(np.exp(lfilter([1.0], [1.0, -keep], noise, axis=1) - sd**2 / 2))
