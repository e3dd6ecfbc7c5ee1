"""When use changed, on records with a plain answer."""

from __future__ import annotations

import numpy as np
import pytest

from deerlog.analysis.shift.shift import change_day


def draw(rates: list[list[float]], lengths: list[int], seed: int = 0) -> np.ndarray:
    """Days with a visit at each site, by stretches of days."""
    rng = np.random.default_rng(seed)
    daily = np.repeat(np.array(rates), lengths, axis=0)
    return (rng.random(daily.shape) < daily).astype(float)


def found(seen: np.ndarray, exposure: np.ndarray | None = None):
    full = np.ones_like(seen) if exposure is None else exposure
    return change_day(seen, full, prior=1 / 3, clumping=2.0)


def test_a_plain_change_is_dated() -> None:
    got = found(draw([[0.6, 0.05, 0.3], [0.05, 0.6, 0.1]], [60, 50]))
    assert got.probability > 0.99
    assert abs(got.row - 60) <= 2
    assert got.by_row.sum() == pytest.approx(1) and got.by_row[0] == 0


def test_no_change_is_none() -> None:
    chances = [found(draw([[0.4, 0.1, 0.2]], [110], seed)).probability for seed in range(12)]
    assert max(chances) < 0.5 and np.mean(chances) < 0.2


def test_more_or_less_of_everything_is_no_change_of_ground() -> None:
    chances = [
        found(draw([[0.2, 0.05, 0.1], [0.6, 0.15, 0.3]], [55, 55], seed)).probability
        for seed in range(12)
    ]
    assert np.mean(chances) < 0.35
    assert sum(p > 0.5 for p in chances) <= 2


def test_a_camera_that_died_is_no_change_of_ground() -> None:
    seen = draw([[0.5, 0.1, 0.3]], [110])
    ran = np.ones_like(seen)
    seen[60:, 0] = ran[60:, 0] = 0.0
    assert found(seen, ran).probability < 0.5
    assert found(seen).probability > 0.9, "had the camera run, its silence would say much"


def test_nothing_known_leaves_the_prior() -> None:
    assert found(np.zeros((40, 3))).probability == pytest.approx(1 / 3, abs=0.1)
    assert found(np.zeros((40, 3)), np.zeros((40, 3))).probability == pytest.approx(1 / 3)
    assert found(np.zeros((1, 2))).probability == pytest.approx(1 / 3)
