"""How often a visit is tagged with the wrong name, learned from the record itself.

A wrong tag puts a buck where his own pattern leaves him no business: the more such tags there are,
the likelier that the person who tags mixes bucks up.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp

from deerlog.analysis.presence.forward_backward import log_evidence
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import PatternChains, way_prior, ways_of_effort
from deerlog.analysis.presence.sightings import RatePrior, sighting_states

Floats = npt.NDArray[np.floating]

SHARES = np.array([0.005, 0.015, 0.04, 0.09, 0.2])
"""Shares of wrong names that are held against the record."""


@dataclass(frozen=True, kw_only=True)
class WrongNames:
    """Share of visits with the wrong name, 0 to 1: mean of what is known, and its 95 % interval
    (as fine as `SHARES`)."""

    share: float
    low: float
    high: float


def log_by_wrong_share(
    chains: PatternChains,
    seen: npt.NDArray[np.bool_],
    share: Floats,
    named: Floats,
    strangers: Floats,
    prior: RatePrior,
    judgement: Judgement,
) -> Floats:
    """Log probability of one season's record given each of `SHARES`, shape (shares,).

    As if the season were each buck's first, and with a coarser grid of rates.

    Parameters
    ----------
    chains
        Of a buck of whom nothing is known.
    seen, share, named, strangers
        Of the known days; see `deerlog.analysis.presence.sightings.BuckDays`.
    """
    n_days, n_bucks = seen.shape
    rates, weights = prior.rates[::3], prior.weights[::3]
    wrong = SHARES[:, None] * named[:, :, None] + strangers[:, None, :]
    series = (n_days, len(SHARES) * n_bucks)
    log = np.concatenate(
        [
            log_evidence(
                chains.start[0, ways],
                chains.transition[:, 0, ways],
                sighting_states(
                    np.repeat(seen[:, None], len(SHARES), axis=1).reshape(series),
                    np.repeat(effort[:, None], len(SHARES), axis=1).reshape(series),
                    wrong.reshape(series),
                    rates,
                    judgement,
                ).reshape(n_days, 1, -1, chains.start.shape[-1]),
            )
            for ways, effort in ways_of_effort(share, chains)
        ]
    )
    log = log.reshape(-1, len(SHARES), n_bucks, len(rates))
    chance = way_prior(judgement)[:, None, None, None] * weights / weights.sum()
    return np.asarray(logsumexp(log, b=chance, axis=(0, 3)).sum(axis=1))


def wrong_names(log_by_share: Floats | float, judgement: Judgement) -> WrongNames:
    """What the record so far says of the share of wrong names.

    Parameters
    ----------
    log_by_share
        Sum of `log_by_wrong_share` over the seasons.
    """
    gap = np.log(SHARES / judgement.wrong_tag_share) / judgement.wrong_tag_log_sd
    log = log_by_share - gap**2 / 2
    chance = np.exp(log - log.max())
    chance /= chance.sum()
    low, high = np.searchsorted(np.cumsum(chance), [0.025, 0.975])
    return WrongNames(
        share=float(chance @ SHARES),
        low=float(SHARES[low]),
        high=float(SHARES[min(high, len(SHARES) - 1)]),
    )
