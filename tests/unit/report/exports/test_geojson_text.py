"""GeoJSON as RFC 7946 wants it."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pandas as pd
import pytest

from deerlog.property.coordinates import Ground
from deerlog.report.exports.camtrap import Rounding
from deerlog.report.exports.geojson_text import geojson_text
from deerlog.study import PropertyStudy

SHIFT = pd.DataFrame(
    {
        "buck": ["Old Plow"] * 2, "season": [2024] * 2,
        "from_phase": ["summer", "pre-rut"], "to_phase": ["early season", "rut"],
        "distance_m": [1118.03, 20.0], "low_m": [800.2, 0.0], "high_m": [1400.9, 90.0],
        "change_day": [pd.Timestamp("2024-09-04"), pd.NaT], "change_probability": [0.98, 0.1],
        "from_x_m": [0.0, 0.0], "from_y_m": [0.0, 0.0], "to_x_m": [500.0, 20.0],
        "to_y_m": [1000.0, 0.0],
    }
)  # fmt: skip


def features(study: PropertyStudy, rounding: Rounding, kind: str) -> list[dict[str, Any]]:
    shifted = replace(study)
    shifted.__dict__["shift"] = SHIFT
    collection = json.loads(geojson_text(shifted, rounding))
    assert collection["type"] == "FeatureCollection" and "crs" not in collection
    return [f for f in collection["features"] if f["properties"]["kind"] == kind]


def test_longitude_comes_first(study: PropertyStudy) -> None:
    sites = features(study, Rounding(), "site")
    assert [s["properties"]["site"] for s in sites] == ["Gate", "Seep", "Oak"]
    assert sites[0]["geometry"] == {"type": "Point", "coordinates": [-91.001678, 44.001234]}
    assert sites[1]["properties"] == {
        "kind": "site", "site": "Seep", "setting": "water", "bait": True,
    }  # fmt: skip


def test_a_stand_without_a_place_has_no_geometry(study: PropertyStudy) -> None:
    ladder, blind = features(study, Rounding(), "stand")
    assert ladder["geometry"]["coordinates"] == [-91.0002, 44.0005]
    assert ladder["properties"]["sites"] == ["Gate", "Seep"]
    assert blind["geometry"] is None and blind["properties"]["use"] == "evening"


def test_a_shift_is_a_line_between_the_centres(study: PropertyStudy) -> None:
    far, near = features(study, Rounding(), "shift")
    assert far["geometry"]["type"] == "LineString"
    start, end = far["geometry"]["coordinates"]
    east, north = Ground(44.0, -91.0).metres([start[1], end[1]], [start[0], end[0]])
    assert east.tolist() == pytest.approx([0.0, 500.0], abs=0.05)
    assert north.tolist() == pytest.approx([0.0, 1000.0], abs=0.05)
    assert far["properties"] == {
        "kind": "shift", "buck": "Old Plow", "season": 2024, "from_phase": "summer",
        "to_phase": "early season", "distance_m": 1118, "low_m": 800, "high_m": 1401,
        "change_day": "2024-09-04", "change_probability": 0.98,
    }  # fmt: skip
    assert near["properties"]["change_day"] is None


def test_rounding_holds_for_every_point(study: PropertyStudy) -> None:
    for kind in ("site", "stand", "shift"):
        for feature in features(study, Rounding(1), kind):
            if feature["geometry"] is None:
                continue
            points = feature["geometry"]["coordinates"]
            flat = [n for p in points for n in p] if kind == "shift" else points
            assert set(flat) == {-91.0, 44.0}
