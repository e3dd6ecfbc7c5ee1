"""How often each buck passes each camera, from where he is, and what gets tagged of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .hours import MIDDAY_BY_PHASE, Light, draw_instants

ACTIVITY_BY_PHASE = {
    "summer": 1.0,
    "early season": 0.85,
    "pre-rut": 1.1,
    "rut": 1.35,
    "late season": 0.8,
}
"""Movement by phase, 1 in summer. Our choice, after the sign of what Olson found."""

MOST_A_DAY = 8.0
"""Most passings a day, in the middle, of a camera in the centre of a buck's day."""

VISIT_GAP_S = 30 * 60


@dataclass(frozen=True, kw_only=True)
class TagErrors:
    """Shares of passings that are never tagged, tagged as another buck, or tagged unsurely.

    ``swapped``: of the first two bucks, two that look alike, tagged as the other of the two.
    """

    missed: float = 0.06
    wrong: float = 0.015
    unsure: float = 0.04
    wrong_when_unsure: float = 0.25
    swapped: float = 0.0


def reach(
    from_m: npt.NDArray[np.float64],
    site_m: npt.NDArray[np.float64],
    spread_m: npt.NDArray[np.float64],
) -> npt.NDArray[np.float64]:
    """Half-normal fall of the passing rate with distance, shape (sites, n).

    Parameters
    ----------
    from_m
        Centres, shape (n, 2).
    site_m
        Shape (sites, 2).
    spread_m
        Shape (n,).
    """
    gap = from_m[None, :, :] - site_m[:, None, :]
    return np.asarray(np.exp(-(gap**2).sum(axis=-1) / (2 * spread_m**2)))


def rate_for_share_of_days(shape: npt.NDArray[np.float64], clumping: float, share: float) -> float:
    """Factor on the rates that has a buck photographed on a given share of days, on average.

    At most `MOST_A_DAY`: where the cameras stand too far from the ranges the share stays lower.

    Parameters
    ----------
    shape
        Relative rates, shape (sites, n) for n days on which a resident was around.
    clumping
        Shape parameter of the gamma noise of each rate.
    """
    low, high = np.log(1e-4), np.log(MOST_A_DAY)
    for _ in range(30):
        middle = (low + high) / 2
        none = np.exp(-clumping * np.log1p(np.exp(middle) * shape / clumping).sum(axis=0))
        if 1 - none.mean() < share:
            low = middle
        else:
            high = middle
    return float(np.exp((low + high) / 2))


@dataclass(frozen=True, kw_only=True)
class Passings:
    """Tagged passings: arrays of one length, in order of time."""

    buck: npt.NDArray[np.int64]
    site: npt.NDArray[np.int64]
    seconds: npt.NDArray[np.float64]
    unsure: npt.NDArray[np.bool_]
    wrong: npt.NDArray[np.bool_]
    photos: npt.NDArray[np.int64]


def draw_passings(
    rng: np.random.Generator,
    *,
    rate: npt.NDArray[np.float64],
    buck: npt.NDArray[np.int64],
    day: npt.NDArray[np.int64],
    clumping: float,
    errors: TagErrors,
    n_bucks: int,
    phase: npt.NDArray[np.object_],
    light: Light,
) -> Passings:
    """Draw what the cameras caught and what a person made of it.

    Parameters
    ----------
    rate
        Expected passings by site, buck-day and part of the day, shape (sites, n, 4), with the
        effort in it.
    buck, day
        Of each buck-day, shape (n,).
    """
    noise = rng.gamma(clumping, 1 / clumping, rate.shape[:2])
    count = rng.poisson(rate * noise[:, :, None])
    site_of, pair_of, part_of = np.nonzero(count)
    times = count[site_of, pair_of, part_of]
    site, pair, part = (np.repeat(a, times) for a in (site_of, pair_of, part_of))
    seen = rng.random(len(site)) >= errors.missed
    site, pair, part = site[seen], pair[seen], part[seen]
    midday = np.array([MIDDAY_BY_PHASE[p] for p in phase])
    seconds = draw_instants(rng, day=day[pair], part=part, midday=midday, light=light)
    tagged = buck[pair].copy()
    unsure = rng.random(len(site)) < errors.unsure
    p_wrong = np.where(unsure, errors.wrong_when_unsure, errors.wrong)
    wrong = (rng.random(len(site)) < p_wrong) & (n_bucks > 1)
    step = rng.integers(1, max(n_bucks, 2), len(site))
    tagged[wrong] = (tagged[wrong] + step[wrong]) % n_bucks
    if errors.swapped:
        twin = (buck[pair] < 2) & ~wrong & (rng.random(len(site)) < errors.swapped)
        tagged[twin] = 1 - tagged[twin]
        wrong = wrong | twin
    order = np.argsort(seconds, kind="stable")
    return Passings(
        buck=tagged[order],
        site=site[order],
        seconds=seconds[order],
        unsure=unsure[order],
        wrong=wrong[order],
        photos=rng.geometric(0.35, len(order)),
    )


def visit_of(
    site: npt.NDArray[np.int64], seconds: npt.NDArray[np.float64]
) -> npt.NDArray[np.int64]:
    """Visit number of each passing: at one site, no gap above half an hour. Shape (n,)."""
    order = np.lexsort((seconds, site))
    new = np.ones(len(order), dtype=bool)
    new[1:] = (np.diff(seconds[order]) > VISIT_GAP_S) | (np.diff(site[order]) != 0)
    visit = np.empty(len(order), dtype=np.int64)
    visit[order] = np.cumsum(new) - 1
    return visit
