"""Shift distances against geodesics of a general library (GeographicLib, WGS 84)."""

from __future__ import annotations

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from deerlog.analysis.shift.shift import PhaseUse, shift_distance
from deerlog.property.coordinates import Ground

HOME = (40.31, -92.36)
GROUNDS = [
    ((40.3091, -92.3694), (40.3146, -92.3579)),
    ((40.3082, -92.3649), (40.3157, -92.3664)),
    ((40.2950, -92.3400), (40.3250, -92.3800)),
]


def seen_at(place: int) -> PhaseUse:
    """Twenty thousand days at one of two sites, so that the prior of a day weighs nothing."""
    n = 20_000
    seen = np.zeros((n, 2))
    seen[:, place] = 1
    return PhaseUse(days=np.arange(n) // 200, seen=seen, exposure=np.ones((n, 2)))


@pytest.mark.parametrize(("summer", "fall"), GROUNDS)
def test_distance_between_two_sites_is_the_geodesic(
    summer: tuple[float, float], fall: tuple[float, float]
) -> None:
    x, y = Ground(*HOME).metres([summer[0], fall[0]], [summer[1], fall[1]])
    got, _, _ = shift_distance(seen_at(0), seen_at(1), np.column_stack([x, y]))
    wanted = Geodesic.WGS84.Inverse(*summer, *fall)["s12"]
    # One day's average at each site pulls each centre in by 1 part in 40,000.
    assert got == pytest.approx(wanted, rel=1e-4)
    assert got != pytest.approx(wanted * 1.001, rel=1e-4)
