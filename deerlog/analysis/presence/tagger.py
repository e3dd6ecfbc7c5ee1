"""How often a visit is tagged with the wrong name, learned from the record itself.

A wrong tag puts a buck where his own pattern leaves him no business: the more such tags there are,
the likelier that the person who tags mixes bucks up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import expit, logsumexp

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


PAIR_SHARES = np.array([0.1, 0.3])
"""Shares of the visits of two bucks, each tagged as the other, that are held against the record."""
MOST_PAIRS = 10
"""Pairs that are looked at, the most alike of all (our choice: each costs four bucks' time)."""


@dataclass(frozen=True, kw_only=True)
class ConfusedPair:
    """Two bucks written down in each other's name: ``chance`` that they are, and in what ``share``
    of their visits if so."""

    bucks: tuple[str, str]
    chance: float
    share: float


@dataclass(frozen=True, kw_only=True)
class WrongNames:
    """Share of visits with the wrong name, 0 to 1: mean of what is known, and its 95 % interval
    (as fine as `wrong_shares`); ``pairs`` looked at, likeliest first, whose share comes on top."""

    share: float
    low: float
    high: float
    pairs: tuple[ConfusedPair, ...] = ()

    def by_number(self, bucks: Sequence[str]) -> list[tuple[int, int, float]]:
        """The pairs by their place in ``bucks``, each with the mean of its share."""
        place = {buck: b for b, buck in enumerate(bucks)}
        return [(place[p.bucks[0]], place[p.bucks[1]], p.chance * p.share) for p in self.pairs]


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

    def every_share(by_day: npt.NDArray[Any]) -> npt.NDArray[Any]:
        """Shape (T, shares x bucks), from (T, bucks) or (shares, T, bucks)."""
        by_share = np.broadcast_to(by_day, (len(shares), *seen.shape))
        return by_share.transpose(1, 0, 2).reshape(len(seen), -1)

    wrong = record.wrong_tags(shares)[:, rows, bucks]
    log = _log_of_records(
        chains, every_share(seen), every_share(watch), every_share(wrong), prior, judgement
    )
    return np.asarray(log.reshape(len(shares), -1).sum(axis=1))


def _log_of_records(
    chains: PatternChains,
    seen: npt.NDArray[Any],
    watch: npt.NDArray[Any],
    wrong: npt.NDArray[Any],
    prior: RatePrior,
    judgement: Judgement,
) -> Floats:
    """Log probability of N records, shape (T, N) each, whatever the way and the rate, (N,)."""
    rates, weights = prior.rates[::3], prior.weights[::3]
    log = np.concatenate(
        [
            log_evidence(
                chains.start[0, ways],
                chains.transition[:, 0, ways],
                sighting_states(seen, effort, wrong, rates, judgement).reshape(
                    len(seen), 1, -1, chains.start.shape[-1]
                ),
            )
            for ways, effort in ways_of_effort(watch, chains)
        ]
    )
    log = log.reshape(-1, seen.shape[1], len(rates))
    chance = way_prior(judgement)[:, None, None] * weights / weights.sum()
    return np.asarray(logsumexp(log, b=chance, axis=(0, 2)))


def log_by_pair(
    chains: PatternChains,
    record: BuckDays,
    rows: slice,
    bucks: Ints,
    prior: RatePrior,
    judgement: Judgement,
    share: float,
) -> dict[tuple[int, int], Floats]:
    """By how much one season's record is likelier, as a logarithm, if two bucks are each tagged as
    the other in each of `PAIR_SHARES`: for the `MOST_PAIRS` of ``bucks`` that are most alike.

    Someone who takes two bucks for each other does so both ways, and only the two together tell: a
    buck's visits fall on another's days by chance often enough. ``share`` of wrong names besides;
    else as `log_by_wrong_share`.
    """
    first, second = np.triu_indices(len(bucks), 1)
    alike = record.alike[bucks[first], bucks[second]]
    top = np.argsort(-alike, kind="stable")[:MOST_PAIRS]
    top = top[alike[top] > 0]
    if not len(top):
        return {}
    a, b = bucks[first[top]], bucks[second[top]]
    his, other = np.concatenate([a, b]), np.concatenate([b, a])
    usual = record.wrong_tags(share)[rows]
    more = [p / (1 - p) * record.own[rows][:, other] for p in (0.0, *PAIR_SHARES)]
    wrong = np.concatenate([usual[:, his] + each for each in more], axis=1)
    seen, watch = (np.tile(x[rows][:, his], len(more)) for x in (record.visits > 0, record.share))
    log = _log_of_records(chains, seen, watch, wrong, prior, judgement)
    both = log.reshape(len(more), 2, len(top)).sum(axis=1)
    gain = both[1:] - both[0]
    return {(int(i), int(j)): gain[:, n] for n, (i, j) in enumerate(zip(a, b, strict=True))}


def confused_pairs(
    log_by_pair: Mapping[tuple[str, str], Floats], n_bucks: int, judgement: Judgement
) -> tuple[ConfusedPair, ...]:
    """What `log_by_pair`, summed over the seasons, says of each pair, likeliest first."""
    before = judgement.confused_pairs / max(n_bucks * (n_bucks - 1) / 2, 1.0)
    odds = np.log(min(before, 0.5)) - np.log1p(-min(before, 0.5)) - np.log(len(PAIR_SHARES))
    found = []
    for bucks, log in log_by_pair.items():
        chance = float(expit(logsumexp(log + odds)))
        weight = np.exp(log - logsumexp(log))
        found.append(ConfusedPair(bucks=bucks, chance=chance, share=float(weight @ PAIR_SHARES)))
    return tuple(sorted(found, key=lambda pair: -pair.chance))


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
