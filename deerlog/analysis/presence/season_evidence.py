"""What each season's days say about every pattern and sighting rate, and how seasons combine.

Shapes, all through: B bucks, R sighting rates, K patterns, S seasons.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from deerlog.analysis.presence import forward_backward as presence
from deerlog.analysis.presence.patterns import AROUND, RESIDENT, YEAR_ROUND, PatternChains

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class SeasonEvidence:
    """One season's days, run through every pattern and sighting rate.

    A year-round buck is run twice, with and without his fall ground off the cameras (`quiet` of
    `PatternChains`); each of the K + 1 runs is a *way*, the quiet one last.

    Attributes
    ----------
    log_evidence
        Shape (marks, K, B, R): log probability of the season's record up to the end of each
        marked day.
    around
        Shape (T, K, B, R): smoothed probability of being around on each day, given the season's
        record, the pattern and the rate.
    log_way
        Shape (K + 1, B, R): log probability of the record up to the last mark and of the way,
        given its pattern and the rate.
    last_states
        Shape (K + 1, B, R, states): chance of each state at the end of the last marked day, given
        the way and the rate.
    """

    log_evidence: Floats
    around: Floats
    log_way: Floats
    last_states: Floats


def season_evidence(
    chains: PatternChains,
    seen: npt.NDArray[np.bool_],
    effort: Floats,
    rates: Floats,
    wrong_tags: Floats,
    marks: npt.NDArray[np.int64],
    *,
    quiet_share: float,
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
    quiet_share
        Chance that a year-round buck is quiet this season.
    """
    usual = _run(chains.start, chains.transition, seen, effort, rates, wrong_tags, marks)
    quiet = _run(
        chains.start[[YEAR_ROUND]],
        chains.transition[:, [YEAR_ROUND]],
        seen,
        effort * chains.quiet[:, None],
        rates,
        wrong_tags,
        marks,
    )
    log, around = usual.log_evidence, usual.around
    log[:, YEAR_ROUND] += np.log1p(-quiet_share)
    quiet_log = np.log(quiet_share) + quiet.log_evidence[:, 0]
    log_way = np.concatenate([log[-1], quiet_log[-1:]])
    log[:, YEAR_ROUND] = np.logaddexp(log[:, YEAR_ROUND], quiet_log)
    is_quiet = np.exp(quiet_log[-1] - log[-1, YEAR_ROUND])
    around[:, YEAR_ROUND] += is_quiet * (quiet.around[:, 0] - around[:, YEAR_ROUND])
    return SeasonEvidence(
        log_evidence=log,
        around=around,
        log_way=log_way,
        last_states=np.concatenate([usual.last_states, quiet.last_states]),
    )


@dataclass(frozen=True)
class _Run:
    """`SeasonEvidence` of some chains, before ways are joined."""

    log_evidence: Floats
    around: Floats
    last_states: Floats


def _run(
    start: Floats,
    transition: Floats,
    seen: npt.NDArray[np.bool_],
    effort: Floats,
    rates: Floats,
    wrong_tags: Floats,
    marks: npt.NDArray[np.int64],
) -> _Run:
    n_days, n_bucks = seen.shape
    n_rates = len(rates)
    record = presence.sighting_emission(seen, effort, rates, wrong_tags)
    record = record.reshape(n_days, n_bucks * n_rates, 2)
    emission = np.where(AROUND, record[..., 1:], record[..., :1])
    passed = presence.forward(start, transition, emission)
    states = presence.smooth(transition, emission, passed)
    shape = (start.shape[0], n_bucks, n_rates)
    return _Run(
        log_evidence=passed.log_evidence[marks].reshape(-1, *shape),
        around=(states @ AROUND.astype(float)).reshape(-1, *shape),
        last_states=passed.filtered[marks[-1]].reshape(*shape, -1),
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
        Shape (R,): chance of each sighting rate in the last season, from all seasons.
    before_last
        Shape (K, R): chance of each pattern and rate in the last season, from the seasons before.
    """

    filtered: Floats
    smoothed: Floats
    prior_log_odds: float
    log_odds: tuple[Floats, ...]
    rate: Floats
    before_last: Floats


def combine_seasons(
    log_evidence: Sequence[Floats],
    prior: Floats,
    rate_weights: Floats,
    transition: Floats,
    rate_step: Floats | None = None,
) -> Combined:
    """Join a buck's seasons: the pattern mostly persists, the sighting rate drifts.

    Parameters
    ----------
    log_evidence
        One array a season, shape (marks, K, R), the last mark at the season's end.
    prior
        Shape (K,): chance of each pattern in his first season.
    rate_weights
        Shape (R,): chance of each rate in his first season, before anything is seen.
    transition
        Shape (K, K), from i in one season to j in the next.
    rate_step
        Shape (R, R), likewise; None where the rate stays what it is.
    """
    step = np.eye(len(rate_weights)) if rate_step is None else rate_step
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
        ahead = transition.T @ joint @ step
    behind = np.ones_like(ahead)
    smoothed: list[Floats] = []
    for s in range(n_seasons - 1, -1, -1):
        joint = befores[s] * likelihoods[s] * behind
        joint = joint / joint.sum()
        smoothed.append(joint)
        behind = transition @ (likelihoods[s] * behind) @ step.T
        behind = behind / behind.max()
    smoothed.reverse()

    odds = []
    to_last = np.linalg.matrix_power(transition, n_seasons - 1)
    prior_odds = _log_odds_resident(prior @ to_last)
    for s, season_log in enumerate(log_evidence):
        to_last = np.linalg.matrix_power(transition, n_seasons - 1 - s)
        weight = season_log - season_log.max(axis=(1, 2), keepdims=True)
        joint = befores[s][None] * np.exp(weight)
        odds.append(_log_odds_resident(joint.sum(axis=2) @ to_last))
    return Combined(
        filtered=np.array(filtered),
        smoothed=np.array(smoothed),
        prior_log_odds=float(prior_odds),
        log_odds=tuple(odds),
        rate=smoothed[-1].sum(axis=0),
        before_last=befores[-1],
    )


def _log_odds_resident(pattern: Floats) -> Floats:
    """Log odds of living here, from weights of the patterns along the last axis.

    From the weights for and against, not from a chance: one less a chance close to 1 has no digits
    left. Below the least positive number the odds stop.
    """
    living_here = np.maximum(pattern[..., RESIDENT].sum(axis=-1), np.finfo(float).tiny)
    elsewhere = np.maximum(pattern[..., ~RESIDENT].sum(axis=-1), np.finfo(float).tiny)
    return np.asarray(np.log(living_here) - np.log(elsewhere))
