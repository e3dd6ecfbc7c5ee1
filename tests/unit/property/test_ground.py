"""Metres on the ground: shape, direction, the way back, the 180th meridian."""

from __future__ import annotations

import numpy as np
import pytest

from deerlog.property.coordinates import Ground

HERE = Ground(40.0, -90.0)


def test_the_origin_is_zero_and_north_and_east_are_positive() -> None:
    east, north = HERE.metres([40.0, 40.01, 40.0], [-90.0, -90.0, -89.99])
    assert east[0] == 0 and north[0] == 0
    assert east[1] == pytest.approx(0, abs=1e-9) and north[1] > 1000
    assert east[2] > 800 and 0 < north[2] < 0.1


def test_single_numbers_and_tables_keep_their_shape() -> None:
    east, north = HERE.metres(40.1, -90.1)
    assert east.shape == north.shape == ()
    east, _ = HERE.metres(np.full((2, 3), 40.0), np.full((2, 3), -90.0))
    assert east.shape == (2, 3)


def test_degrees_are_the_way_back() -> None:
    latitude = np.array([39.85, 40.0, 40.17])
    longitude = np.array([-90.2, -89.9, -90.0])
    back = HERE.degrees(*HERE.metres(latitude, longitude))
    assert back[0] == pytest.approx(latitude, abs=1e-7)
    assert back[1] == pytest.approx(longitude, abs=1e-7)


def test_ground_across_the_180th_meridian_is_one_piece() -> None:
    east, _ = Ground(52.0, 179.99).metres(52.0, -179.99)
    assert east == pytest.approx(1373, abs=2)
    _, longitude = Ground(52.0, 179.99).degrees(1373.0, 0.0)
    assert longitude == pytest.approx(-179.99, abs=1e-4)


def test_a_missing_coordinate_stays_missing() -> None:
    east, north = HERE.metres([np.nan, 40.0], [-90.0, -90.0])
    assert np.isnan(north[0]) and np.isnan(east[0]) and north[1] == 0
