"""Sighting rates learned over the bucks, against every property's median written out."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from deerlog.analysis.presence.season_evidence import combine_seasons

from deerlog.analysis.presence.judgement import HIGHEST_RATE, Judgement
from deerlog.analysis.presence.patterns import PATTERNS, pattern_prior, season_transition
from deerlog.analysis.presence.sightings import learned_rate_weights, rate_prior

K = len(PATTERNS)
PRIOR, BETWEEN = pattern_prior(Judgement()), season_transition(Judgement())


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
    """Two bucks of two seasons and one; each buck's prior is what the other tells, no more."""
    rng = np.random.default_rng(0)
    prior = rate_prior(Judgement(), n_rates=3, n_medians=4)
    logs = [[rng.normal(-2, 2, (1, K, 3)) for _ in range(n)] for n in (2, 1)]
    weights, newcomer = learned_rate_weights(logs, PRIOR, BETWEEN, prior)

    def told(buck: int, median: int) -> float:
        seasons = logs[buck]
        total = 0.0
        for ks in product(range(K), repeat=len(seasons)):
            for rs in product(range(3), repeat=len(seasons)):
                chance = PRIOR[ks[0]] * prior.given_median[median, rs[0]]
                if len(seasons) == 2:
                    chance *= BETWEEN[ks[0], ks[1]] * prior.season_step[rs[0], rs[1]]
                record = sum(log[-1, k, r] for log, k, r in zip(seasons, ks, rs, strict=True))
                total += chance * np.exp(record)
        return total

    say = np.array([[told(b, m) for m in range(4)] for b in range(2)])
    for buck, other in ((0, 1), (1, 0)):
        median = prior.median_weights * say[other]
        expected = median / median.sum() @ prior.given_median
        np.testing.assert_allclose(weights[buck], expected, rtol=1e-9)
    median = prior.median_weights * say.prod(axis=0)
    np.testing.assert_allclose(newcomer, median / median.sum() @ prior.given_median, rtol=1e-9)


def test_a_lone_buck_has_the_prior_and_nobody_too() -> None:
    prior = rate_prior(Judgement())
    log = np.random.default_rng(1).normal(0, 5, (1, K, len(prior.rates)))
    weights, _ = learned_rate_weights([[log]], PRIOR, BETWEEN, prior)
    np.testing.assert_allclose(weights[0], prior.weights, rtol=1e-9)
    weights, newcomer = learned_rate_weights([], PRIOR, BETWEEN, prior)
    assert weights.shape == (0, len(prior.rates))
    np.testing.assert_allclose(newcomer, prior.weights, rtol=1e-9)


def test_many_bucks_of_one_rate_make_it_the_rule_there() -> None:
    prior = rate_prior(Judgement())
    often = np.zeros((1, K, len(prior.rates)))
    often[..., -3:] = 8.0
    few, _ = learned_rate_weights([[often]] * 2, PRIOR, BETWEEN, prior)
    many, _ = learned_rate_weights([[often]] * 30, PRIOR, BETWEEN, prior)
    mean = [float(w @ np.log(prior.rates)) for w in (prior.weights, few[0], many[0])]
    assert mean[0] < mean[1] < mean[2]
    # A buck seen seldom on a property where all are seen daily is still allowed for.
    assert many[0][: len(prior.rates) // 2].sum() > 0.001
    own = np.zeros((1, K, len(prior.rates)))
    own[..., 4] = 12.0
    assert combine_seasons([own], PRIOR, many[0], BETWEEN).rate.argmax() == 4
