"""Likelihood of looks: the sun's circle, and counting in classes."""

from __future__ import annotations

import numpy as np
import pytest

from deerlog.ingest.clocks.look_model import (
    SHIFTS_MINUTES,
    log_likelihood,
    log_likelihood_stuck,
    looks_in_the_sun,
    possible_cameras,
)
from deerlog.timekeeping.sun import sun_height

RNG = np.random.default_rng(4)
TIMES = np.sort(
    np.datetime64("2023-06-01", "us")
    + (RNG.uniform(0, 365, 60) * 86_400e6).astype("timedelta64[us]")
)
LOOKS = looks_in_the_sun(TIMES, RNG.uniform(size=60) < 0.5, 47.0, -92.0)


@pytest.mark.parametrize("minutes", [-710, -60, 0, 30, 480, 720])
def test_the_suns_height_at_a_shifted_time(minutes: int) -> None:
    """Against the sun itself; a quarter degree for its own motion over half a day."""
    exact = sun_height(47.0, -92.0, TIMES + np.timedelta64(minutes, "m"))
    assert LOOKS.height_deg(minutes) == pytest.approx(exact, abs=0.25)


def test_counting_in_classes_changes_little() -> None:
    """Against the same sum look by look."""
    cameras = possible_cameras()
    block = np.repeat([0, 1, 2], 20)
    counted = log_likelihood(LOOKS, block, 3, cameras)
    assert counted.shape == (3, len(SHIFTS_MINUTES), len(cameras.log_prior))
    for k in (0, 71, 100, 143):
        p = cameras.p_coloured(LOOKS.height_deg(SHIFTS_MINUTES[k]))
        each = np.log(np.where(LOOKS.coloured[:, None], p, 1 - p))
        exact = np.array([each[block == b].sum(axis=0) for b in range(3)])
        assert counted[:, k] == pytest.approx(exact, abs=0.12 * 20)
        assert np.abs(counted[:, k] - exact).mean() < 0.25


def test_the_possible_cameras_are_a_prior() -> None:
    cameras = possible_cameras()
    assert np.exp(cameras.log_prior).sum() == pytest.approx(1)
    p = cameras.p_coloured([-30.0, 40.0])
    assert (p[0] < 0.3).all() and (p[1] > 0.7).all()
    assert ((p > 0) & (p < 1)).all()


def test_a_stuck_filter() -> None:
    block = np.repeat([0, 1], 30)
    stuck = log_likelihood_stuck(LOOKS, block, 2)
    n_grey = (~LOOKS.coloured[:30]).sum()
    assert stuck[0, 0] == pytest.approx(n_grey * np.log(0.98) + (30 - n_grey) * np.log(0.02))
