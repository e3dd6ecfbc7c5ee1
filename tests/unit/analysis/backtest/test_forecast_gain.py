"""Whether the forecast beats a rule, on half-days whose truth is known."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.backtest.scores import forecast_gain

DAYS = pd.date_range("2025-09-01", periods=7 * 30, freq="D", unit="us")


def half_days(ours: float, theirs: float, true: float, seed: int = 1, n: int = 8) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    days = DAYS.repeat(n)
    return pd.DataFrame(
        {
            "day": days,
            "seen": rng.random(len(days)) < true,
            "forecast": ours,
            "all_time": theirs,
        }
    )


def test_by_hand() -> None:
    table = pd.DataFrame(
        {
            "day": DAYS[[0, 7]],
            "seen": [True, False],
            "forecast": [0.5, 0.1],
            "all_time": [0.25, 0.2],
        }
    )
    found = forecast_gain(table, "all_time")
    assert found is not None
    theirs = -np.log(0.25) - np.log(0.8)
    ours = -np.log(0.5) - np.log(0.9)
    assert found.gain == pytest.approx((theirs - ours) / theirs)
    assert found.low is None and found.high is None


def test_nothing_scored() -> None:
    assert forecast_gain(half_days(0.1, 0.1, 0.1).iloc[:0], "all_time") is None


def test_the_truth_beats_a_wrong_rule_and_not_the_other_way() -> None:
    better = forecast_gain(half_days(0.1, 0.3, 0.1), "all_time")
    worse = forecast_gain(half_days(0.3, 0.1, 0.1), "all_time")
    assert better is not None and better.low is not None and better.low > 0
    assert worse is not None and worse.high is not None and worse.high < 0
    assert better.low < better.gain < (better.high or 0)


def test_the_interval_holds_what_many_seasons_give() -> None:
    true = 0.1
    expected_theirs = -(true * np.log(0.2) + (1 - true) * np.log(0.8))
    expected_ours = -(true * np.log(true) + (1 - true) * np.log(1 - true))
    expected = 1 - expected_ours / expected_theirs
    held = 0
    for seed in range(300):
        found = forecast_gain(half_days(true, 0.2, true, seed), "all_time")
        assert found is not None and found.low is not None and found.high is not None
        held += found.low <= expected <= found.high
    assert 0.90 < held / 300 < 0.99


def test_days_alike_within_a_week_widen_the_interval() -> None:
    """The same half-days copied ten times over are no ten times as many."""
    once = half_days(0.1, 0.15, 0.1, n=2)
    copied = pd.concat([once] * 10, ignore_index=True)
    narrow, wide = (forecast_gain(t, "all_time") for t in (once, copied))
    assert narrow is not None and wide is not None
    assert (wide.low, wide.high) == (pytest.approx(narrow.low), pytest.approx(narrow.high))


def test_a_rule_that_calls_what_comes_impossible_has_no_figure() -> None:
    found = forecast_gain(half_days(0.1, 0.0, 0.1), "all_time")
    assert found is not None and found.low is None
