"""Scores of chances, by hand and against published formulas."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.backtest.scores import brier, log_loss, reliability, top_sits


def test_brier_by_hand() -> None:
    # Brier 1950: mean squared difference; four cases recomputed by hand.
    assert brier([0.1, 0.9, 0.8, 0.3], [0, 1, 1, 0]) == pytest.approx(0.0375)
    assert brier([0.1, 0.9, 0.8, 0.4], [0, 1, 1, 0]) != pytest.approx(0.0375)


def test_reliability_resolution_and_uncertainty() -> None:
    """Murphy 1973, Journal of Applied Meteorology 12:595: BS = REL - RES + UNC."""
    chance = np.repeat([0.1, 0.4, 0.8], [10, 10, 5])
    seen = np.concatenate([np.arange(10) < 1, np.arange(10) < 5, np.arange(5) < 4])
    table = reliability(chance, seen)
    n, p, share = table["half_days"], table["mean_chance"], table["share"]
    base = seen.mean()
    rel = float((n * (p - share) ** 2).sum() / n.sum())
    res = float((n * (share - base) ** 2).sum() / n.sum())
    assert rel == pytest.approx(0.004)
    assert res == pytest.approx(0.072)
    assert base * (1 - base) == pytest.approx(0.24)
    assert brier(chance, seen) == pytest.approx(rel - res + base * (1 - base)) == 0.172


def test_log_loss() -> None:
    assert log_loss([0.5, 0.25], [True, False]) == pytest.approx((np.log(2) - np.log(0.75)) / 2)
    assert log_loss([0.0], [True]) == np.inf
    assert log_loss([0.0], [False]) == 0
    assert np.isnan(log_loss([], [])) and np.isnan(brier([], []))


def test_reliability_bins() -> None:
    table = reliability([0.2, 0.25, 0.3, 1.0], [True, False, False, True])
    assert table["from"].tolist() == [0.2, 0.3, 0.8]
    assert table["half_days"].tolist() == [2, 1, 1]
    assert table["came_true"].tolist() == [1, 0, 1]
    first = table.iloc[0]
    assert first["mean_chance"] == pytest.approx(0.225)
    assert first["low"] < 0.5 < first["high"]
    assert reliability([], []).empty


def sits() -> pd.DataFrame:
    """Two bucks, three sites, one half, two days."""
    rows = [
        # day, site, buck, chance, seen
        (1, "a", "X", 0.30, True),
        (1, "a", "Y", 0.30, False),
        (1, "b", "X", 0.45, False),
        (1, "b", "Y", 0.01, False),
        (1, "c", "X", 0.05, True),
        (1, "c", "Y", 0.05, True),
        (2, "a", "X", 0.10, False),
        (2, "b", "X", 0.20, True),
    ]
    table = pd.DataFrame(rows, columns=["day", "site", "buck", "rule", "seen"])
    return table.assign(half="AM", day=pd.to_datetime(table["day"], unit="D"))


def test_top_sits_are_of_any_buck() -> None:
    # Day 1: a (1 - 0.7 * 0.7 = 0.51) beats b (0.46); a was seen.
    assert top_sits(sits(), "rule", 1) == (2, 2)
    # Day 2 has but two sits: with two to choose every rule chooses both, so it tells nothing.
    assert top_sits(sits(), "rule", 2) == (1, 2)
    assert top_sits(sits(), "rule", 3) == (0, 0)
