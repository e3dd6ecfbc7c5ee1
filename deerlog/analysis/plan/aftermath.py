"""How shooting-light visits near a stand changed in the days after it was hunted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.intervals import jeffreys

Floats = npt.NDArray[np.float64]

NEAR_DAYS = 14
"""Days on either side of a sit that its aftermath is held against: both sides, so that a slow rise
or fall through the fall cancels (our choice)."""
LEAST_AFTER_DAYS = 3
"""Days after a sit that are looked at where the stand's rest days are fewer (McCoy, Auburn
University, author's articles: bucks kept away for three)."""
Z_95 = 1.96


@dataclass(frozen=True, kw_only=True)
class Aftermath:
    """Shooting-light visits near stands after they were hunted, against the days around.

    Counted are buck-days: a named buck with a visit in shooting light at a site of the stand.

    Attributes
    ----------
    sits
        Sits with camera-days both after and around them.
    after_visits, after_camera_days
        In the days after a sit.
    other_visits, other_camera_days
        At the same sites within `NEAR_DAYS` of a sit, in none of the days after any sit nor on the
        day of one; each day once.
    ratio, low, high
        Rate after over rate otherwise (Mantel and Haenszel's, a stratum a sit), with its 95 %
        interval; None where too little was seen.
    """

    sits: int
    after_visits: int
    after_camera_days: float
    other_visits: int
    other_camera_days: float
    ratio: float | None
    low: float | None
    high: float | None


def aftermath(
    sits: pd.DataFrame,
    stands: pd.DataFrame,
    *,
    days: pd.DatetimeIndex,
    sites: Sequence[str],
    running: Floats,
    buck_days: Floats,
) -> Aftermath:
    """How shooting-light visits near a stand changed in the days after it was hunted.

    Parameters
    ----------
    sits
        ``day, stand``, all known by the last of ``days``.
    stands
        ``stand, sites`` (tuple), ``rest_days``.
    days, sites
        Labels of the axes below.
    running
        Shape (days, sites), camera-days.
    buck_days
        Shape (days, sites): named bucks with a visit in shooting light.

    Notes
    -----
    Sites of the same stand and the same weeks are compared, so that neither place nor time of year
    stands in for the sit. Rate ratio and its variance: Rothman, Greenland and Lash 2008, Modern
    Epidemiology, chapter 15 (Greenland and Robins 1985, Biometrics 41:55; from memory). A buck who
    comes on one day often comes on the next, so the true interval is somewhat wider.
    """
    of_site = {site: n for n, site in enumerate(sites)}
    first = days[0]
    strata = []
    for stand in stands.to_dict("records"):
        columns = [of_site[site] for site in stand["sites"] if site in of_site]
        hunted = sits.loc[sits["stand"] == stand["stand"], "day"].drop_duplicates().sort_values()
        if not columns or hunted.empty:
            continue
        sat = np.asarray((hunted - first) / pd.Timedelta(days=1)).astype(np.int64)
        sat = sat[(sat >= 0) & (sat < len(days))]
        length = max(int(stand["rest_days"]), LEAST_AFTER_DAYS)
        on, after = np.zeros(len(days), dtype=bool), np.zeros(len(days), dtype=bool)
        on[sat] = True
        for k in range(1, length + 1):
            after[sat[sat + k < len(days)] + k] = True
        ran, came = running[:, columns].sum(axis=1), buck_days[:, columns].sum(axis=1)
        gap = np.abs(np.arange(len(days))[:, None] - sat[None, :])
        nearest, distance = gap.argmin(axis=1), gap.min(axis=1)
        for i, day in enumerate(sat):
            # Days after two sits close together belong to the later one.
            mine = np.zeros(len(days), dtype=bool)
            mine[day + 1 : min([day + length + 1, *sat[i + 1 : i + 2].tolist()])] = True
            # Each other day is held against the sit it is nearest to, and against that alone.
            near = (nearest == i) & (distance <= NEAR_DAYS) & ~on & ~after
            strata.append((came[mine].sum(), ran[mine].sum(), came[near].sum(), ran[near].sum()))
    a, t, b, u = np.array([s for s in strata if s[1] > 0 and s[3] > 0]).reshape(-1, 4).T
    ratio, low, high = _rate_ratio(a, t, b, u)
    return Aftermath(
        sits=len(a),
        after_visits=int(a.sum()),
        after_camera_days=float(t.sum()),
        other_visits=int(b.sum()),
        other_camera_days=float(u.sum()),
        ratio=ratio,
        low=low,
        high=high,
    )


def _rate_ratio(
    a: Floats, t: Floats, b: Floats, u: Floats
) -> tuple[float | None, float | None, float | None]:
    """Mantel-Haenszel rate ratio of counts a over time t and b over u, stratum by stratum."""
    if not len(a) or b.sum() == 0:
        return None, None, None
    if a.sum() == 0:
        # The estimate is nothing; its upper bound from the share of all visits that came after.
        _, share = jeffreys(0, b.sum())
        return 0.0, 0.0, float(share / (1 - share) * u.sum() / t.sum())
    total = t + u
    after, other = (a * u / total).sum(), (b * t / total).sum()
    ratio = after / other
    variance = ((a + b) * t * u / total**2).sum() / (after * other)
    spread = np.exp(Z_95 * np.sqrt(variance))
    return float(ratio), float(ratio / spread), float(ratio * spread)
