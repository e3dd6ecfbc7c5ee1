"""Sites, stands and shifts as GeoJSON (RFC 7946): longitude first, WGS 84."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any

import pandas as pd

from deerlog.property.coordinates import Ground
from deerlog.report.exports.camtrap_tables import Rounding
from deerlog.study import Study

Feature = dict[str, Any]


def geojson_text(study: Study, rounding: Rounding) -> str:
    """A FeatureCollection; the property ``kind`` tells ``site``, ``stand`` and ``shift`` apart.

    A site is the point of its last placement; a stand without coordinates has no geometry. A shift
    is a line from the centre of a buck's use in one phase to that in the next, with its distance
    in metres and the interval of that.
    """
    features = [*_sites(study, rounding), *_stands(study, rounding), *_shifts(study, rounding)]
    collection = {"type": "FeatureCollection", "features": features}
    return json.dumps(collection, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _feature(geometry: dict[str, Any] | None, properties: dict[str, Any]) -> Feature:
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def _position(latitude: float, longitude: float, rounding: Rounding) -> list[float]:
    return [rounding.degrees(longitude), rounding.degrees(latitude)]


def _sites(study: Study, rounding: Rounding) -> Iterator[Feature]:
    for site in study.sites.to_dict("records"):
        position = _position(site["latitude"], site["longitude"], rounding)
        yield _feature(
            {"type": "Point", "coordinates": position},
            {
                "kind": "site",
                "site": str(site["site"]),
                "setting": str(site["setting"]),
                "bait": bool(site["bait"]),
            },
        )


def _stands(study: Study, rounding: Rounding) -> Iterator[Feature]:
    for stand in study.place.stands.to_dict("records"):
        known = math.isfinite(stand["latitude"]) and math.isfinite(stand["longitude"])
        position = _position(stand["latitude"], stand["longitude"], rounding) if known else None
        yield _feature(
            {"type": "Point", "coordinates": position} if known else None,
            {
                "kind": "stand",
                "stand": str(stand["stand"]),
                "sites": list(stand["sites"]),
                "use": str(stand["use"]),
                "winds": list(stand["winds"]),
                "rest_days": int(stand["rest_days"]),
            },
        )


def _shifts(study: Study, rounding: Rounding) -> Iterator[Feature]:
    settings = study.place.settings
    ground = Ground(settings.latitude, settings.longitude)
    for row in study.shift.to_dict("records"):
        latitude, longitude = ground.degrees(
            [row["from_x_m"], row["to_x_m"]], [row["from_y_m"], row["to_y_m"]]
        )
        line = [_position(*point, rounding) for point in zip(latitude, longitude, strict=True)]
        told = row["change_day"] is not pd.NaT
        yield _feature(
            {"type": "LineString", "coordinates": line},
            {
                "kind": "shift",
                "buck": str(row["buck"]),
                "season": int(row["season"]),
                "from_phase": str(row["from_phase"]),
                "to_phase": str(row["to_phase"]),
                "distance_m": round(float(row["distance_m"])),
                "low_m": round(float(row["low_m"])),
                "high_m": round(float(row["high_m"])),
                "change_day": f"{row['change_day']:%Y-%m-%d}" if told else None,
                "change_probability": round(float(row["change_probability"]), 4),
            },
        )
