"""A simple reference for the chance of a visit: use that falls off from where an animal lives.

Detection falls half-normally with the distance from one activity centre (Efford 2004, Oikos
106:598; Borchers and Efford 2008, Biometrics 64:377), times gamma noise a site. Everything unknown
is averaged over a grid; the width of the fall and the noise are shared by all animals.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.special import gammaln, logsumexp

Floats = npt.NDArray[np.float64]

SIGMA_M = np.array([150.0, 210.0, 300.0, 420.0, 600.0])
NOISE_SHAPE = np.array([0.3, 1.0, 3.0])
RATE = np.geomspace(0.02, 2.0, 8)
"""Visits a half-day of an animal whose centre is at the camera."""
STEP_M, MARGIN_M = 125.0, 300.0
"""Between places of the centre along each axis, over the sites and so far beyond them."""
HALF_WEIGHT = 4.0
"""Visits of the all animals' split between AM and PM added to each animal's own."""


def centre_chances(counts: Floats, half_days: Floats, position_m: Floats) -> Floats:
    """Chance of a visit in a half-day, shape (bucks, sites, 2).

    Parameters
    ----------
    counts
        Half-days with a visit in shooting light, shape (bucks, sites, 2).
    half_days
        Half-days of either kind that the camera ran, shape (sites,).
    position_m
        Shape (sites, 2).
    """
    along = [
        np.arange(at.min() - MARGIN_M, at.max() + MARGIN_M + STEP_M, STEP_M) for at in position_m.T
    ]
    centre = np.stack(np.meshgrid(*along), axis=-1).reshape(-1, 2)
    far2 = ((centre[:, None, :] - position_m[None]) ** 2).sum(axis=-1)
    by_half = counts.sum(axis=1) + HALF_WEIGHT * counts.sum(axis=(0, 1)) / max(counts.sum(), 1.0)
    share = by_half / by_half.sum(axis=1, keepdims=True)
    visits = counts.sum(axis=2)
    n_bucks, n_sites = visits.shape

    log_seen = np.empty((len(SIGMA_M), len(NOISE_SHAPE), n_bucks))
    quiet = np.empty((len(SIGMA_M), len(NOISE_SHAPE), n_bucks, n_sites, 2))
    for i, sigma in enumerate(SIGMA_M):
        # Shape (centres, rates, sites): visits in one half-day, AM and PM together halved.
        rate = RATE[None, :, None] * np.exp(-far2 / (2 * sigma**2))[:, None, :] + 1e-9
        rate = rate.reshape(-1, n_sites)
        expected = rate * 2 * half_days
        for j, shape in enumerate(NOISE_SHAPE):
            none = -shape * np.log1p(expected / shape)
            each = np.log(expected / (shape + expected) + 1e-300)
            log_like = none.sum(axis=1)[:, None] + each @ visits.T
            factor = (gammaln(shape + visits) - gammaln(shape)).sum(axis=1)
            total = logsumexp(log_like, axis=0)
            log_seen[i, j] = total + factor - np.log(len(rate))
            weight = np.exp(log_like - total)
            for half in (0, 1):
                for buck in range(n_bucks):
                    likely = np.flatnonzero(weight[:, buck] > 1e-6)
                    # His visits at the site narrow the noise there: a negative binomial's zero.
                    n = shape + visits[buck]
                    coming = 2 * share[buck, half] * rate[likely]
                    zero = -n * np.log1p(coming / (shape + expected[likely]))
                    part = weight[likely, buck]
                    quiet[i, j, buck, :, half] = part @ np.exp(zero) / part.sum()
    shared = log_seen.sum(axis=2)
    weight = np.exp(shared - logsumexp(shared))
    return np.asarray(1 - np.einsum("ij,ijbsh->bsh", weight, quiet))
