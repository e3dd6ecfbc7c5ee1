"""Chances that were too high or too low, beyond what luck would do."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.backtest.scores import chances_off


def half_days(said: float, came: float, n: int = 1300, weeks: int = 13) -> pd.DataFrame:
    """``n`` half-days spread over the weeks, of each the same share come true."""
    place = np.arange(n)
    per_week = n // weeks
    return pd.DataFrame(
        {
            "day": pd.Timestamp("2025-08-04") + pd.to_timedelta(7 * (place // per_week), unit="D"),
            "forecast": said,
            "seen": place % per_week < round(came * per_week),
        }
    )


def test_too_high_is_told_with_its_counts_and_interval() -> None:
    (off,) = chances_off(half_days(0.12, 0.08))
    assert (off.said_low, off.said_high) == (0.05, 0.2)
    assert off.said == pytest.approx(0.12)
    assert (off.came_true, off.half_days, off.share) == (104, 1300, pytest.approx(0.08))
    # Jeffreys of 104 of 1,300: 6.6 to 9.6 %; the weeks are all alike and widen nothing.
    assert (off.low, off.high) == (pytest.approx(0.0662, abs=3e-4), pytest.approx(0.0957, abs=3e-4))


def test_too_low_is_told_of_small_chances_too() -> None:
    (off,) = chances_off(half_days(0.03, 0.06))
    assert off.said_low == 0.0 and off.share > off.said
    # That nobody need walk in for less than nothing is no news.
    assert chances_off(half_days(0.03, 0.0)) == ()


@pytest.mark.parametrize(
    "table",
    [
        half_days(0.12, 0.12),
        half_days(0.12, 0.1, n=130),
        half_days(0.12, 0.0, n=13),
        half_days(0.12, 0.08, n=1295, weeks=7),
    ],
    ids=["true", "few", "very few", "too few weeks"],
)
def test_what_may_be_chance_or_too_few_weeks_is_not_told(table: pd.DataFrame) -> None:
    assert chances_off(table) == ()


def test_weeks_that_differ_widen_the_interval() -> None:
    """All that came true came in one week: one buck's fortnight, not a hundred half-days."""
    table = half_days(0.12, 0.08)
    lumped = table.assign(seen=np.arange(len(table)) < 104)
    assert chances_off(table) and chances_off(lumped) == ()


def test_nothing_replayed() -> None:
    assert chances_off(half_days(0.1, 0.1).iloc[:0]) == ()
