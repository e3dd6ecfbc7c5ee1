"""The true chances behind a simulation: what the best possible forecast would say."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from .cameras import Cameras
from .passings import TagErrors
from .ranges import Ranges

GRID_POINTS = 5


def true_chances(
    *,
    scale: npt.NDArray[np.float64],
    near: npt.NDArray[np.float64],
    parts: npt.NDArray[np.float64],
    buck: npt.NDArray[np.int64],
    day: npt.NDArray[np.int64],
    ranges: Ranges,
    cameras: Cameras,
    errors: TagErrors,
    clumping: float,
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Chance of a tagged visit in shooting light, knowing his range, and knowing his day's centre.

    A wrong tag counts for the buck it names: the score is kept on what was written down.

    Parameters
    ----------
    scale
        Expected passings a day of a deer centred on the site, shape (sites, n), for n buck-days on
        the property.
    near
        Fall of that rate at the distance of his centre that day, shape (sites, n).
    parts
        Shares of the parts of the day (first two: shooting light AM and PM), shape (sites, n, 4).
    buck, day
        Shape (n,).

    Returns
    -------
    on_range, on_day
        Shape (bucks, sites, days, 2).
    """
    n_bucks, n_days = ranges.spread_m.shape
    # Tagged surely and rightly. Unsure tags are left out of every figure.
    kept = (1 - errors.missed) * (1 - errors.unsure)
    light = scale[:, :, None] * parts[:, :, :2] * kept
    right = light * ((1 - errors.wrong) if n_bucks > 1 else 1.0)
    swapped = (errors.swapped * (buck < 2))[:, None]
    lent, right = right * swapped, right * (1 - swapped)

    rates = (right, lent) if errors.swapped else (right,)
    quiet_on_day = [_quiet(rate * near[:, :, None], clumping) for rate in rates]
    quiet_on_range = [np.zeros_like(rate) for rate in rates]
    mean_near = np.zeros_like(near)
    node, weight = np.polynomial.hermite_e.hermegauss(GRID_POINTS)
    weight = weight / weight.sum()
    spread = ranges.spread_m[buck, day]
    offset = ranges.wander_m[buck][:, None] * node
    along = [
        np.exp(
            -(
                (
                    (ranges.centre_m[buck, day, axis][:, None] + offset)[None]
                    - cameras.position_m[:, axis, None, None]
                )
                ** 2
            )
            / (2 * spread[:, None] ** 2)
        )
        for axis in (0, 1)
    ]
    for i in range(GRID_POINTS):
        for j in range(GRID_POINTS):
            there = along[0][:, :, i] * along[1][:, :, j]
            for quiet, rate in zip(quiet_on_range, rates, strict=True):
                quiet += weight[i] * weight[j] * _quiet(rate * there[:, :, None], clumping)
            mean_near += weight[i] * weight[j] * there

    chances = []
    for quiet, at in ((quiet_on_range, mean_near), (quiet_on_day, near)):
        own = np.ones((n_bucks, len(cameras.camera), n_days, 2))
        own[buck, :, day] = quiet[0].transpose(1, 0, 2)
        if n_bucks > 1:
            written = np.zeros_like(own)
            written[buck, :, day] = (
                light * at[:, :, None] * errors.wrong / (n_bucks - 1)
            ).transpose(1, 0, 2)
            own *= np.exp(-(written.sum(axis=0) - written))
        if errors.swapped:
            of_twin = np.ones_like(own)
            of_twin[buck, :, day] = quiet[1].transpose(1, 0, 2)
            own[:2] *= of_twin[1::-1]
        chances.append(1 - own)
    return chances[0], chances[1]


def _quiet(rate: npt.NDArray[np.float64], clumping: float) -> npt.NDArray[np.float64]:
    """Probability of no passing where the rate carries gamma noise (a negative binomial's zero)."""
    return np.asarray(np.exp(-clumping * np.log1p(rate / clumping)))
