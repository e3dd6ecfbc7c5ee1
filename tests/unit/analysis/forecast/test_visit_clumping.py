"""Half-days from days, against drawing them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import expit, logit

from deerlog.analysis.forecast.chances import half_log_odds


def test_against_draws() -> None:
    """Gamma rates, Poisson visits, each in the part with its share."""
    rng = np.random.default_rng(5)
    shape, mean, share = 0.8, 1.4, 0.3
    count = rng.poisson(rng.gamma(shape, mean / shape, 400_000))
    in_part = rng.binomial(count, share) > 0
    got = expit(half_log_odds(logit(np.array([(count > 0).mean()])), np.array(share), shape))
    # Standard error of the drawn share: 0.0007.
    assert got[0] == pytest.approx(in_part.mean(), abs=0.004)
    wrong = expit(half_log_odds(logit(np.array([(count > 0).mean()])), np.array(share), 4.0))
    assert abs(wrong[0] - in_part.mean()) > 0.01


def test_at_shape_1_the_odds_are_multiplied() -> None:
    odds = np.array([0.01, 0.5, 30.0])
    got = np.exp(half_log_odds(np.log(odds), np.array(0.25), 1.0))
    np.testing.assert_allclose(got, 0.25 * odds)


def test_rare_visits_do_not_clump() -> None:
    for shape in (0.3, 1.0, 5.0):
        got = np.exp(half_log_odds(np.array(-9.0), np.array(0.2), shape))
        assert got == pytest.approx(0.2 * np.exp(-9.0), rel=1e-3)


def test_the_whole_day_is_the_day() -> None:
    odds = np.array([-3.0, 0.0, 2.0])
    np.testing.assert_allclose(half_log_odds(odds, np.array(1.0), 0.8), odds)
