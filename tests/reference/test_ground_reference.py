"""Distances on the ground against geodesics.

Source: the PyPI package geographiclib, C. F. F. Karney, Algorithms for geodesics, Journal of
Geodesy 87:43 (2013), exact to nanometres on the WGS 84 ellipsoid.
"""

from __future__ import annotations

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from deerlog.property import coordinates as ground
from deerlog.property.coordinates import Ground


def worst_error(reach_m: float) -> float:
    """Largest relative error of distances over random pairs near random origins."""
    rng = np.random.default_rng(11)
    worst = 0.0
    for _ in range(400):
        latitude, longitude = rng.uniform(-60, 60), rng.uniform(-180, 180)
        ends = [
            Geodesic.WGS84.Direct(latitude, longitude, rng.uniform(0, 360), rng.uniform(0, reach_m))
            for _ in range(2)
        ]
        a, b = ends[0], ends[1]
        true = Geodesic.WGS84.Inverse(a["lat2"], a["lon2"], b["lat2"], b["lon2"])["s12"]
        if true < 50:
            continue
        here = Ground(latitude, longitude)
        east, north = here.metres([a["lat2"], b["lat2"]], [a["lon2"], b["lon2"]])
        flat = float(np.hypot(east[1] - east[0], north[1] - north[0]))
        worst = max(worst, abs(flat / true - 1))
    return worst


@pytest.mark.parametrize(("reach_m", "parts"), [(20_000.0, 6e-6), (100_000.0, 150e-6)])
def test_distances_keep_their_stated_error(reach_m: float, parts: float) -> None:
    assert worst_error(reach_m) < parts


def test_a_round_earth_would_fail(monkeypatch: pytest.MonkeyPatch) -> None:
    """The check can fail: on a sphere, the usual shortcut, distances are off by parts in 1,000."""
    monkeypatch.setattr(ground, "_ECCENTRICITY_2", 0.0)
    assert worst_error(20_000.0) > 1e-3
