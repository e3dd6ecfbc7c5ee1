"""One buck's seasons together: the pattern mostly persists, the sighting rate drifts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import logsumexp

from deerlog.analysis.arrays import Floats
from deerlog.analysis.presence.patterns import RESIDENT


@dataclass(frozen=True, kw_only=True)
class SeasonSteps:
    """From one season to the next: ``prior`` (K,), the chance of each pattern in a buck's first
    season; ``alive`` and ``gone`` of `season_transition`; ``rate`` (R, R), the chance of each rate
    given the one before, rows sum to 1."""

    prior: Floats
    alive: Floats
    gone: Floats
    rate: Floats

    def ahead(self, joint: Floats, is_gone: Floats) -> Floats:
        """Shape (K, R): pattern and rate in the next season from those of this one."""
        stays = self.alive.T @ (joint * (1 - is_gone))
        return np.asarray((stays + self.gone[:, None] * (joint * is_gone).sum(axis=0)) @ self.rate)

    def behind(self, told: Floats, is_gone: Floats) -> Floats:
        """Shape (K, R): likelihood of what comes after, by pattern and rate of this season."""
        later = told @ self.rate.T
        return np.asarray((1 - is_gone) * (self.alive @ later) + is_gone * (self.gone @ later))


@dataclass(frozen=True, kw_only=True)
class OwnSeason:
    """What one season says of one buck.

    ``log_evidence`` (marks, K, R): log probability of the record up to the end of each mark.
    ``gone`` (marks, K, R): chance that he is then dead or gone for good. ``gone_later`` (marks, K):
    chance before anything is seen that one not gone then is by the season's end.
    """

    log_evidence: Floats
    gone: Floats
    gone_later: Floats


@dataclass(frozen=True, kw_only=True)
class Combined:
    """S seasons of one buck together.

    Chance of each pattern, (S, K), from the seasons up to and including each (``filtered``); of
    each pattern and rate, (S, K, R), from all seasons (``smoothed``) and from those before
    (``before``); ``p_gone`` (S,), that he is dead or gone for good at the last mark of each,
    likewise up to it.
    """

    filtered: Floats
    smoothed: Floats
    p_gone: Floats
    before: Floats


def combine_seasons(
    seasons: Sequence[OwnSeason], rate_weights: Floats, steps: SeasonSteps
) -> Combined:
    """Join a buck's seasons, in order, one at least; ``rate_weights`` (R,) is the chance of each
    rate in the first before anything is seen."""
    ahead: Floats = steps.prior[:, None] * rate_weights
    befores, filtered, p_gone = [], [], []
    for season in seasons:
        befores.append(ahead)
        joint = ahead * _likelihood(season)
        joint /= joint.sum()
        filtered.append(joint.sum(axis=1))
        p_gone.append((joint * season.gone[-1]).sum())
        ahead = steps.ahead(joint, season.gone[-1])
    behind: Floats = np.ones_like(ahead)
    smoothed: list[Floats] = []
    for before, season in zip(befores[::-1], seasons[::-1], strict=True):
        told = _likelihood(season) * behind
        joint = before * told
        smoothed.insert(0, joint / joint.sum())
        if len(smoothed) < len(seasons):
            behind = steps.behind(told, seasons[-len(smoothed) - 1].gone[-1])
            behind /= behind.max()
    return Combined(
        filtered=np.array(filtered),
        smoothed=np.array(smoothed),
        p_gone=np.array(p_gone),
        before=np.array(befores),
    )


def log_odds_resident(
    seasons: Sequence[OwnSeason], before: Floats, steps: SeasonSteps
) -> tuple[float, list[Floats]]:
    """Log odds of living here *in the last season*, as the record grew: before anything was seen,
    and after the record up to each mark, one array a season.

    The differences are what each stretch argued; with the first they sum to the log odds of the
    score. ``before`` is of `Combined`.
    """
    to_last = np.eye(len(steps.prior))
    odds: list[Floats] = []
    for i in range(len(seasons) - 1, -1, -1):
        season = seasons[i]
        weight = season.log_evidence - season.log_evidence.max(axis=(1, 2), keepdims=True)
        joint = before[i] * np.exp(weight)
        if i == len(seasons) - 1:
            pattern = joint.sum(axis=2)
        else:
            gone = season.gone + (1 - season.gone) * season.gone_later[..., None]
            pattern = (joint * (1 - gone)).sum(axis=2) @ steps.alive
            pattern = (pattern + (joint * gone).sum(axis=(1, 2))[:, None] * steps.gone) @ to_last
            lost = season.gone_later[0, :, None]
            to_last = ((1 - lost) * steps.alive + lost * steps.gone) @ to_last
        odds.insert(0, _log_odds(pattern))
    return float(_log_odds(steps.prior @ to_last)), odds


def log_by_first_rate(seasons: Sequence[OwnSeason], steps: SeasonSteps) -> Floats:
    """Log probability of a buck's whole record given his rate in his first season, shape (R,)."""
    top, told = 0.0, np.zeros_like(seasons[-1].log_evidence[-1])
    for i in range(len(seasons) - 1, -1, -1):
        told = told + seasons[i].log_evidence[-1]
        if i:
            top = told.max()
            later = steps.behind(np.exp(told - top), seasons[i - 1].gone[-1])
            told = top + np.log(np.maximum(later, np.finfo(float).tiny))
    return np.asarray(logsumexp(told, b=steps.prior[:, None], axis=0))


def _likelihood(season: OwnSeason) -> Floats:
    last = season.log_evidence[-1]
    return np.asarray(np.exp(last - last.max()))


def _log_odds(pattern: Floats) -> Floats:
    """Log odds of living here, from weights of the patterns along the last axis.

    From the weights for and against, not from a chance: one less a chance close to 1 has no digits
    left. Below the least positive number the odds stop.
    """
    living_here = np.maximum(pattern[..., RESIDENT].sum(axis=-1), np.finfo(float).tiny)
    elsewhere = np.maximum(pattern[..., ~RESIDENT].sum(axis=-1), np.finfo(float).tiny)
    return np.asarray(np.log(living_here) - np.log(elsewhere))
