"""How good chances were: log loss, Brier score, reliability, and the sits they would choose;
whether the forecast beats a simple rule, and whether chances were too high or too low, beyond luck.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.arrays import Bools, Floats
from deerlog.analysis.intervals import jeffreys

RELIABILITY_EDGES = (0.0, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.6, 0.8, 1.0)


def log_loss(chance: npt.ArrayLike, seen: npt.ArrayLike) -> float:
    """Mean negative log probability of what happened, in nats; NaN for nothing.

    Chances are not softened: a visit that was called impossible costs infinity.
    """
    p, y = np.asarray(chance, dtype=float), np.asarray(seen, dtype=bool)
    if not len(p):
        return float("nan")
    with np.errstate(divide="ignore"):
        return float(-np.where(y, np.log(p), np.log1p(-p)).mean())


def brier(chance: npt.ArrayLike, seen: npt.ArrayLike) -> float:
    """Mean squared difference of chance and outcome (Brier 1950, Monthly Weather Review 78:1)."""
    p, y = np.asarray(chance, dtype=float), np.asarray(seen, dtype=float)
    return float(np.square(p - y).mean()) if len(p) else float("nan")


def reliability(
    chance: npt.ArrayLike, seen: npt.ArrayLike, edges: Sequence[float] = RELIABILITY_EDGES
) -> pd.DataFrame:
    """When we said 20 %, how often was it? One row a bin that holds any half-day.

    ``from, to`` (bin of the chance; the upper end belongs to the last bin only), ``half_days``,
    ``mean_chance``, ``came_true`` (count), ``share``, ``low``, ``high`` (95 % Jeffreys; half-days
    near each other are alike, so the true interval is somewhat wider).
    """
    p, y = np.asarray(chance, dtype=float), np.asarray(seen, dtype=bool)
    place = np.clip(np.searchsorted(edges, p, side="right") - 1, 0, len(edges) - 2)
    n = np.bincount(place, minlength=len(edges) - 1)
    total = np.bincount(place, p, minlength=len(edges) - 1)
    true = np.bincount(place[y], minlength=len(edges) - 1)
    low, high = jeffreys(true, n)
    held = n > 0
    return pd.DataFrame(
        {
            "from": np.array(edges[:-1])[held],
            "to": np.array(edges[1:])[held],
            "half_days": n[held],
            "mean_chance": total[held] / n[held],
            "came_true": true[held],
            "share": true[held] / n[held],
            "low": low[held],
            "high": high[held],
        }
    )


def top_sits(half_days: pd.DataFrame, rule: str, n: int = 5) -> tuple[int, int]:
    """Of the best sits of each day by a rule's column of chances, how many saw any of the bucks in
    shooting light: those that came true, and those chosen, over all days.

    A sit is a site and half; its chance is that of at least one of the bucks. Days on which fewer
    sits could be chosen than ``n`` are left out, since every rule would choose the same.
    """
    none = np.log1p(-half_days[rule].clip(upper=1 - 1e-9))
    sits = (
        half_days[["day", "site", "half", "seen"]]
        .assign(none=none)
        .groupby(["day", "site", "half"], sort=True, observed=True)
        .agg(none=("none", "sum"), seen=("seen", "any"))
        .reset_index()
    )
    sits = sits[sits.groupby("day", sort=False)["none"].transform("size") > n]
    ranked = sits.sort_values(["day", "none"], kind="stable")
    best = ranked.groupby("day", sort=False).head(n)
    return int(best["seen"].sum()), len(best)


Z_95 = 1.96
LEAST_WEEKS = 8
"""Weeks with half-days scored below which nothing is said (our choice)."""


@dataclass(frozen=True, kw_only=True)
class ForecastGain:
    """The forecast against one simple rule: the share of its log loss that the forecast saves.

    Below zero where it does worse; NaN where either called impossible what then came. The 95 %
    interval is None where too few weeks were scored.
    """

    rule: str
    gain: float
    low: float | None
    high: float | None


def forecast_gain(half_days: pd.DataFrame, rule: str) -> ForecastGain | None:
    """Hold the forecast against a rule on the same half-days; None where nothing was scored.

    Weeks are taken as independent of each other, half-days within one are not: a buck who is gone
    is gone on all of them.
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


def _losses(chance: pd.Series, seen: Bools) -> Floats:
    p = chance.to_numpy(dtype=float)
    with np.errstate(divide="ignore"):
        return np.asarray(-np.where(seen, np.log(p), np.log1p(-p)))


BANDS = ((0.0, 0.05), (0.05, 0.2), (0.2, 1.0))
"""Chances told of together: those too small to walk in for, those of a usual sit, and good ones
(our choice; more bands would each hold too little)."""


@dataclass(frozen=True, kw_only=True)
class ChancesOff:
    """Chances from ``said_low`` to below ``said_high``, their mean ``said``, that came true more or
    less often than they said: the share of half-days that did, with its 95 % interval."""

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
