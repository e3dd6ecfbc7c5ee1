"""How often a buck who is around is photographed: unknown, learned over the property's bucks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp

from deerlog.analysis.residency.judgement import HIGHEST_RATE, Judgement

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class RatePrior:
    """Sighting rates before anything is seen: bucks spread around their property's own median.

    Attributes
    ----------
    rates
        Shape (R,): sightings a day when around and his cameras run, log-spaced.
    median_weights
        Shape (M,): chance of each median that a property may have.
    given_median
        Shape (M, R): chance of each rate on a property of that median.
    season_step
        Shape (R, R): chance of each rate in a season given the one before, rows sum to 1.
    """

    rates: Floats
    median_weights: Floats
    given_median: Floats
    season_step: Floats

    @property
    def weights(self) -> Floats:
        """Shape (R,): chance of each rate, whatever the property."""
        return np.asarray(self.median_weights @ self.given_median)


def rate_prior(judgement: Judgement, n_rates: int = 13, n_medians: int = 11) -> RatePrior:
    """The prior of a judgement, over two and a half standard deviations each way."""
    j = judgement
    whole_sd = float(np.hypot(j.rate_property_log_sd, j.rate_buck_log_sd))
    middle = np.log(j.rate_median)
    highest = min(middle + 2.5 * whole_sd, np.log(HIGHEST_RATE))
    log_rate = np.linspace(middle - 2.5 * whole_sd, highest, n_rates)
    z = np.linspace(-2.5, 2.5, n_medians)
    log_median = middle + j.rate_property_log_sd * z
    return RatePrior(
        rates=np.exp(log_rate),
        median_weights=_normal_rows(z[None], 1.0)[0],
        given_median=_normal_rows(log_rate - log_median[:, None], j.rate_buck_log_sd),
        season_step=_normal_rows(log_rate - log_rate[:, None], j.rate_season_log_sd),
    )


def learned_rate_weights(
    log_evidence: Sequence[Sequence[Floats]],
    pattern_prior: Floats,
    transition: Floats,
    prior: RatePrior,
) -> tuple[Floats, Floats]:
    """Sighting rates on this property, learned over its bucks.

    Exact for the model: what the others tell of the property's median, as if it were one of
    ``prior``'s, spreads into a prior for each buck that his own record has not touched.

    Parameters
    ----------
    log_evidence
        By buck and season: shape (marks, K, R), the last mark at the season's end.
    pattern_prior
        Shape (K,): chance of each pattern in a buck's first season.
    transition
        Shape (K, K), from i in one season to j in the next.

    Returns
    -------
    weights, newcomer
        Shape (bucks, R): chance of each rate in each buck's first season before his own record;
        shape (R,): the same for a buck not met yet.
    """
    told = np.array(
        [
            logsumexp(
                _log_by_first_rate(seasons, pattern_prior, transition, prior.season_step),
                b=prior.given_median,
                axis=-1,
            )
            for seasons in log_evidence
        ]
    ).reshape(-1, len(prior.median_weights))
    whole = np.log(prior.median_weights) + told.sum(axis=0)
    others = np.exp(whole - told - logsumexp(whole - told, axis=-1, keepdims=True))
    newcomer = np.exp(whole - logsumexp(whole))
    return others @ prior.given_median, newcomer @ prior.given_median


def _log_by_first_rate(
    seasons: Sequence[Floats], pattern_prior: Floats, transition: Floats, step: Floats
) -> Floats:
    """Log probability of a buck's whole record given his rate in the first season, shape (R,)."""
    behind = np.zeros_like(seasons[-1][-1])
    for i in range(len(seasons) - 1, -1, -1):
        told = seasons[i][-1] + behind
        if i:
            top = told.max()
            with np.errstate(divide="ignore"):
                behind = top + np.log(transition @ np.exp(told - top) @ step.T)
    return np.asarray(logsumexp(told, b=pattern_prior[:, None], axis=0))


def _normal_rows(gap: Floats, sd: float) -> Floats:
    """Normal weights of ``gap`` in each row, which sum to 1."""
    weight = np.exp(-0.5 * (gap / sd) ** 2)
    return np.asarray(weight / weight.sum(axis=-1, keepdims=True))
