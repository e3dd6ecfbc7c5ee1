"""Ranges on the ground: inside the property where they should be, and drifting as stated."""

from __future__ import annotations

import numpy as np
import pytest
from simulation.life import FALL_RANGE, SUMMER_RANGE, Life
from simulation.ranges import MIN_SHARE_INSIDE, draw_ranges, share_inside


def test_share_inside_by_normal_tables() -> None:
    # 95 % of a normal lies within 1.959964 SD, so 0.95 squared within that square.
    assert share_inside(np.zeros(2), 1.0, 2 * 1.959964) == pytest.approx(0.9025, abs=1e-6)
    # Centred on a corner of a wide square: a quarter.
    assert share_inside(np.array([500.0, 500.0]), 50.0, 1000.0) == pytest.approx(0.25, abs=1e-6)
    assert share_inside(np.array([3000.0, 0.0]), 300.0, 1500.0) < 1e-12


def _ranges(n_days: int = 400):
    stage = np.full((40, n_days), SUMMER_RANGE, dtype=np.int8)
    stage[:, n_days // 2 :] = FALL_RANGE
    life = Life(
        pattern=np.zeros((40, 1), dtype=np.int64),
        new_ground=np.ones((40, 1), dtype=bool),
        stage=stage,
    )
    return draw_ranges(
        np.random.default_rng(2),
        life,
        season_lengths=[n_days],
        side_m=1500.0,
        in_rut=np.zeros(n_days, dtype=bool),
    )


def test_ranges_overlap_the_property() -> None:
    ranges = _ranges()
    total = np.hypot(ranges.spread_m, ranges.wander_m[:, None])
    assert (share_inside(ranges.centre_m, total, 1500.0) >= MIN_SHARE_INSIDE - 1e-9).all()
    # 100 to 350 ha holds nearly all: the area of the 95 % circle, 2.4477 SD in radius.
    area_ha = np.pi * (2.4477 * total[:, 0]) ** 2 / 1e4
    assert area_ha.min() > 70 and area_ha.max() < 400


def test_daily_centres_drift_about_the_range_centre_with_the_stated_sd() -> None:
    ranges = _ranges(4000)
    drift = ranges.day_centre_m - ranges.centre_m
    ratio = drift.std(axis=1) / ranges.wander_m[:, None]
    assert ratio.mean() == pytest.approx(1.0, abs=0.03)
    today, tomorrow = drift[:, :-1].ravel(), drift[:, 1:].ravel()
    assert 0.4 < np.corrcoef(today, tomorrow)[0, 1] < 0.8, "days are alike, not equal"


def test_half_of_the_year_round_bucks_change_ground_in_fall() -> None:
    centre = _ranges().centre_m
    moved = np.linalg.norm(centre[:, -1] - centre[:, 0], axis=-1)
    assert (moved < 1500).all()
    assert (moved > 250).mean() > 0.5
