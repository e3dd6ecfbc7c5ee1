"""Whether the chances given were too high or too low, beyond what luck would do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from deerlog.analysis.backtest.forecast_gain import LEAST_WEEKS, Z_95
from deerlog.analysis.intervals import jeffreys

BANDS = ((0.0, 0.05), (0.05, 0.2), (0.2, 1.0))
"""Chances told of together: those too small to walk in for, those of a usual sit, and good ones
(our choice; more bands would each hold too little)."""


@dataclass(frozen=True, kw_only=True)
class ChancesOff:
    """Chances of one size that came true more or less often than they said.

    Attributes
    ----------
    said_low, said_high
        The band of chances, the upper end not in it.
    said
        Their mean.
    came_true, half_days
        How many of how many came true.
    share, low, high
        That share, with its 95 % interval.
    """

    said_low: float
    said_high: float
    said: float
    came_true: int
    half_days: int
    share: float
    low: float
    high: float


def chances_off(half_days: pd.DataFrame) -> tuple[ChancesOff, ...]:
    """The bands of chances that were too high or too low beyond chance; empty where none was.

    A band is told where its mean lies outside the interval of the share that came true. That
    interval is the wider one, on each side, of two: the binomial one (Jeffreys), which takes
    half-days as independent of each other, and the one over weeks, since a buck who is gone is gone
    on all days of a week. Bands of fewer than `LEAST_WEEKS` weeks are not told; nor that chances
    too small to walk in for were smaller still.

    Parameters
    ----------
    half_days
        Of `deerlog.analysis.backtest.backtest.Backtest`.
    """
    if half_days.empty:
        return ()
    said = half_days["forecast"].to_numpy(dtype=float)
    seen = half_days["seen"].to_numpy(dtype=float)
    week = pd.DatetimeIndex(half_days["day"]).to_period("W").asi8
    found = []
    for band_low, band_high in BANDS:
        inside = (said >= band_low) & ((said < band_high) | (band_high == 1.0))
        weeks, number = np.unique(week[inside], return_inverse=True)
        if len(weeks) < LEAST_WEEKS:
            continue
        n, came = int(inside.sum()), int(seen[inside].sum())
        share, mean = came / n, float(said[inside].mean())
        # The share's error from the weeks' residuals (the delta method of a ratio of sums).
        residual = np.bincount(number, seen[inside] - share)
        error = float(np.sqrt((residual**2).sum() * len(weeks) / (len(weeks) - 1))) / n
        bounds = jeffreys(came, n)
        low = min(float(bounds[0]), share - Z_95 * error)
        high = max(float(bounds[1]), share + Z_95 * error)
        smaller_still = band_low == 0.0 and share < mean
        if not low <= mean <= high and not smaller_still:
            found.append(
                ChancesOff(
                    said_low=band_low,
                    said_high=band_high,
                    said=mean,
                    came_true=came,
                    half_days=n,
                    share=share,
                    low=max(low, 0.0),
                    high=min(high, 1.0),
                )
            )
    return tuple(found)
