"""How often a visit is tagged with the wrong name, learned from the record itself.

A wrong tag puts a buck where his own pattern leaves him no business: the more such tags there are,
the likelier that the person who tags mixes bucks up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp

from deerlog.analysis.arrays import Floats, Ints
from deerlog.analysis.presence.forward_backward import log_evidence
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import PatternChains, way_prior, ways_of_effort
from deerlog.analysis.presence.sightings import BuckDays, RatePrior, sighting_states

_FACTORS = np.array([1 / 3, 1.0, 2.7, 6.0, 13.0])
"""Shares of wrong names that are held against the record, by that expected before it."""


def wrong_shares(judgement: Judgement) -> Floats:
    """Shares of wrong names that are held against the record, shape (shares,)."""
    return np.minimum(_FACTORS * judgement.wrong_tag_share, 0.5)


@dataclass(frozen=True, kw_only=True)
class WrongNames:
    """Share of visits with the wrong name, 0 to 1: mean of what is known, and its 95 % interval
    (as fine as `wrong_shares`)."""

    share: float
    low: float
    high: float


def log_by_wrong_share(
    chains: PatternChains,
    record: BuckDays,
    rows: slice,
    bucks: Ints,
    prior: RatePrior,
    judgement: Judgement,
) -> Floats:
    """Log probability of one season's record given each of `wrong_shares`, shape (shares,).

    As if the season were each buck's first, and with a coarser grid of rates. ``chains`` are of a
    buck of whom nothing is known; ``rows`` are the season's known days.
    """
    shares = wrong_shares(judgement)[:, None, None]
    seen, watch = record.visits[rows, bucks] > 0, record.share[rows, bucks]
    rates, weights = prior.rates[::3], prior.weights[::3]

    def every_share(by_day: npt.NDArray[Any]) -> npt.NDArray[Any]:
        """Shape (T, shares x bucks), from (T, bucks) or (shares, T, bucks)."""
        by_share = np.broadcast_to(by_day, (len(shares), *seen.shape))
        return by_share.transpose(1, 0, 2).reshape(len(seen), -1)

    wrong = record.wrong_tags(shares)[:, rows, bucks]
    log = np.concatenate(
        [
            log_evidence(
                chains.start[0, ways],
                chains.transition[:, 0, ways],
                sighting_states(
                    every_share(seen), every_share(effort), every_share(wrong), rates, judgement
                ).reshape(len(seen), 1, -1, chains.start.shape[-1]),
            )
            for ways, effort in ways_of_effort(watch, chains)
        ]
    )  # fmt: skip
    log = log.reshape(-1, len(shares), seen.shape[1], len(rates))
    chance = way_prior(judgement)[:, None, None, None] * weights / weights.sum()
    return np.asarray(logsumexp(log, b=chance, axis=(0, 3)).sum(axis=1))


def wrong_names(log_by_share: Floats | float, judgement: Judgement) -> WrongNames:
    """What `log_by_wrong_share`, summed over the seasons, says of the share of wrong names."""
    shares = wrong_shares(judgement)
    gap = np.log(shares / judgement.wrong_tag_share) / judgement.wrong_tag_log_sd
    log = log_by_share - gap**2 / 2
    chance = np.exp(log - log.max())
    chance /= chance.sum()
    low, high = np.searchsorted(np.cumsum(chance), [0.025, 0.975])
    mean, high = float(chance @ shares), min(high, len(shares) - 1)
    return WrongNames(
        share=mean, low=min(float(shares[low]), mean), high=max(float(shares[high]), mean)
    )
