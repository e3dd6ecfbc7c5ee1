"""Scores against values worked elsewhere or by hand."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest
from simulation.ground import simulate_property
from simulation.scoring import (
    bucks_to_score,
    calibration,
    jeffreys_interval,
    reliability_table,
)


def test_brier_score_and_shares_by_hand() -> None:
    # y 0 1 1 0, p .1 .9 .8 .3: Brier 0.0375 by arithmetic (Brier 1950, Monthly Weather Review).
    score = np.array([10.0, 90.0, 80.0, 30.0])
    result = calibration(score, np.array([False, True, True, False]))
    assert result.brier == pytest.approx(0.0375, abs=1e-12)
    assert (result.n, result.n_decided, result.n_right) == (4, 3, 3)
    assert result.share_decided == 0.75 and result.share_right == 1.0
    wrong = calibration(score, np.array([True, True, True, False]))
    assert (wrong.n_decided, wrong.n_right) == (3, 2)


def test_bucks_of_one_property_widen_the_standard_error() -> None:
    score = np.repeat([10.0, 90.0, 60.0], 20)
    truth = np.repeat([False, True, False], 20)
    alone = calibration(score, truth)
    together = calibration(score, truth, property_number=np.repeat([0, 1, 2], 20))
    assert together.brier == alone.brier
    error = np.repeat([0.01, 0.01, 0.36], 20)
    assert alone.brier_se == pytest.approx(error.std(ddof=1) / np.sqrt(60))
    assert together.brier_se == pytest.approx(np.std([0.01, 0.01, 0.36], ddof=1) / np.sqrt(3))


def test_scores_must_be_scores() -> None:
    with pytest.raises(ValueError, match="0 to 100"):
        calibration(np.array([50.0, np.nan]), np.array([True, False]))
    with pytest.raises(ValueError, match="0 to 100"):
        calibration(np.array([101.0]), np.array([True]))


def test_jeffreys_against_a_search_of_the_beta_distribution() -> None:
    from scipy.stats import beta

    for k, n in [(0, 10), (3, 10), (19, 20), (20, 20), (480, 500)]:
        low, high = jeffreys_interval(k, n)
        posterior = beta(k + 0.5, n - k + 0.5)
        assert low == (0.0 if k == 0 else pytest.approx(posterior.ppf(0.025), abs=1e-9))
        assert high == (1.0 if k == n else pytest.approx(posterior.ppf(0.975), abs=1e-9))
    assert jeffreys_interval(0, 0) == (0.0, 1.0)


def test_jeffreys_published_form() -> None:
    # Form: Brown, Cai and DasGupta 2001, Statistical Science 16:101; recomputed to four places.
    assert jeffreys_interval(81, 263) == pytest.approx((0.2545, 0.3656), abs=5e-5)
    assert jeffreys_interval(1, 29) == pytest.approx((0.0037, 0.1501), abs=5e-5)
    assert jeffreys_interval(30, 31) == pytest.approx((0.8590, 0.9965), abs=5e-5)


def test_reliability_table_by_hand() -> None:
    # Murphy 1973: bins (forecast, n, came true) (.1, 10, 1) (.4, 10, 5) (.8, 5, 4).
    score = np.repeat([10.0, 40.0, 80.0], [10, 10, 5])
    truth = np.concatenate([np.arange(10) < 1, np.arange(10) < 5, np.arange(5) < 4])
    table = reliability_table(score, truth)
    assert table["low"].tolist() == [10.0, 40.0, 80.0]
    assert table["n"].tolist() == [10, 10, 5]
    assert table["percent_true"].tolist() == pytest.approx([10.0, 50.0, 80.0])
    reliability = (table["n"] * (table["mean_score"] - table["percent_true"]) ** 2).sum()
    assert reliability / 25 / 1e4 == pytest.approx(0.004, abs=1e-9)
    assert table["fits"].all()
    assert not reliability_table(np.full(200, 85.0), np.ones(200, dtype=bool))["fits"].any()
    assert reliability_table(np.array([100.0]), np.array([True]))["high"].tolist() == [100.0]


def test_bucks_to_score_are_named_and_alive() -> None:
    last = date(2023, 12, 31)
    p = simulate_property(np.random.default_rng(6), 3, n_bucks=40, p_death=0.3, as_of=last)
    asked = bucks_to_score(p)
    assert (asked["season"] == 2023).all()
    assert set(asked["buck"]) <= set(p.sightings["buck"])
    assert not (asked["alive_until"] < pd.Timestamp(last)).any()
    dead = set(bucks_to_score(p, alive=False)["buck"]) - set(asked["buck"])
    assert dead, "some died that season"
