"""What each season's days say about every pattern and sighting rate, and how seasons combine.

Shapes, all through: B bucks, R sighting rates, K patterns, S seasons.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from deerlog.analysis import presence
from deerlog.analysis.patterns import AROUND, RESIDENT, PatternChains

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class SeasonEvidence:
    """One season's days, run through every pattern and sighting rate.

    Attributes
    ----------
    log_evidence
        Shape (marks, K, B, R): log probability of the season's record up to the end of each
        marked day.
    around
        Shape (T, K, B, R): smoothed probability of being around on each day, given the season's
        record, the pattern and the rate.
    """

    log_evidence: Floats
    around: Floats


def season_evidence(
    chains: PatternChains,
    seen: npt.NDArray[np.bool_],
    effort: Floats,
    rates: Floats,
    wrong_tags: Floats,
    marks: npt.NDArray[np.int64],
) -> SeasonEvidence:
    """Run one season.

    Parameters
    ----------
    chains
        The season's patterns, T days.
    seen, effort, wrong_tags
        Shape (T, B); see `presence.sighting_emission`. Zero effort on days not known yet.
    rates
        Shape (R,).
    marks
        Days (0 to T - 1) at whose end the evidence is kept.
    """
    n_days, n_bucks = seen.shape
    n_rates = len(rates)
    record = presence.sighting_emission(seen, effort, rates, wrong_tags)
    record = record.reshape(n_days, n_bucks * n_rates, 2)
    emission = np.where(AROUND, record[..., 1:], record[..., :1])
    passed = presence.forward(chains.start, chains.transition, emission)
    states = presence.smooth(chains.transition, emission, passed)
    shape = (-1, chains.start.shape[0], n_bucks, n_rates)
    return SeasonEvidence(
        log_evidence=passed.log_evidence[marks].reshape(shape),
        around=states[..., AROUND].sum(axis=-1).reshape(shape),
    )


@dataclass(frozen=True)
class Combined:
    """Every season of one buck together.

    Attributes
    ----------
    filtered
        Shape (S, K): chance of each pattern in each season, from the seasons up to and including
        it.
    smoothed
        Shape (S, K, R): chance of each pattern and rate in each season, from all seasons.
    prior_log_odds
        Log odds of living here in the last season before anything was seen.
    log_odds
        One array a season, shape (marks,): log odds of living here *in the last season*, after
        the record up to each mark. The differences are what each stretch argued, and with
        ``prior_log_odds`` they sum to the log odds of the score.
    rate
        Shape (R,): chance of each sighting rate, from all seasons.
    """

    filtered: Floats
    smoothed: Floats
    prior_log_odds: float
    log_odds: tuple[Floats, ...]
    rate: Floats


def combine_seasons(
    log_evidence: list[Floats], prior: Floats, rate_weights: Floats, transition: Floats
) -> Combined:
    """Join a buck's seasons: the sighting rate is one, the pattern mostly persists.

    Parameters
    ----------
    log_evidence
        One array a season, shape (marks, K, R), the last mark at the season's end.
    prior
        Shape (K,): chance of each pattern in his first season.
    rate_weights
        Shape (R,), before anything is seen.
    transition
        Shape (K, K), from i in one season to j in the next.
    """
    n_seasons = len(log_evidence)
    ahead = prior[:, None] * rate_weights[None, :]
    befores, likelihoods, filtered = [], [], []
    for season_log in log_evidence:
        last = season_log[-1]
        likelihood = np.exp(last - last.max())
        befores.append(ahead)
        likelihoods.append(likelihood)
        joint = ahead * likelihood
        joint = joint / joint.sum()
        filtered.append(joint.sum(axis=1))
        ahead = transition.T @ joint
    behind = np.ones_like(ahead)
    smoothed: list[Floats] = []
    for s in range(n_seasons - 1, -1, -1):
        joint = befores[s] * likelihoods[s] * behind
        joint = joint / joint.sum()
        smoothed.append(joint)
        behind = transition @ (likelihoods[s] * behind)
        behind = behind / behind.max()
    smoothed.reverse()

    odds = []
    to_last = np.linalg.matrix_power(transition, n_seasons - 1)
    prior_odds = _log_odds((to_last.T @ prior)[RESIDENT].sum())
    for s, season_log in enumerate(log_evidence):
        to_last = np.linalg.matrix_power(transition, n_seasons - 1 - s)
        weight = season_log - season_log.max(axis=(1, 2), keepdims=True)
        joint = befores[s][None] * np.exp(weight)
        pattern = joint.sum(axis=2)
        pattern = pattern / pattern.sum(axis=1, keepdims=True)
        odds.append(_log_odds((pattern @ to_last)[:, RESIDENT].sum(axis=1)))
    return Combined(
        filtered=np.array(filtered),
        smoothed=np.array(smoothed),
        prior_log_odds=float(prior_odds),
        log_odds=tuple(odds),
        rate=smoothed[-1].sum(axis=0),
    )


def learned_rate_weights(
    log_evidence: list[list[Floats]],
    prior: Floats,
    rate_weights: Floats,
    transition: Floats,
    *,
    prior_bucks: float,
    rounds: int = 3,
) -> Floats:
    """Sighting rates on this property, learned over its bucks and held back by the prior.

    Expectation-maximisation of the weights with ``prior_bucks`` bucks' worth of the prior added;
    a few rounds are enough, since the prior holds most of the weight where data are few.

    Parameters
    ----------
    log_evidence
        By buck, as given to `combine_seasons`.
    """
    weights = rate_weights
    for _ in range(rounds):
        total = prior_bucks * rate_weights
        for buck in log_evidence:
            ends = [season[-1:] for season in buck]
            total = total + combine_seasons(ends, prior, weights, transition).rate
        weights = total / total.sum()
    return weights


def _log_odds(chance: npt.ArrayLike) -> Floats:
    p = np.clip(np.asarray(chance, dtype=float), 1e-12, 1 - 1e-12)
    return np.asarray(np.log(p) - np.log1p(-p))
