"""A study as a Camtrap DP 1.0.2 data package: deployments, media, observations, a descriptor.

A deployment is a stretch in which a camera at a site was really running; silent stretches and
outages lie between them. Media are photos and videos that count, without copies; the files stay at
home. Observations are what a person saw in each visit: a row a buck, and one for whatever else.
"""

from __future__ import annotations

import hashlib
import json
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path, PurePosixPath
from typing import Any
from urllib.parse import quote

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.errors import Problem, PropertyError
from deerlog.report.tables import safe_cell
from deerlog.report.terminal import wrapped
from deerlog.study import PropertyStudy
from deerlog.timekeeping.zones import localize

VERSION = "1.0.2"
SCHEMAS = f"https://raw.githubusercontent.com/tdwg/camtrap-dp/{VERSION}"
"""Where the standard's own schemas lie: the descriptor has to name them; nothing is fetched."""

TABLES = {
    "deployments": (
        "deploymentID", "locationID", "locationName", "latitude", "longitude",
        "coordinateUncertainty", "deploymentStart", "deploymentEnd", "setupBy", "cameraID",
        "cameraModel", "cameraDelay", "cameraHeight", "cameraDepth", "cameraTilt", "cameraHeading",
        "detectionDistance", "timestampIssues", "baitUse", "featureType", "habitat",
        "deploymentGroups", "deploymentTags", "deploymentComments",
    ),
    "media": (
        "mediaID", "deploymentID", "captureMethod", "timestamp", "filePath", "filePublic",
        "fileName", "fileMediatype", "exifData", "favorite", "mediaComments",
    ),
    "observations": (
        "observationID", "deploymentID", "mediaID", "eventID", "eventStart", "eventEnd",
        "observationLevel", "observationType", "cameraSetupType", "scientificName", "count",
        "lifeStage", "sex", "behavior", "individualID", "individualPositionRadius",
        "individualPositionAngle", "individualSpeed", "bboxX", "bboxY", "bboxWidth", "bboxHeight",
        "classificationMethod", "classifiedBy", "classificationTimestamp",
        "classificationProbability", "observationTags", "observationComments",
    ),
}  # fmt: skip
"""The columns of each table, in the standard's order."""


def _table(name: str, columns: Mapping[str, Any], index: pd.Index | None = None) -> pd.DataFrame:
    """A table with all of the standard's columns; those not given are empty."""
    return pd.DataFrame({each: columns.get(each, "") for each in TABLES[name]}, index=index)


# --- identifiers, times, places -----------------------------------------------------------------

_BYTES = 8
"""Two of a million identifiers clash with a chance of one in thirty million: n^2 / 2^65."""


def identifier(kind: str, *parts: str) -> str:
    """A short identifier of what ``parts`` name, such as ``m-5e0c1f2a9b3d4c77``: the same on every
    machine and in every export; things of two kinds never share one.

    It hides a path or a camera's name from a reader, not from someone who can guess them.
    """
    # A separator that stands in no name, so that ("a", "bc") and ("ab", "c") differ.
    text = "\x1f".join((kind, *parts))
    return f"{kind}-{hashlib.blake2b(text.encode(), digest_size=_BYTES).hexdigest()}"


def iso_times(local: pd.Series) -> list[str]:
    """``2026-11-15T17:04:12-06:00`` of aware times, to the second (what is beyond it cut off)."""
    # Cut by each time itself: to floor the column would ask which hour 01:30 was on the night the
    # clocks go back.
    return [time.isoformat(timespec="seconds") for time in local.tolist()]


_DEGREE_M = 111_320.0
"""A degree of latitude on the ground, metres; at most 0.6 % off anywhere."""
_DECIMALS_OTHERWISE = 7
"""A centimetre: nothing that a receiver gave is lost."""


@dataclass(frozen=True)
class Rounding:
    """How coordinates are given: to so many decimals of a degree; None to give them as they are."""

    decimals: int | None = None

    @property
    def precision_degrees(self) -> float | None:
        """The last decimal that is given, as a number: 0.01; None where they are not rounded."""
        return None if self.decimals is None else float(f"1e-{self.decimals}")

    def degrees(self, value: float) -> float:
        """A latitude or longitude as it is given."""
        decimals = _DECIMALS_OTHERWISE if self.decimals is None else self.decimals
        return round(float(value), decimals) + 0.0  # + 0.0 makes of -0.0 a plain zero

    def uncertainty_m(self, latitude: float) -> int | None:
        """How far the true place may lie from the given one, metres; None where not rounded."""
        if self.precision_degrees is None:
            return None
        half = self.precision_degrees / 2 * _DEGREE_M
        return max(1, math.ceil(math.hypot(half, half * math.cos(math.radians(latitude)))))


# --- deployments --------------------------------------------------------------------------------


def deployment_of_photos(photos: pd.DataFrame, stretches: pd.DataFrame) -> npt.NDArray[np.int64]:
    """The row of ``stretches`` in which each photo was taken, or -1; both as in the field log.

    A photo at the very end of a stretch is in it: its time is what ended it.
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


def deployment_ids(study: PropertyStudy) -> list[str]:
    """An identifier for each row of ``stretches``: camera, site, start of the placement, number."""
    stretches = study.field_log.stretches
    placed = study.place.placements.iloc[stretches["placement"].to_numpy()]
    number = stretches.groupby("placement").cumcount().astype(str).tolist()
    names = placed[["camera", "site", "start"]].itertuples(index=False)
    return [
        identifier("d", str(camera), str(site), start.isoformat(), n)
        for (camera, site, start), n in zip(names, number, strict=True)
    ]


def deployment_table(
    study: PropertyStudy, photos: pd.DataFrame, rounding: Rounding
) -> pd.DataFrame:
    """One row a stretch in which a camera ran; silent stretches and outages lie between them.

    ``photos`` bears ``deployment`` (row of ``stretches``) and ``local``: no stretch is given as
    shorter than its photos, in the hour that happens twice too.
    """
    zone = study.place.settings.timezone
    stretches = study.field_log.stretches
    placed = study.place.placements.iloc[stretches["placement"].to_numpy()].reset_index(drop=True)
    start, end = (
        pd.Series(localize(stretches[edge], zone)[0].tz_convert(zone)) for edge in ("start", "end")
    )
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
    return _table("deployments", columns)


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


# --- media --------------------------------------------------------------------------------------

_VIDEO = {".mov": "video/quicktime", ".avi": "video/x-msvideo"}
_IMAGE = {".png": "image/png", ".webp": "image/webp", ".heic": "image/heic"}
# What the standard does not allow in a path: two dots in a row, and line ends.
_NOT_IN_A_PATH = re.compile(r"\.(?=\.)|[\x00-\x1f\x7f]")


def media_ids(photos: pd.DataFrame) -> list[str]:
    """An identifier for each photo: card folder, path, and what the camera showed."""
    seen = photos[["folder", "path", "shown"]].itertuples(index=False)
    return [identifier("m", folder, path, shown.isoformat()) for folder, path, shown in seen]


def media_table(photos: pd.DataFrame) -> pd.DataFrame:
    """One row a photo of the field log that counts, in the order of camera and path.

    The files themselves are not in the package, and are not public. ``photos`` bears
    ``deploymentID`` and ``mediaID``.
    """
    paths, kinds = photos["path"].tolist(), photos["kind"].tolist()
    gone, faults = photos["gone"].tolist(), photos["time_fault"].tolist()
    columns = {
        "mediaID": photos["mediaID"],
        "deploymentID": photos["deploymentID"],
        "timestamp": iso_times(photos["local"]),
        "filePath": [
            allowed_path(path) for path in "cards/" + photos["folder"] + "/" + photos["path"]
        ],
        "filePublic": "false",
        "fileName": [allowed_path(PurePosixPath(path).name) for path in paths],
        "fileMediatype": list(map(media_type, paths, kinds)),
        "mediaComments": list(map(_comment, kinds, gone, faults)),
    }
    return _table("media", columns, photos.index)


def allowed_path(path: str) -> str:
    """A path as the standard allows it; what it does not is percent-encoded."""
    return _NOT_IN_A_PATH.sub(lambda found: quote(found[0]).replace(".", "%2E"), path)


def media_type(path: str, kind: str) -> str:
    """The IANA media type of a photo or video, by its kind and the end of its name.

    Not asked of the system, whose answers differ between machines.
    """
    suffix = PurePosixPath(path).suffix.casefold()
    if kind == "video":
        return _VIDEO.get(suffix, "video/mp4")
    return _IMAGE.get(suffix, "image/jpeg")


_FAULTS = {
    "twice": "In the hour that happens twice when clocks go back: the first is taken.",
    "never": "In the hour that is skipped when clocks go forward: an hour later is taken.",
}


def _comment(kind: str, gone: bool, fault: str) -> str:
    listed, lost = "From a list of photos, without the picture.", "The file is no longer there."
    said = [listed if kind == "log" else lost if gone else "", _FAULTS.get(fault, "")]
    return " ".join(filter(None, said))


# --- observations -------------------------------------------------------------------------------

WHITETAIL = "Odocoileus virginianus"

Columns = dict[str, Any]
"""Values by column of the standard; a column that is not there is empty."""


def _animal(species: str = "", **more: str) -> Columns:
    return {"observationType": "animal", "scientificName": species, **more}


_DOE = _animal(WHITETAIL, sex="female")
_FAWN = _animal(WHITETAIL, lifeStage="juvenile")
_BUCK = _animal(WHITETAIL, sex="male")
_COYOTE, _RACCOON = _animal("Canis latrans"), _animal("Procyon lotor")
_TURKEY = _animal("Meleagris gallopavo")
_PERSON = {"observationType": "human", "scientificName": "Homo sapiens"}
_VEHICLE = {"observationType": "vehicle"}
_BLANK = {"observationType": "blank"}
_UNCLASSIFIED = {"observationType": "unclassified"}

SEEN: Mapping[str, Columns] = {
    "doe": _DOE, "does": _DOE, "fawn": _FAWN, "fawns": _FAWN, "deer": _animal(WHITETAIL),
    "buck": _BUCK, "bucks": _BUCK, "young buck": _BUCK, "small buck": _BUCK, "spike": _BUCK,
    "coyote": _COYOTE, "coyotes": _COYOTE, "raccoon": _RACCOON, "raccoons": _RACCOON,
    "opossum": _animal("Didelphis virginiana"), "bobcat": _animal("Lynx rufus"),
    "turkey": _TURKEY, "turkeys": _TURKEY,
    "squirrel": _animal(), "rabbit": _animal(), "fox": _animal(), "bird": _animal(),
    "birds": _animal(), "dog": _animal(), "cat": _animal(),
    "person": _PERSON, "people": _PERSON, "me": _PERSON, "hunter": _PERSON,
    "vehicle": _VEHICLE, "truck": _VEHICLE, "tractor": _VEHICLE, "atv": _VEHICLE, "car": _VEHICLE,
    "empty": _BLANK, "nothing": _BLANK, "blank": _BLANK,
}  # fmt: skip
"""What words in the ``others`` column of tag sheets say; our choice. Scientific names from memory,
and none where a word means several species. Any other word is passed on as a comment and not
classified."""


def observation_table(visits: pd.DataFrame, sightings: pd.DataFrame) -> pd.DataFrame:
    """Observations in the order of time, an unsure tag marked so.

    ``visits`` and ``sightings`` are of the field log; visits bear ``deploymentID`` and ``eventID``.
    """
    named: dict[int, list[tuple[str, bool]]] = {}
    for visit, buck, unsure in sightings[["visit", "buck", "unsure"]].itertuples(index=False):
        named.setdefault(visit, []).append((buck, unsure))
    about = visits.assign(eventStart=iso_times(visits["first"]), eventEnd=iso_times(visits["last"]))
    about = about.sort_values(["first", "visit"], kind="stable")
    empty = dict.fromkeys(TABLES["observations"], "") | {"observationLevel": "event"}
    shared = ["deploymentID", "eventID", "eventStart", "eventEnd"]
    rows = []
    for row in about[["visit", *shared, "tagged", "others"]].to_dict("records"):
        bucks = named.get(row["visit"], [])
        for key, columns in _seen(row["tagged"], row["others"], bucks):
            columns["observationID"] = identifier("o", row["eventID"], key)
            rows.append(empty | {name: row[name] for name in shared} | columns)
    return pd.DataFrame(rows, columns=list(TABLES["observations"]))


def _seen(
    tagged: bool, others: str, bucks: Sequence[tuple[str, bool]]
) -> Iterator[tuple[str, Columns]]:
    """What was seen in a visit: a key of its own for each, and the columns it fills."""
    by_person = {"classificationMethod": "human"}
    for buck, unsure in bucks:
        columns = by_person | _BUCK | {"count": 1, "individualID": buck}
        if unsure:
            columns["observationTags"] = "unsure"
            columns["observationComments"] = "The person was not sure that it is this buck."
        yield f"buck {buck}", columns
    if not tagged:
        yield "unseen", dict(_UNCLASSIFIED)
        return
    words = _words(others)
    if bucks:
        words = [word for word in words if _said(word) != _BLANK]
    for word in words:
        yield f"other {word}", by_person | _said(word) | {"observationComments": word}
    if not bucks and not words:
        nobody = {"observationComments": "Looked at: no buck known by name."}
        yield "nobody", by_person | _UNCLASSIFIED | nobody


def _words(others: str) -> list[str]:
    """Each word of an ``others`` cell; ``empty`` only where it stands alone."""
    words = list(dict.fromkeys(w.strip() for w in re.split(r"[;,]", others) if w.strip()))
    return [word for word in words if _said(word) != _BLANK] or words[:1]


def _said(word: str) -> Columns:
    return SEEN.get(word.casefold(), _UNCLASSIFIED)


# --- the package ---------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class CamtrapPackage:
    """A package as text by file name, and its tables by theirs.

    ``n_outside`` photos are left out because their camera is not taken to have run then, or stood
    nowhere.
    """

    texts: dict[str, str]
    tables: dict[str, pd.DataFrame]
    n_outside: int


def camtrap_package(study: PropertyStudy, rounding: Rounding) -> CamtrapPackage:
    """Everything recorded; the same study gives the same bytes.

    A PropertyError where nothing was recorded while a camera is known to have run.
    """
    log = study.field_log
    counts = log.photos[log.photos["same_as"].isna()]
    counts = counts.assign(deployment=deployment_of_photos(counts, log.stretches))
    photos = counts[counts["deployment"] >= 0]
    if photos.empty:
        raise PropertyError(
            "no photo was taken while a camera is known to have run, so there is nothing to "
            "export.",
            where=str(study.place.folder),
            how="Run `deerlog ingest` and mend what `deerlog check` lists.",
        )
    ids = deployment_ids(study)
    photos = photos.assign(
        deploymentID=[ids[row] for row in photos["deployment"]], mediaID=media_ids(photos)
    )
    first = photos.set_index("photo_id")[["deploymentID", "mediaID"]]
    visits = log.visits.join(first, on="photo_id", how="inner")
    visits["eventID"] = [identifier("e", media) for media in visits["mediaID"]]
    tables = {
        "deployments": deployment_table(study, photos, rounding),
        "media": media_table(photos),
        "observations": observation_table(visits, log.sightings),
    }
    texts = {
        f"{name}.csv": table.map(
            lambda cell: safe_cell(cell) if isinstance(cell, str) else cell
        ).to_csv(index=False, lineterminator="\n")
        for name, table in tables.items()
    }
    descriptor = _descriptor(study, tables["deployments"], tables["observations"], rounding)
    texts["datapackage.json"] = json.dumps(descriptor, indent=2, ensure_ascii=False) + "\n"
    return CamtrapPackage(texts=texts, tables=tables, n_outside=len(counts) - len(photos))


def _descriptor(
    study: PropertyStudy, deployments: pd.DataFrame, observations: pd.DataFrame, rounding: Rounding
) -> dict[str, Any]:
    settings = study.place.settings
    # The box around all deployments, longitude first.
    west, east = float(deployments["longitude"].min()), float(deployments["longitude"].max())
    south, north = float(deployments["latitude"].min()), float(deployments["latitude"].max())
    ring = [[west, south], [east, south], [east, north], [west, north], [west, south]]
    descriptor: dict[str, Any] = {
        "profile": f"{SCHEMAS}/camtrap-dp-profile.json",
        "name": identifier(
            "camera-traps", settings.name, str(study.place.placements["start"].min())
        ),
        "title": settings.name,
        # Not the clock: what is in the package is known by the end of this day, and the same
        # records give the same bytes.
        "created": f"{study.last_moment.tz_convert('UTC'):%Y-%m-%dT%H:%M:%SZ}",
        "contributors": [{"title": settings.name, "role": "contributor"}],
        "project": {
            "title": settings.name,
            "samplingDesign": "targeted",
            "captureMethod": ["activityDetection"],
            "individualAnimals": True,
            "observationLevel": ["event"],
        },
        "spatial": {"type": "Polygon", "bbox": [west, south, east, north], "coordinates": [ring]},
        "temporal": {
            "start": min(deployments["deploymentStart"], key=pd.Timestamp)[:10],
            "end": max(deployments["deploymentEnd"], key=pd.Timestamp)[:10],
        },
        "taxonomic": [
            {"scientificName": name, "taxonRank": "species"}
            | ({"vernacularNames": {"eng": "white-tailed deer"}} if name == WHITETAIL else {})
            for name in sorted({WHITETAIL, *observations["scientificName"]} - {""})
        ],
        "resources": [
            {
                "name": name,
                "path": f"{name}.csv",
                "profile": "tabular-data-resource",
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": "utf-8",
                "schema": f"{SCHEMAS}/{name}-table-schema.json",
            }
            for name in TABLES
        ],
    }
    if rounding.precision_degrees is not None:
        descriptor["coordinatePrecision"] = rounding.precision_degrees
    return descriptor


def camtrap_text(package: CamtrapPackage, rounding: Rounding, folder: Path) -> str:
    """Counts, and what a receiver should know."""
    lines = [", ".join(f"{len(table):,} {name}" for name, table in package.tables.items()) + "."]
    if package.n_outside:
        lines.append(
            f"{package.n_outside:,} photos are left out: their camera stood nowhere then, is not "
            "taken to have run (outages.csv), or showed an impossible time."
        )
    issues = int((package.tables["deployments"]["timestampIssues"] == "true").sum())
    if issues:
        lines.append(
            f"{issues:,} deployments are marked timestampIssues: "
            "`deerlog check` says which clock looks wrong, and how to mend it."
        )
    if rounding.decimals is None:
        lines.append("Coordinates are exact; --round-coordinates hides them.")
    lines.append(f"Written to {folder}")
    return "\n".join(wrapped(line) for line in lines)
