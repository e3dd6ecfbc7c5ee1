"""Distances, and positions that cannot be right."""

from __future__ import annotations

import numpy as np
import pytest

from deerlog.property.coordinates import EARTH_RADIUS_M, Ground, distance_m, far_away


def test_distance_along_meridian_equator_and_half_way_round() -> None:
    degree = np.pi * EARTH_RADIUS_M / 180
    assert float(distance_m(0, 0, 1, 0)) == pytest.approx(degree, rel=1e-12)
    assert float(distance_m(0, 179.5, 0, -179.5)) == pytest.approx(degree, rel=1e-9)
    assert float(distance_m(90, 0, -90, 77)) == pytest.approx(180 * degree, rel=1e-12)


def test_distance_agrees_with_the_flat_map_of_the_ellipsoid() -> None:
    east, north = Ground(40.1, -91.2).metres(np.array([40.15]), np.array([-91.1]))
    flat = float(np.hypot(east, north)[0])
    # A sphere stands in for the ellipsoid: 0.6 % at most.
    assert float(distance_m(40.1, -91.2, 40.15, -91.1)) == pytest.approx(flat, rel=0.006)


def test_distance_takes_arrays() -> None:
    assert distance_m(np.array([0.0, 1.0]), np.array([0.0, 0.0]), 0.0, 0.0).shape == (2,)


@pytest.mark.parametrize(
    ("latitude", "longitude", "words"),
    [
        (40.101, 91.201, "sign of the longitude"),
        (-40.101, -91.201, "sign of the latitude"),
        (41.0, -91.2, "Check both figures"),
    ],
)
def test_far_positions_and_what_may_be_meant(latitude: float, longitude: float, words: str) -> None:
    far = far_away(latitude, longitude, 40.1, -91.2)
    assert far is not None
    assert words in far[1]


def test_swapped_figures_are_recognised() -> None:
    far = far_away(-80.0, 33.0, 33.0, -80.0)
    assert far is not None and "swapped: 33, -80 would fit" in far[1]


def test_near_is_not_far() -> None:
    assert far_away(40.3, -91.2, 40.1, -91.2) is None
