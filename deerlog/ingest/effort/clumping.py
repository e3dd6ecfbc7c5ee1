"""How unevenly a camera's deer come, and how likely it is then that none comes for days."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

CLUMP_SCALES = (1, 3, 5)
"""Block lengths in days at which clumping is measured; the worst counts. Our choice: a group of
does that stays a few nights, a spell of weather. Longer blocks are too few to measure anything, and
blocks of at most three days call over 2 % of running days silent where deer come in spells."""
CLUMP_PRIOR = (1.2, 10)
"""The clumping taken for granted before any data, and how many pairs of blocks it weighs. Our
choice: with few days a camera cannot show how unevenly its deer come."""


def log_p_empty(n: int, running: float, length: float, clump: float) -> float:
    """Natural log of the probability of no event in ``length`` days, the rate integrated out.

    Negative binomial counts of mean m and variance clump x m are empty with probability
    clump ** (-m / (clump - 1)); the rate has a gamma posterior worth n / clump independent events
    (half an event added: Jeffreys' prior).
    """
    if running <= 0 or length <= 0:
        return 0.0
    return -(n / clump + 0.5) * math.log1p(onsets(clump) * length * clump / running)


def onsets(clump: float) -> float:
    """Clumps an event stands for: negative binomial counts of mean m are empty with exp(-m x)."""
    return 1.0 if clump - 1.0 < 1e-6 else math.log(clump) / (clump - 1.0)


def clumping(
    gaps: Sequence[tuple[float, float]], events: npt.NDArray[np.float64], span: float
) -> float:
    """Variance over mean of the camera's counts, at its worst scale, at least 1.

    From differences of successive blocks, so that a slow seasonal change does not count as
    clumping.

    Parameters
    ----------
    gaps
        Ends, in days, of the gaps in question; blocks that touch one are left out.
    events
        Days since the start of the placement, sorted, shape (n,).
    span
        Days of the placement.
    """
    prior, weight = CLUMP_PRIOR
    worst = 1.0
    for scale in CLUMP_SCALES:
        n_blocks = int(span // scale)
        if n_blocks < 2:
            continue
        edges = np.arange(n_blocks + 1) * float(scale)
        counts = np.diff(np.searchsorted(events, edges)).astype(np.float64)
        usable = np.ones(n_blocks, dtype=bool)
        for left, right in gaps:
            usable &= (edges[1:] <= left) | (edges[:-1] >= right)
        pair = usable[1:] & usable[:-1]
        n_pairs = int(pair.sum())
        mean = float(counts[usable].mean()) if usable.any() else 0.0
        if mean <= 0:
            continue
        variance = 0.5 * float(np.square(np.diff(counts)[pair]).mean()) if n_pairs else 0.0
        own = variance / mean
        worst = max(worst, (weight * prior + n_pairs * own) / (weight + n_pairs))
    return worst
