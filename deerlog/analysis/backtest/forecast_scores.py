"""How good chances were: log loss, Brier score, reliability, and the sits they would choose."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.intervals import jeffreys

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

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

    Returns
    -------
    DataFrame
        ``from, to`` (bin of the chance; the upper end belongs to the last bin only), ``half_days``,
        ``mean_chance``, ``came_true`` (count), ``share``, ``low``, ``high`` (95 % Jeffreys;
        half-days near each other are alike, so the true interval is somewhat wider).
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
    """Of the best sits of each day by a rule, how many saw any of the bucks in shooting light.

    A sit is a site and half; its chance is that of at least one of the bucks. Days on which fewer
    sits could be chosen than ``n`` are left out, since every rule would choose the same.

    Parameters
    ----------
    half_days
        ``buck, site, half, day, seen`` and the rule's column of chances.

    Returns
    -------
    came_true, chosen
        Counts over all days.
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
