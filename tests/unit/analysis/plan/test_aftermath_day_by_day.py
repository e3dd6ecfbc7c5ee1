"""Days after sits counted one by one, and the pooled ratio against its formula in sums."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from deerlog.analysis.plan.past_sits import Aftermath, aftermath
from scipy.stats import beta

DAYS = pd.date_range("2025-10-01", periods=90, freq="D", unit="us")
STANDS = pd.DataFrame(
    {"stand": ["Oak", "Elm", "Far"], "sites": [("a", "b"), ("c", "nowhere"), ("nowhere",)],
     "rest_days": [5, 1, 3]}
)  # fmt: skip
SATS = {"Oak": [20, 23, 60, 89], "Elm": [0, 30, 30, 33, 50], "Far": [40]}


def record(seed: int) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    running = rng.choice([0.0, 0.5, 1.0], (len(DAYS), 3), p=[0.2, 0.2, 0.6])
    return running, rng.poisson(1.2, (len(DAYS), 3)) * (running > 0)


def run(running: np.ndarray, came: np.ndarray) -> Aftermath:
    rows = [(stand, DAYS[d]) for stand, sats in SATS.items() for d in sats]
    sits = pd.DataFrame(rows, columns=["stand", "day"])
    early = pd.DataFrame({"stand": ["Oak"], "day": [DAYS[0] - pd.Timedelta(days=4)]})
    return aftermath(
        pd.concat([sits, early]).sample(frac=1.0, random_state=2), STANDS, days=DAYS,
        sites=["a", "b", "c"], running=running, buck_days=came.astype(float),
    )  # fmt: skip


def strata_by_hand(running: np.ndarray, came: np.ndarray) -> list[tuple[float, ...]]:
    """Visits and camera-days after each sit, and on the other days that are nearest to it."""
    found = []
    for stand, columns, length in (("Oak", [0, 1], 5), ("Elm", [2], 3)):
        sats = sorted(set(SATS[stand]))
        after_of = {}  # a day after several sits belongs to the last of them
        for sat in sats:
            for k in range(1, length + 1):
                after_of[sat + k] = sat
        for sat in sats:
            sums = [0.0] * 4
            for day in range(len(DAYS)):
                ran, seen = running[day, columns].sum(), came[day, columns].sum()
                if day in sats:
                    continue
                if day in after_of:
                    if after_of[day] == sat:
                        sums[0], sums[1] = sums[0] + seen, sums[1] + ran
                elif abs(day - sat) <= 14 and sat == min(sats, key=lambda s, d=day: abs(d - s)):
                    sums[2], sums[3] = sums[2] + seen, sums[3] + ran
            if sums[1] > 0 and sums[3] > 0:
                found.append(tuple(sums))
    return found


@pytest.mark.parametrize("seed", range(4))
def test_every_day_is_counted_once_and_the_ratio_is_mantel_and_haenszels(seed: int) -> None:
    running, came = record(seed)
    strata = strata_by_hand(running, came)
    got = run(running, came)
    assert got.sits == len(strata)
    sums = [sum(column) for column in zip(*strata, strict=True)]
    assert (got.after_visits, got.after_camera_days, got.other_visits, got.other_camera_days) == (
        pytest.approx(tuple(sums))
    )
    # Rothman, Greenland and Lash 2008, chapter 15: person-time, weights t * u / (t + u).
    after = sum(a * u / (t + u) for a, t, b, u in strata)
    other = sum(b * t / (t + u) for a, t, b, u in strata)
    variance = sum((a + b) * t * u / (t + u) ** 2 for a, t, b, u in strata) / (after * other)
    ratio = after / other
    assert got.ratio == pytest.approx(ratio)
    assert got.low == pytest.approx(ratio * math.exp(-1.96 * math.sqrt(variance)))
    assert got.high == pytest.approx(ratio * math.exp(1.96 * math.sqrt(variance)))


def test_with_none_after_the_upper_bound_is_that_of_the_share_that_came_after() -> None:
    running, came = np.ones((90, 3)), np.zeros((90, 3))
    came[[10, 12, 14, 44, 66, 68], 0] = 1
    got = run(running, came)
    assert (got.after_visits, got.other_visits, got.ratio, got.low) == (0, 5, 0.0, 0.0)
    share = beta(0.5, 5.5).ppf(0.975)  # none of five
    odds = share / (1 - share)
    assert got.high == pytest.approx(odds * got.other_camera_days / got.after_camera_days)


def test_a_stand_is_held_against_its_own_weeks_only() -> None:
    """One stratum ten times the other in both rates: the pooled ratio is that of each."""
    running, came = np.ones((90, 3)), np.zeros((90, 3))
    came[:, 2] = 10.0
    came[:, 0] = 1.0
    assert run(running, came).ratio == pytest.approx(1.0)
