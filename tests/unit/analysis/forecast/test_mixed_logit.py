"""The regression behind the forecast, against a general optimiser and in its limits."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.special import expit

from deerlog.analysis.forecast.mixed_logit import ENOUGH, MixedLogit, Record, fit_mixed_logit

NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(41)
WEIGHTS = WEIGHTS / WEIGHTS.sum()


def data(seed: int = 3) -> dict[str, np.ndarray]:
    rng = np.random.default_rng(seed)
    features = rng.normal(0, 1, (7, 4))
    trials = rng.integers(1, 30, (3, 7)).astype(float)
    trials[1, 2:5] = 0.0
    return {
        "successes": np.floor(trials * rng.uniform(0, 1, trials.shape)),
        "trials": trials,
        "design": np.column_stack([np.ones(7), rng.normal(0, 1, 7)]),
        "covariance": features @ features.T + 0.1 * np.eye(7),
        "prior_mean": np.array([0.5, -0.2]),
        "prior_sd": np.array([3.0, 0.7]),
    }


def records(d: dict[str, np.ndarray]) -> list[Record]:
    """Rows without a trial too, which tell nothing."""
    return [
        Record(successes=k, trials=n, design=d["design"], effect=np.arange(len(k)),
               covariance=d["covariance"])
        for k, n in zip(d["successes"], d["trials"], strict=True)
    ]  # fmt: skip


def fitted(d: dict[str, np.ndarray]) -> MixedLogit:
    return fit_mixed_logit(records(d), d["prior_mean"], d["prior_sd"])


def at_rows(got: MixedLogit, d: dict[str, np.ndarray]) -> tuple[np.ndarray, np.ndarray]:
    """Mean and spread of every buck's log odds at every row."""
    own = d["covariance"]
    found = [got.log_odds(b, d["design"], own, np.diag(own)) for b in range(len(d["trials"]))]
    return np.stack([mean for mean, _ in found]), np.stack([sd for _, sd in found])


def averaged(mean: np.ndarray, sd: np.ndarray) -> np.ndarray:
    """Shares averaged over normal log odds."""
    return expit(mean[..., None] + sd[..., None] * NODES) @ WEIGHTS


def joint(d: dict[str, np.ndarray]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Design of all rows in all effects at once, and the effects' prior mean and covariance."""
    n_bucks, n = d["trials"].shape
    wide = np.hstack([np.tile(d["design"], (n_bucks, 1)), np.eye(n_bucks * n)])
    mean = np.concatenate([d["prior_mean"], np.zeros(n_bucks * n)])
    covariance = np.zeros((len(mean), len(mean)))
    covariance[:2, :2] = np.diag(d["prior_sd"] ** 2)
    covariance[2:, 2:] = np.kron(np.eye(n_bucks), d["covariance"])
    return wide, mean, covariance


def test_nearest_normal_distribution_as_a_general_optimiser_finds_it() -> None:
    """The largest bound on the evidence, over the means; the spreads are checked below."""
    d = data()
    wide, prior, covariance = joint(d)
    n, k = d["trials"].ravel(), d["successes"].ravel()
    mean, sd = at_rows(fitted(d), d)
    inverse = np.linalg.inv(covariance)

    def minus_bound(effects: np.ndarray) -> float:
        odds = wide @ effects
        softplus = np.logaddexp(0, odds[:, None] + sd.ravel()[:, None] * NODES) @ WEIGHTS
        off = effects - prior
        return float(-(k @ odds - n @ softplus) + 0.5 * off @ inverse @ off)

    best = minimize(minus_bound, prior, method="BFGS", tol=1e-9)
    np.testing.assert_allclose(mean.ravel(), wide @ best.x, atol=ENOUGH)


def test_spread_is_that_of_the_averaged_curvature_shared_effects_and_all() -> None:
    d = data()
    wide, _, covariance = joint(d)
    mean, sd = at_rows(fitted(d), d)
    p = expit(mean.ravel()[:, None] + sd.ravel()[:, None] * NODES)
    weight = d["trials"].ravel() * ((p * (1 - p)) @ WEIGHTS)
    posterior = np.linalg.inv(np.linalg.inv(covariance) + (wide.T * weight) @ wide)
    wanted = np.sqrt(np.diag(wide @ posterior @ wide.T))
    np.testing.assert_allclose(sd.ravel(), wanted, rtol=0.02)


def test_averaged_shares_add_up_to_what_came_where_successes_are_rare() -> None:
    """300 bucks, a row each; at the most probable log odds the average would be far too high."""
    rng = np.random.default_rng(0)
    trials = np.full(300, 100.0)
    came = rng.binomial(100, expit(rng.normal(-5, 1.5, 300))).astype(float)
    own = np.array([[1.5**2]])
    one = [
        Record(successes=came[[b]], trials=trials[[b]], design=np.ones((1, 1)),
               effect=np.array([0]), covariance=own)
        for b in range(300)
    ]  # fmt: skip
    got = fit_mixed_logit(one, np.zeros(1), np.array([5.0]))
    found = [got.log_odds(b, np.ones((1, 1)), own, own[0]) for b in range(300)]
    mean, sd = np.array(found)[:, :, 0].T
    assert (averaged(mean, sd) * trials).sum() == pytest.approx(came.sum(), rel=0.02)


def test_rows_that_share_an_effect_are_as_one_effect_each_that_are_equal() -> None:
    d = data()
    twice = np.repeat(np.arange(7), 2)
    split = np.random.default_rng(1).uniform(0.2, 0.8, (3, 7))
    together, apart = fitted(d), []
    for b in range(3):
        halves = np.stack([split[b], 1 - split[b]], axis=1)
        apart.append(
            Record(
                successes=(d["successes"][b][:, None] * halves).ravel(),
                trials=(d["trials"][b][:, None] * halves).ravel(),
                design=d["design"][twice],
                effect=twice,
                covariance=d["covariance"],
            )
        )
    got = fit_mixed_logit(apart, d["prior_mean"], d["prior_sd"])
    for one, other in zip(at_rows(together, d), at_rows(got, d), strict=True):
        np.testing.assert_allclose(one, other, atol=1e-6)


def test_a_buck_without_data_is_like_the_others_and_unknown() -> None:
    d = data()
    d["trials"][2] = d["successes"][2] = 0.0
    got = fitted(d)
    mean, sd = at_rows(got, d)
    np.testing.assert_allclose(mean[2], d["design"] @ got.shared, atol=1e-9)
    shared = np.einsum("ij,jk,ik->i", d["design"], got.shared_covariance, d["design"])
    np.testing.assert_allclose(sd[2], np.sqrt(np.diag(d["covariance"]) + shared), rtol=1e-6)


def test_no_bucks_at_all() -> None:
    d = data()
    got = fit_mixed_logit([], d["prior_mean"], d["prior_sd"])
    np.testing.assert_allclose(got.shared, d["prior_mean"])


def test_many_data_speak_for_themselves() -> None:
    d = data()
    d["trials"] = np.full((3, 7), 1e6)
    share = np.random.default_rng(0).uniform(0.05, 0.95, (3, 7))
    d["successes"] = share * d["trials"]
    mean, sd = at_rows(fitted(d), d)
    np.testing.assert_allclose(expit(mean), share, atol=1e-3)
    assert sd.max() < 0.02


def test_extreme_shares_do_not_break_it() -> None:
    d = data()
    d["trials"] = np.full((3, 7), 400.0)
    d["successes"] = np.where(np.arange(7) % 2, 400.0, 0.0) * np.ones((3, 1))
    mean, sd = at_rows(fitted(d), d)
    assert np.isfinite(mean).all() and np.isfinite(sd).all()
    assert (mean[:, 1::2].min(axis=1) > mean[:, ::2].max(axis=1)).all()


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
        d = {
            "covariance": features @ features.T + 0.1 * np.eye(20),
            "design": np.ones((20, 1)),
            "trials": rng.exponential(3000, (3, 20)),
            "prior_mean": np.zeros(1),
            "prior_sd": np.array([3.0]),
        }
        d["successes"] = d["trials"] * (rng.random((3, 20)) < 0.5)
        start = None
        if begun:
            start = rng.normal(0, 5, 1), list(rng.normal(0, 1, (3, 20))), list(np.ones((3, 20)))
        got = fit_mixed_logit(records(d), d["prior_mean"], d["prior_sd"], start=start)
        mean, sd = at_rows(got, d)
        # At the top what the data pull is what the prior holds back.
        left = np.abs(d["successes"] - d["trials"] * averaged(mean, sd) - np.array(got.pulls))
        assert (left <= ENOUGH / 2 * d["trials"] + 1e-6).all()
