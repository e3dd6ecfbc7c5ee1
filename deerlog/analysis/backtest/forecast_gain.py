"""Whether the forecast beats a simple rule, beyond what chance would do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

Z_95 = 1.96
LEAST_WEEKS = 8
"""Weeks with half-days scored below which nothing is said (our choice)."""


@dataclass(frozen=True, kw_only=True)
class ForecastGain:
    """The forecast against one simple rule, in log loss.

    Attributes
    ----------
    gain, low, high
        Share of the rule's log loss that the forecast saves, with its 95 % interval; below zero
        where it does worse; NaN where either called impossible what then came. The interval is
        None where too few weeks were scored.
    """

    rule: str
    gain: float
    low: float | None
    high: float | None


def forecast_gain(half_days: pd.DataFrame, rule: str) -> ForecastGain | None:
    """Hold the forecast against a rule on the same half-days; None where nothing was scored.

    Weeks are taken as independent of each other, half-days within one are not: a buck who is gone
    is gone on all of them.

    Parameters
    ----------
    half_days
        Of `deerlog.analysis.backtest.backtest.Backtest`.
    rule
        Its column of chances.
    """
    if half_days.empty:
        return None
    seen = half_days["seen"].to_numpy(dtype=bool)
    ours, theirs = (_losses(half_days[name], seen) for name in ("forecast", rule))
    total = theirs.sum()
    if not np.isfinite(total) or not np.isfinite(ours).all():
        return ForecastGain(rule=rule, gain=float("nan"), low=None, high=None)
    week = pd.DatetimeIndex(half_days["day"]).to_period("W").asi8
    _, number = np.unique(week, return_inverse=True)
    saved = np.bincount(number, theirs - ours)
    gain = float(saved.sum() / total)
    if len(saved) < LEAST_WEEKS:
        return ForecastGain(rule=rule, gain=gain, low=None, high=None)
    # The ratio's error from the weeks' residuals (the delta method of a ratio of sums).
    residual = saved - gain * np.bincount(number, theirs)
    error = float(np.sqrt((residual**2).sum() * len(saved) / (len(saved) - 1)) / total)
    return ForecastGain(rule=rule, gain=gain, low=gain - Z_95 * error, high=gain + Z_95 * error)


def _losses(chance: pd.Series, seen: npt.NDArray[np.bool_]) -> npt.NDArray[np.float64]:
    p = chance.to_numpy(dtype=float)
    with np.errstate(divide="ignore"):
        return np.asarray(-np.where(seen, np.log(p), np.log1p(-p)))
