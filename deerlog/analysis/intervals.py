"""Intervals for shares and rates from small counts."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.special import betaincinv, gammaincinv

from deerlog.analysis.arrays import Floats


def jeffreys(
    successes: npt.ArrayLike, trials: npt.ArrayLike, level: float = 0.95
) -> tuple[Floats, Floats]:
    """Jeffreys interval of a binomial share (Brown, Cai and DasGupta 2001, Statistical Science
    16:101).

    Low and high, 0 to 1. Where nothing was seen the low bound is 0, where everything was the high
    bound is 1, and with no trials they are 0 and 1.
    """
    x = np.asarray(successes, dtype=float)
    n = np.asarray(trials, dtype=float)
    if np.any(x < 0) or np.any(x > n):
        raise ValueError("successes must lie between 0 and trials")
    tail = (1 - level) / 2
    low = np.where(x == 0, 0.0, betaincinv(x + 0.5, n - x + 0.5, tail))
    high = np.where(x == n, 1.0, betaincinv(x + 0.5, n - x + 0.5, 1 - tail))
    return low, high


def poisson_exact(counts: npt.ArrayLike, level: float = 0.95) -> tuple[Floats, Floats]:
    """Exact interval for a Poisson mean from one count (Garwood 1936, Biometrika 28:437): low and
    high bounds on the expected count."""
    k = np.asarray(counts, dtype=float)
    tail = (1 - level) / 2
    low = np.where(k == 0, 0.0, gammaincinv(np.maximum(k, 1), tail))
    return low, np.asarray(gammaincinv(k + 1, 1 - tail))
