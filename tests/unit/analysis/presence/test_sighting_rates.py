"""Sighting rates learned over the bucks, against every property's median written out."""

from __future__ import annotations

import numpy as np
import pytest

from deerlog.analysis.presence.judgement import HIGHEST_RATE, Judgement
from deerlog.analysis.presence.sightings import learned_rate_weights, rate_prior


def test_the_prior_is_spread_as_the_judgement_says() -> None:
    prior = rate_prior(Judgement(), n_rates=41, n_medians=41)
    assert prior.weights.sum() == pytest.approx(1)
    for rows in (prior.given_median, prior.season_step):
        np.testing.assert_allclose(rows.sum(axis=-1), 1, rtol=1e-12)
    log_rate = np.log(prior.rates)
    assert prior.rates.max() <= HIGHEST_RATE
    mean = float(prior.weights @ log_rate)
    assert np.exp(mean) == pytest.approx(Judgement().rate_median, rel=0.05)
    sd = float(np.sqrt(prior.weights @ (log_rate - mean) ** 2))
    whole = np.hypot(Judgement().rate_property_log_sd, Judgement().rate_buck_log_sd)
    # Two and a half standard deviations hold 99 %, and the rest is cut.
    assert 0.88 * whole < sd < whole


def test_learned_weights_by_every_median_and_rate() -> None:
    """Two bucks; each buck's prior is what the other tells, no more."""
    rng = np.random.default_rng(0)
    prior = rate_prior(Judgement(), n_rates=3, n_medians=4)
    logs = rng.normal(-2, 2, (2, 3))
    weights = learned_rate_weights(logs, prior)

    def told(buck: int, median: int) -> float:
        return float(prior.given_median[median] @ np.exp(logs[buck]))

    say = np.array([[told(b, m) for m in range(4)] for b in range(2)])
    for buck, other in ((0, 1), (1, 0)):
        median = prior.median_weights * say[other]
        expected = median / median.sum() @ prior.given_median
        np.testing.assert_allclose(weights[buck], expected, rtol=1e-9)


def test_a_lone_buck_has_the_prior() -> None:
    prior = rate_prior(Judgement())
    log = np.random.default_rng(1).normal(0, 5, (1, len(prior.rates)))
    weights = learned_rate_weights(log, prior)
    np.testing.assert_allclose(weights[0], prior.weights, rtol=1e-9)
    assert learned_rate_weights(log[:0], prior).shape == (0, len(prior.rates))


def test_many_bucks_of_one_rate_make_it_the_rule_there() -> None:
    prior = rate_prior(Judgement())
    often = np.zeros(len(prior.rates))
    often[-3:] = 8.0
    few = learned_rate_weights(np.tile(often, (2, 1)), prior)
    many = learned_rate_weights(np.tile(often, (30, 1)), prior)
    mean = [float(w @ np.log(prior.rates)) for w in (prior.weights, few[0], many[0])]
    assert mean[0] < mean[1] < mean[2]
    # A buck seen seldom on a property where all are seen daily is still allowed for.
    assert many[0][: len(prior.rates) // 2].sum() > 0.001
