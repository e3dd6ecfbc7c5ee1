"""The day a buck's use of the sites changed, and the chance that it changed at all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import gammaln, logsumexp

from deerlog.analysis.arrays import Floats

SHAPE = 0.5
"""Shape of the gamma prior of each site's rate: some sites much used, many hardly (our choice)."""
LEVELS = np.exp(np.linspace(-1.5, 1.5, 13))
"""By how much he may be on camera more or less without any change of ground (our choice)."""


@dataclass(frozen=True, kw_only=True)
class ChangeDay:
    """When use changed: the most likely first row of the new use, the chance that it changed at
    all, and of each row being that first one if it did (``by_row``, (n,), sums to 1)."""

    row: int
    probability: float
    by_row: Floats


def change_day(seen: Floats, exposure: Floats, *, prior: float, clumping: float) -> ChangeDay:
    """Find one change point in visits to several sites.

    Compares, for every day, two accounts: from that day on each site has a new rate of its own; or
    all rates rose or fell together, which is no change of ground. Rates are integrated out (gamma
    priors, Poisson counts), so an effort that changes from day to day is no matter. ``seen`` is 1
    on days with a visit, in order of time, ``exposure`` camera-days while he was around, both (n,
    S); ``prior`` the chance of a change before looking; so many visits as ``clumping`` count as
    one.
    """
    seen, exposure = seen / clumping, exposure / clumping
    n = len(seen)
    total_seen, total_exposure = seen.sum(axis=0), exposure.sum(axis=0)
    used = total_exposure > 0
    seen, exposure = seen[:, used], exposure[:, used]
    total_seen, total_exposure = total_seen[used], total_exposure[used]
    rate = SHAPE * max(float(total_exposure.sum()), 1e-9) / max(float(total_seen.sum()), 1e-9)
    first_seen, first_exposure = np.cumsum(seen, axis=0)[:-1], np.cumsum(exposure, axis=0)[:-1]
    last_seen, last_exposure = total_seen - first_seen, total_exposure - first_exposure
    moved = _log_marginal(first_seen, first_exposure, rate) + _log_marginal(
        last_seen, last_exposure, rate
    )
    level = LEVELS[:, None, None]
    stayed = logsumexp(
        _log_marginal(total_seen, first_exposure + level * last_exposure, rate)
        + last_seen.sum(axis=1) * np.log(LEVELS)[:, None],
        axis=0,
    ) - np.log(len(LEVELS))
    if n < 2 or not used.any():
        return ChangeDay(row=0, probability=prior, by_row=np.full(n, 1 / max(n, 1)))
    log_moved, log_stayed = logsumexp(moved), logsumexp(stayed)
    odds = np.log(prior) - np.log1p(-prior) + log_moved - log_stayed
    by_row = np.concatenate([[0.0], np.exp(moved - log_moved)])
    return ChangeDay(
        row=int(by_row.argmax()),
        probability=float(1 / (1 + np.exp(-np.clip(odds, -500, 500)))),
        by_row=by_row,
    )


def _log_marginal(seen: Floats, exposure: Floats, rate: float) -> Floats:
    """Log probability of counts with the rates integrated out, summed over the last axis.

    Terms that are the same for every account of the same counts are left out.
    """
    each = (
        SHAPE * np.log(rate)
        - gammaln(SHAPE)
        + gammaln(SHAPE + seen)
        - (SHAPE + seen) * np.log(rate + exposure)
    )
    return np.asarray(each.sum(axis=-1))
