"""Sites, stands and shifts as GeoJSON (RFC 7946): longitude first, WGS 84."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any

import pandas as pd

from deerlog.property.coordinates import Ground
from deerlog.report.exports.camtrap import Rounding
from deerlog.study import PropertyStudy

Feature = dict[str, Any]


def geojson_text(study: PropertyStudy, rounding: Rounding) -> str:
    """A FeatureCollection; the property ``kind`` tells ``site``, ``stand`` and ``shift`` apart.

    A site is the point of its last placement; a stand without coordinates has no geometry. A shift
    is a line from the centre of a buck's use in one phase to that in the next, with its distance
    in metres and the interval of that.
    """
    features = [*_sites(study, rounding), *_stands(study, rounding), *_shifts(study, rounding)]
    collection = {"type": "FeatureCollection", "features": features}
    return json.dumps(collection, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _feature(geometry: dict[str, Any] | None, kind: str, **properties: object) -> Feature:
    return {"type": "Feature", "geometry": geometry, "properties": {"kind": kind, **properties}}


def _point(row: dict[Any, Any], rounding: Rounding) -> dict[str, Any] | None:
    if not (math.isfinite(row["latitude"]) and math.isfinite(row["longitude"])):
        return None
    position = [rounding.degrees(row["longitude"]), rounding.degrees(row["latitude"])]
    return {"type": "Point", "coordinates": position}


def _sites(study: PropertyStudy, rounding: Rounding) -> Iterator[Feature]:
    for row in study.sites.to_dict("records"):
        yield _feature(
            _point(row, rounding), "site",
            site=row["site"], setting=row["setting"], bait=row["bait"],
        )  # fmt: skip


def _stands(study: PropertyStudy, rounding: Rounding) -> Iterator[Feature]:
    for row in study.place.stands.to_dict("records"):
        yield _feature(
            _point(row, rounding), "stand",
            stand=row["stand"], sites=row["sites"], use=row["use"], winds=row["winds"],
            rest_days=row["rest_days"],
        )  # fmt: skip


def _shifts(study: PropertyStudy, rounding: Rounding) -> Iterator[Feature]:
    settings = study.place.settings
    ground = Ground(settings.latitude, settings.longitude)
    for row in study.shift.to_dict("records"):
        latitudes, longitudes = ground.degrees(
            [row["from_x_m"], row["to_x_m"]], [row["from_y_m"], row["to_y_m"]]
        )
        line = [
            [rounding.degrees(longitude), rounding.degrees(latitude)]
            for latitude, longitude in zip(latitudes, longitudes, strict=True)
        ]
        changed = row["change_day"] is not pd.NaT
        yield _feature(
            {"type": "LineString", "coordinates": line}, "shift",
            **{name: row[name] for name in ("buck", "season", "from_phase", "to_phase")},
            **{name: round(row[name]) for name in ("distance_m", "low_m", "high_m")},
            change_day=f"{row['change_day']:%Y-%m-%d}" if changed else None,
            change_probability=round(row["change_probability"], 4),
        )  # fmt: skip
