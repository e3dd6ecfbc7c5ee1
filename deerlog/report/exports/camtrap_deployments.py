"""Deployments of Camtrap DP: the stretches in which a camera at a site was really running."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.errors import Problem
from deerlog.report.exports.camtrap_columns import DEPLOYMENTS
from deerlog.report.exports.identifiers import identifier
from deerlog.report.exports.iso_times import iso_times
from deerlog.report.exports.rounding import Rounding
from deerlog.study import Study
from deerlog.timekeeping.zones import localize


def deployment_of_photos(photos: pd.DataFrame, stretches: pd.DataFrame) -> npt.NDArray[np.int64]:
    """The row of ``stretches`` in which each photo was taken, or -1.

    Parameters
    ----------
    photos
        ``placement`` and ``local`` as in the field log.
    stretches
        As in the field log, in order of start within a placement. A photo at the very end of a
        stretch is in it: its time is what ended it.
    """
    found = np.full(len(photos), -1, dtype=np.int64)
    wall = np.asarray(photos["local"].dt.tz_localize(None), dtype="datetime64[us]")
    placement = photos["placement"].to_numpy()
    starts = np.asarray(stretches["start"], dtype="datetime64[us]")
    ends = np.asarray(stretches["end"], dtype="datetime64[us]")
    owner = stretches["placement"].to_numpy()
    for number in np.unique(owner):
        rows = np.flatnonzero(owner == number)
        mine = np.flatnonzero(placement == number)
        at = np.searchsorted(starts[rows], wall[mine], side="right") - 1
        row = rows[np.maximum(at, 0)]
        inside = (at >= 0) & (wall[mine] <= ends[row])
        found[mine[inside]] = row[inside]
    return found


def deployment_ids(study: Study) -> list[str]:
    """An identifier for each row of ``stretches``: camera, site, start of the placement, number."""
    stretches, placements = study.field_log.stretches, study.place.placements
    placed = placements.iloc[stretches["placement"].to_numpy()]
    number = stretches.groupby("placement").cumcount()
    return [
        identifier("d", str(camera), str(site), start.isoformat(), str(n))
        for camera, site, start, n in zip(
            placed["camera"], placed["site"], placed["start"], number, strict=True
        )
    ]


def deployment_table(study: Study, photos: pd.DataFrame, rounding: Rounding) -> pd.DataFrame:
    """One row a stretch in which a camera ran; silent stretches and outages lie between them.

    Parameters
    ----------
    photos
        ``deployment`` (row of ``stretches``) and ``local``: none is given as shorter than
        its photos, in the hour that happens twice too.
    """
    settings = study.place.settings
    stretches = study.field_log.stretches
    placed = study.place.placements.iloc[stretches["placement"].to_numpy()].reset_index(drop=True)
    start = _local(stretches["start"], settings.timezone)
    end = _local(stretches["end"], settings.timezone)
    taken = photos.groupby("deployment")["local"].agg(["min", "max"]).reindex(range(len(stretches)))
    start = start.where(~(taken["min"] < start), taken["min"])
    end = end.where(~(taken["max"] > end), taken["max"])
    latitude = [rounding.degrees(value) for value in placed["latitude"]]
    uncertain = [rounding.uncertainty_m(value) for value in latitude]
    faults = [
        _faults(study.clock_faults, str(camera), first.date(), last.date())
        for camera, first, last in zip(
            placed["camera"], stretches["start"], stretches["end"], strict=True
        )
    ]
    season = study.calendar.season_of(stretches["start"])
    columns = {
        "deploymentID": deployment_ids(study),
        "locationID": [identifier("l", str(site)) for site in placed["site"]],
        "locationName": placed["site"],
        "latitude": latitude,
        "longitude": [rounding.degrees(value) for value in placed["longitude"]],
        "coordinateUncertainty": ["" if value is None else value for value in uncertain],
        "deploymentStart": iso_times(start),
        "deploymentEnd": iso_times(end),
        "cameraID": placed["camera"],
        "timestampIssues": ["true" if found else "false" for found in faults],
        "baitUse": ["true" if bait else "false" for bait in placed["bait"]],
        "deploymentGroups": [f"season:{number}" for number in season],
        "deploymentTags": [f"setting:{setting}" for setting in placed["setting"]],
        "deploymentComments": [
            " ".join(part for part in (note, *(p.why for p in found)) if part)
            for note, found in zip(placed["notes"], faults, strict=True)
        ],
    }
    return pd.DataFrame({name: columns.get(name, "") for name in DEPLOYMENTS})


def _local(naive: pd.Series, zone: str) -> pd.Series:
    utc, _ = localize(naive, zone)
    return pd.Series(utc.tz_convert(zone))


def _faults(problems: Sequence[Problem], camera: str, first: date, last: date) -> list[Problem]:
    """Faults of a camera's clock that are not mended, within some days."""
    return [
        p
        for p in problems
        if p.kind.startswith("clock-")
        and p.must_mend
        and p.camera == camera
        and (p.first_day is None or p.first_day <= last)
        and (p.last_day is None or p.last_day >= first)
    ]
