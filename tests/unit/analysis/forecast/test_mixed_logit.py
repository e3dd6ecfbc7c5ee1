"""The regression behind the forecast, against a general optimiser and in its limits."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.special import expit

from deerlog.analysis.forecast.mixed_logit import ENOUGH, fit_mixed_logit


def data(seed: int = 3) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(seed)
    features = rng.normal(0, 1, (7, 4))
    trials = rng.integers(1, 30, (3, 7)).astype(float)
    trials[1, 2:5] = 0.0
    return {
        "successes": np.floor(trials * rng.uniform(0, 1, trials.shape)),
        "trials": trials,
        "shared_design": np.column_stack([np.ones(7), rng.normal(0, 1, 7)]),
        "features": features,
        "covariance": features @ features.T + 0.1 * np.eye(7),
        "shared_sd": np.array([3.0, 0.7]),
    }


def minus_log_posterior(parameters: np.ndarray, d: dict[str, np.ndarray]) -> float:
    """Of shared effects and each buck's own part at every row."""
    shared, own = parameters[:2], parameters[2:].reshape(3, 7)
    odds = d["shared_design"] @ shared + own
    fit = d["successes"] * odds - d["trials"] * np.logaddexp(0, odds)
    prior = 0.5 * np.square(shared / d["shared_sd"]).sum()
    inverse = np.linalg.inv(d["covariance"])
    return float(-fit.sum() + prior + 0.5 * sum(part @ inverse @ part for part in own))


def fitted(d: dict[str, np.ndarray]):
    names = ("successes", "trials", "shared_design", "covariance", "shared_sd")
    return fit_mixed_logit(*(d[name] for name in names))


def test_same_as_a_general_optimiser() -> None:
    d = data()
    best = minimize(minus_log_posterior, np.zeros(2 + 21), args=(d,), method="BFGS", tol=1e-8)
    got = fitted(d)
    np.testing.assert_allclose(got.shared, best.x[:2], atol=2e-3)
    mean, _ = got.log_odds(d["shared_design"], d["covariance"], np.diag(d["covariance"]))
    wanted = d["shared_design"] @ best.x[:2] + best.x[2:].reshape(3, 7)
    np.testing.assert_allclose(mean, wanted, atol=3e-3)


def test_spread_is_that_of_the_curvature() -> None:
    d = data()
    got = fitted(d)
    mean, sd = got.log_odds(d["shared_design"], d["covariance"], np.diag(d["covariance"]))
    for b in range(3):
        p = expit(mean[b])
        weight = d["trials"][b] * p * (1 - p)
        posterior = np.linalg.inv(np.linalg.inv(d["covariance"]) + np.diag(weight))
        np.testing.assert_allclose(sd[b], np.sqrt(np.diag(posterior)), rtol=1e-5)


def test_a_buck_without_data_is_like_the_others_and_unknown() -> None:
    d = data()
    d["trials"][2] = d["successes"][2] = 0.0
    got = fitted(d)
    mean, sd = got.log_odds(d["shared_design"], d["covariance"], np.diag(d["covariance"]))
    np.testing.assert_allclose(mean[2], d["shared_design"] @ got.shared, atol=1e-9)
    np.testing.assert_allclose(sd[2], np.sqrt(np.diag(d["covariance"])), rtol=1e-9)


def test_no_bucks_at_all() -> None:
    d = data()
    d["trials"], d["successes"] = np.zeros((0, 7)), np.zeros((0, 7))
    got = fitted(d)
    np.testing.assert_allclose(got.shared, 0)
    mean, sd = got.log_odds(d["shared_design"], d["covariance"], np.diag(d["covariance"]))
    assert mean.shape == sd.shape == (0, 7)


def test_many_data_speak_for_themselves() -> None:
    d = data()
    d["trials"] = np.full((3, 7), 1e6)
    share = np.random.default_rng(0).uniform(0.05, 0.95, (3, 7))
    d["successes"] = share * d["trials"]
    got = fitted(d)
    mean, sd = got.log_odds(d["shared_design"], d["covariance"], np.diag(d["covariance"]))
    np.testing.assert_allclose(expit(mean), share, atol=1e-3)
    assert sd.max() < 0.02


def test_extreme_shares_do_not_break_it() -> None:
    d = data()
    d["trials"] = np.full((3, 7), 400.0)
    d["successes"] = np.where(np.arange(7) % 2, 400.0, 0.0) * np.ones((3, 1))
    mean, sd = fitted(d).log_odds(d["shared_design"], d["covariance"], np.diag(d["covariance"]))
    assert np.isfinite(mean).all() and np.isfinite(sd).all()
    assert (mean[:, 1::2].min(axis=1) > mean[:, ::2].max(axis=1)).all()
    best = minimize(minus_log_posterior, np.zeros(2 + 21), args=(d,), method="BFGS", tol=1e-8)
    wanted = d["shared_design"] @ best.x[:2] + best.x[2:].reshape(3, 7)
    np.testing.assert_allclose(mean, wanted, rtol=0.01)  # held back by the prior alone


def test_a_number_that_is_none_is_no_fit() -> None:
    d = data()
    d["successes"][0, 0] = np.nan
    with pytest.raises(ArithmeticError, match="number that is none"):
        fitted(d)


@pytest.mark.parametrize("begun", [False, True])
def test_it_comes_to_rest_from_anywhere(begun: bool) -> None:
    """Thousands of trials that all went one way or the other, and hardly anything held back."""
    rng = np.random.default_rng(11)
    for _ in range(40):
        features = rng.normal(0, 5, (20, 3))
        covariance = features @ features.T + 0.1 * np.eye(20)
        trials = rng.exponential(3000, (3, 20))
        successes = trials * (rng.random((3, 20)) < 0.5)
        start = (rng.normal(0, 5, 1), rng.normal(0, 5, (3, 20))) if begun else None
        got = fit_mixed_logit(
            successes, trials, np.ones((20, 1)), covariance, np.array([3.0]), start=start
        )
        odds = got.log_odds(np.ones((20, 1)), covariance, np.diag(covariance))[0]
        pull = np.stack([his.pull for his in got.own])
        # At the top what the data pull is what the prior holds back. The last step moves no log
        # odds by more than ENOUGH, and no trial's share by more than a quarter of that.
        left = np.abs(successes - trials * expit(odds) - pull)
        assert (left <= ENOUGH / 4 * trials + 1e-6).all()
