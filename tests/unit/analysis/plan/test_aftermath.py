"""Shooting-light visits in the days after a sit, on counts made by hand and on a known effect."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.plan.past_sits import Aftermath, aftermath

DAYS = pd.date_range("2025-10-01", periods=120, freq="D", unit="us")
STANDS = pd.DataFrame({"stand": ["Oak"], "sites": [("Ridge",)], "rest_days": [3]})


def sits(*numbers: int) -> pd.DataFrame:
    return pd.DataFrame({"stand": "Oak", "day": DAYS[list(numbers)]})


def run(
    hunted: pd.DataFrame, buck_days: np.ndarray, running: np.ndarray | None = None
) -> Aftermath:
    return aftermath(
        hunted,
        STANDS,
        days=DAYS,
        sites=["Ridge"],
        running=np.ones((len(DAYS), 1)) if running is None else running,
        buck_days=buck_days.reshape(-1, 1).astype(float),
    )


def test_days_are_counted_once_and_the_day_of_the_sit_not_at_all() -> None:
    came = np.zeros(len(DAYS))
    came[[40, 41, 43, 44, 55]] = 1
    # Day 55 lies beyond.
    found = run(sits(40), came)
    # After: days 41 to 43. Other: 14 days either side less those three and the sit itself.
    assert (found.after_visits, found.after_camera_days) == (2, 3.0)
    assert (found.other_visits, found.other_camera_days) == (1, 25.0)
    assert found.sits == 1
    assert found.ratio == pytest.approx((2 / 3) / (1 / 25))


def test_a_second_sit_takes_over_the_days_after_the_first() -> None:
    found = run(sits(40, 42), np.ones(len(DAYS)))
    # Day 41 after the first, days 43 to 45 after the second; 42 is a day of a sit.
    assert found.after_camera_days == 4.0
    assert found.after_visits == 4
    assert found.ratio == pytest.approx(1.0)


def test_no_camera_is_no_data() -> None:
    running = np.ones((len(DAYS), 1))
    running[41:44] = 0
    found = run(sits(40), np.zeros(len(DAYS)), running)
    assert found.sits == 0 and found.ratio is None


def test_too_little_seen_is_not_told_and_nothing_after_has_an_upper_bound() -> None:
    assert run(sits(40), np.zeros(len(DAYS))).ratio is None
    came = np.ones(len(DAYS))
    came[41:44] = 0
    found = run(sits(40), came)
    assert found.ratio == 0.0 and found.high is not None and 0 < found.high < 1.5


def test_a_known_effect_is_found_and_its_interval_holds_it() -> None:
    """Sixty per cent of the visits are left for three days: simulated, four hundred times."""
    rng = np.random.default_rng(20251108)
    hunted = np.arange(10, 110, 9)
    kept = np.ones(len(DAYS))
    for k in (1, 2, 3):
        kept[hunted + k] = 0.6
    ratios, held = [], 0
    for _ in range(400):
        found = run(sits(*hunted), rng.poisson(1.5 * kept))
        assert found.ratio is not None and found.low is not None and found.high is not None
        ratios.append(found.ratio)
        held += found.low <= 0.6 <= found.high
    assert np.mean(ratios) == pytest.approx(0.6, abs=0.03)
    assert 0.92 < held / 400 < 0.98


def test_time_of_year_does_not_stand_in_for_the_sit() -> None:
    """Visits grow tenfold through the fall, and it is hunted most late; a sit has no effect."""
    rng = np.random.default_rng(7)
    rate = 0.3 * 10 ** (np.arange(len(DAYS)) / len(DAYS))
    hunted = (20, 70, 76, 82, 88, 94, 100)
    ratios = [run(sits(*hunted), rng.poisson(rate)).ratio for _ in range(150)]
    assert np.mean([r for r in ratios if r is not None]) == pytest.approx(1.0, abs=0.1)
