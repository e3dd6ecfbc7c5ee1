"""Effort as grids, and each buck's own share of it."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from invented.buck_record import effort, watched_share

from deerlog.analysis.effort_grid import camera_worth, effort_grid, site_weights

FIRST, LAST = pd.Timestamp("2024-06-01"), pd.Timestamp("2024-06-10")


def test_days_by_sites() -> None:
    table = pd.concat(
        [
            effort("2024-05-25", "2024-06-02", sites=["Birch"]),
            effort("2024-06-02", "2024-06-20", sites=["Alder"], camera_day=0.5),
        ]
    )
    grid = effort_grid(table, FIRST, LAST)
    assert grid.sites == ("Alder", "Birch")
    assert len(grid.days) == 10
    assert grid.running[:, 1].tolist() == [1, 1, *[0] * 8]
    assert grid.running[:, 0].tolist() == [0, *[0.5] * 9]
    assert grid.camera_days.tolist() == [1, 1.5, *[0.5] * 8]


def test_two_cameras_at_one_site_watch_it_once_but_count_twice() -> None:
    one = effort("2024-06-01", "2024-06-01", sites=["Alder"])
    two = one.assign(camera="spare", camera_day=0.75)
    grid = effort_grid(pd.concat([one, two]), FIRST, LAST)
    assert grid.running[0, 0] == 1.0
    assert grid.camera_days[0] == 1.75


def test_day_numbers_and_rows() -> None:
    grid = effort_grid(effort("2024-06-01", "2024-06-10"), FIRST, LAST)
    days = pd.Series(pd.DatetimeIndex(["2024-06-01", "2024-06-10", "2024-05-31", "2024-06-11"]))
    assert grid.day_number(days).tolist() == [0, 9, -1, 10]
    assert grid.rows(date(2024, 6, 3), date(2024, 6, 5)) == slice(2, 4)


def test_no_effort_at_all() -> None:
    grid = effort_grid(effort("2024-06-02", "2024-06-01"), FIRST, LAST)
    assert grid.sites == ()
    assert grid.running.shape == (10, 0)
    weights = site_weights(np.zeros((2, 0)), grid.running.sum(axis=0), 40.0)
    assert (watched_share(grid.running, weights) == np.zeros((10, 2))).all()


def test_weights_follow_where_he_is_seen() -> None:
    days = np.array([200.0, 200.0, 0.0])
    often, never, unknown = site_weights(np.array([[60.0, 0.0, 0.0]]), days, 40.0)[0]
    average = 60 / 400
    assert often == pytest.approx((60 + 40 * average) / 240)
    assert never == pytest.approx(40 * average / 240)
    assert unknown == pytest.approx(average)
    assert often > unknown > never > 0


def test_a_buck_never_seen_at_a_site_counts_all_alike() -> None:
    weights = site_weights(np.zeros((1, 3)), np.array([100.0, 100.0, 100.0]), 40.0)
    assert np.ptp(weights) == 0
    assert (weights > 0).all()


def test_usual_days_are_one_and_a_lone_first_camera_does_not_set_the_scale() -> None:
    running = np.zeros((200, 12))
    running[:100, 0] = 1  # one camera in a first spring
    running[100:, :] = 1
    share = watched_share(running, np.ones((1, 12)))[:, 0]
    assert share[100:] == pytest.approx(1.0)
    assert share[:100] == pytest.approx(1 / 12)


shapes = st.tuples(st.integers(1, 20), st.integers(1, 4))
parts = shapes.flatmap(lambda s: arrays.arrays(float, s, elements=st.sampled_from([0, 0.5, 1.0])))


@given(running=parts, scale=st.floats(0.1, 10))
def test_share_is_scale_free_and_zero_only_where_nothing_ran(
    running: np.ndarray, scale: float
) -> None:
    weights = np.arange(1.0, running.shape[1] + 1)[None, :]
    share = watched_share(running, weights)
    np.testing.assert_allclose(share, watched_share(running, scale * weights), rtol=1e-12)
    assert ((share[:, 0] > 0) == running.any(axis=1)).all()
    # Days on which nothing ran do not move the others.
    padded = np.vstack([running, np.zeros((7, running.shape[1]))])
    np.testing.assert_allclose(watched_share(padded, weights)[: len(running)], share, rtol=1e-12)


def test_where_nothing_ran_a_camera_is_worth_its_weight() -> None:
    weights = np.array([[2.0, 3.0], [1.0, 0.25]])
    assert camera_worth(np.zeros((5, 2)), weights).tolist() == weights.tolist()


def test_a_day_counts_as_usual_from_a_tenth_of_the_best_on() -> None:
    """One of ten cameras is a tenth; one of eleven is less, and does not set the scale."""
    for n, share in ((10, (1 + 0.1) / 2), (11, 1.0)):
        running = np.zeros((2, n))
        running[0, 0], running[1] = 1, 1
        got = watched_share(running, np.ones((1, n)))[:, 0]
        assert got[1] == pytest.approx(1 / share)
