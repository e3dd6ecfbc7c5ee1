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
    collection = {"type": "FeatureCollection", "features": list(_features(study, rounding))}
    return json.dumps(collection, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _features(study: PropertyStudy, rounding: Rounding) -> Iterator[Feature]:
    tables = (
        ("site", study.sites, ("site", "setting", "bait")),
        ("stand", study.place.stands, ("stand", "sites", "use", "winds", "rest_days")),
    )
    for kind, table, names in tables:
        for row in table.to_dict("records"):
            point = None
            if math.isfinite(row["latitude"]) and math.isfinite(row["longitude"]):
                position = [rounding.degrees(row[axis]) for axis in ("longitude", "latitude")]
                point = {"type": "Point", "coordinates": position}
            yield _feature(point, kind, **{name: row[name] for name in names})
    settings = study.place.settings
    ground = Ground(settings.latitude, settings.longitude)
    for row in study.shift.to_dict("records"):
        places = ground.degrees([row["from_x_m"], row["to_x_m"]], [row["from_y_m"], row["to_y_m"]])
        line = [
            [rounding.degrees(longitude), rounding.degrees(latitude)]
            for latitude, longitude in zip(*places, strict=True)
        ]
        changed = row["change_day"] is not pd.NaT
        yield _feature(
            {"type": "LineString", "coordinates": line}, "shift",
            **{name: row[name] for name in ("buck", "season", "from_phase", "to_phase")},
            **{name: round(row[name]) for name in ("distance_m", "low_m", "high_m")},
            change_day=f"{row['change_day']:%Y-%m-%d}" if changed else None,
            change_probability=round(row["change_probability"], 4),
        )  # fmt: skip


def _feature(geometry: dict[str, Any] | None, kind: str, **properties: object) -> Feature:
    return {"type": "Feature", "geometry": geometry, "properties": {"kind": kind, **properties}}
