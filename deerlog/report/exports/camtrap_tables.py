"""The columns of Camtrap DP 1.0.2, in the standard's order (tdwg/camtrap-dp at tag 1.0.2).

Instants as ISO 8601 text with their offset from UTC.

Identifiers that tell nothing, and stay the same from one export to the next.

Coordinates as text, rounded where a place is not to be given away.

What the words in the ``others`` column of tag sheets say, in the terms of Camtrap DP.

Deployments of Camtrap DP: the stretches in which a camera at a site was really running.

Media of Camtrap DP: one row a photo or video, copies left out.

Observations of Camtrap DP: what a person saw in each visit.
"""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import PurePosixPath
from typing import Any
from urllib.parse import quote

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.errors import Problem
from deerlog.study import Study
from deerlog.timekeeping.zones import localize

VERSION = "1.0.2"
SCHEMAS = f"https://raw.githubusercontent.com/tdwg/camtrap-dp/{VERSION}"
"""Where the standard's own schemas lie: the descriptor has to name them; nothing is fetched."""

DEPLOYMENTS = (
    "deploymentID", "locationID", "locationName", "latitude", "longitude",
    "coordinateUncertainty", "deploymentStart", "deploymentEnd", "setupBy", "cameraID",
    "cameraModel", "cameraDelay", "cameraHeight", "cameraDepth", "cameraTilt", "cameraHeading",
    "detectionDistance", "timestampIssues", "baitUse", "featureType", "habitat",
    "deploymentGroups", "deploymentTags", "deploymentComments",
)  # fmt: skip
MEDIA = (
    "mediaID", "deploymentID", "captureMethod", "timestamp", "filePath", "filePublic", "fileName",
    "fileMediatype", "exifData", "favorite", "mediaComments",
)  # fmt: skip
OBSERVATIONS = (
    "observationID", "deploymentID", "mediaID", "eventID", "eventStart", "eventEnd",
    "observationLevel", "observationType", "cameraSetupType", "scientificName", "count",
    "lifeStage", "sex", "behavior", "individualID", "individualPositionRadius",
    "individualPositionAngle", "individualSpeed", "bboxX", "bboxY", "bboxWidth", "bboxHeight",
    "classificationMethod", "classifiedBy", "classificationTimestamp",
    "classificationProbability", "observationTags", "observationComments",
)  # fmt: skip
TABLES = {"deployments": DEPLOYMENTS, "media": MEDIA, "observations": OBSERVATIONS}
"""Resource names with the columns of each."""


def iso_times(local: pd.Series) -> list[str]:
    """``2026-11-15T17:04:12-06:00`` of aware times, to the second (what is beyond it cut off)."""
    # Cut by each time itself: to floor the column would ask which hour 01:30 was on the night the
    # clocks go back.
    return [time.isoformat(timespec="seconds") for time in local.tolist()]


_BYTES = 8
"""Two of a million identifiers clash with a chance of one in thirty million: n^2 / 2^65."""


def identifier(kind: str, *parts: str) -> str:
    """A short identifier of what ``parts`` name, such as ``m-5e0c1f2a9b3d4c77``.

    It is the same on every machine. It hides a path or a camera's name from a reader; it is no
    secret from someone who can guess them.

    Parameters
    ----------
    kind
        One letter before the dash; things of two kinds never share an identifier.
    parts
        What names the thing among its kind.
    """
    # A separator that stands in no name, so that ("a", "bc") and ("ab", "c") differ.
    text = "\x1f".join((kind, *parts))
    return f"{kind}-{hashlib.blake2b(text.encode(), digest_size=_BYTES).hexdigest()}"


_DEGREE_M = 111_320.0
"""A degree of latitude on the ground, metres; at most 0.6 % off anywhere."""
_DECIMALS_OTHERWISE = 7
"""A centimetre: nothing that a receiver gave is lost."""


@dataclass(frozen=True)
class Rounding:
    """How coordinates are given.

    Attributes
    ----------
    decimals
        Of a degree; None to give them as they are.
    """

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


WHITETAIL = "Odocoileus virginianus"


@dataclass(frozen=True)
class Seen:
    """One thing seen: values of the columns of the same names, ``""`` where not known."""

    type: str
    species: str = ""
    sex: str = ""
    life_stage: str = ""


_DOE = Seen("animal", WHITETAIL, sex="female")
_FAWN = Seen("animal", WHITETAIL, life_stage="juvenile")
_BUCK = Seen("animal", WHITETAIL, sex="male")
_PERSON = Seen("human", "Homo sapiens")
_VEHICLE = Seen("vehicle")
_BLANK = Seen("blank")

SEEN: Mapping[str, Seen] = {
    "doe": _DOE, "does": _DOE,
    "fawn": _FAWN, "fawns": _FAWN,
    "buck": _BUCK, "bucks": _BUCK, "young buck": _BUCK, "small buck": _BUCK, "spike": _BUCK,
    "deer": Seen("animal", WHITETAIL),
    "coyote": Seen("animal", "Canis latrans"), "coyotes": Seen("animal", "Canis latrans"),
    "raccoon": Seen("animal", "Procyon lotor"), "raccoons": Seen("animal", "Procyon lotor"),
    "opossum": Seen("animal", "Didelphis virginiana"),
    "bobcat": Seen("animal", "Lynx rufus"),
    "turkey": Seen("animal", "Meleagris gallopavo"),
    "turkeys": Seen("animal", "Meleagris gallopavo"),
    "squirrel": Seen("animal"), "rabbit": Seen("animal"), "fox": Seen("animal"),
    "bird": Seen("animal"), "birds": Seen("animal"), "dog": Seen("animal"), "cat": Seen("animal"),
    "person": _PERSON, "people": _PERSON, "me": _PERSON, "hunter": _PERSON,
    "vehicle": _VEHICLE, "truck": _VEHICLE, "tractor": _VEHICLE, "atv": _VEHICLE, "car": _VEHICLE,
    "empty": _BLANK, "nothing": _BLANK, "blank": _BLANK,
}  # fmt: skip
"""Words that are understood; our choice. Scientific names from memory, and none where a word means
several species. Any other word is passed on as a comment and not classified."""


def seen_words(others: str) -> list[tuple[str, Seen]]:
    """Each word of an ``others`` cell with what it says; ``empty`` only where it stands alone."""
    words = [word.strip() for word in re.split(r"[;,]", others) if word.strip()]
    each = [(word, SEEN.get(word.casefold(), Seen("unclassified"))) for word in words]
    each = list(dict.fromkeys(each))
    things = [pair for pair in each if pair[1] != _BLANK]
    return things or each[:1]


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


_VIDEO = {".mov": "video/quicktime", ".avi": "video/x-msvideo"}
_IMAGE = {".png": "image/png", ".webp": "image/webp", ".heic": "image/heic"}
# What the standard does not allow in a path: two dots in a row, and line ends.
_NOT_IN_A_PATH = re.compile(r"\.(?=\.)|[\x00-\x1f\x7f]")


def media_ids(photos: pd.DataFrame) -> list[str]:
    """An identifier for each photo: card folder, path, and what the camera showed."""
    return [
        identifier("m", folder, path, shown.isoformat())
        for folder, path, shown in zip(
            photos["folder"].tolist(), photos["path"].tolist(), photos["shown"], strict=True
        )
    ]


def media_table(photos: pd.DataFrame) -> pd.DataFrame:
    """One row a photo, in the order of camera and path.

    The files themselves are not in the package, and are not public.

    Parameters
    ----------
    photos
        Photos of the field log that count, with ``deploymentID`` and ``mediaID``.
    """
    paths = photos["path"].tolist()
    columns = {
        "mediaID": photos["mediaID"],
        "deploymentID": photos["deploymentID"],
        "timestamp": iso_times(photos["local"]),
        "filePath": [
            allowed_path(f"cards/{folder}/{path}")
            for folder, path in zip(photos["folder"].tolist(), paths, strict=True)
        ],
        "filePublic": "false",
        "fileName": [allowed_path(PurePosixPath(path).name) for path in paths],
        "fileMediatype": [
            media_type(path, kind) for path, kind in zip(paths, photos["kind"], strict=True)
        ],
        "mediaComments": [
            _comment(kind, gone, fault)
            for kind, gone, fault in zip(
                photos["kind"], photos["gone"], photos["time_fault"], strict=True
            )
        ],
    }
    return pd.DataFrame({name: columns.get(name, "") for name in MEDIA}, index=photos.index)


def allowed_path(path: str) -> str:
    """A path as the standard allows it; what it does not is percent-encoded."""
    return _NOT_IN_A_PATH.sub(lambda found: _encoded(found.group()), path)


def _encoded(character: str) -> str:
    return "%2E" if character == "." else quote(character)


def media_type(path: str, kind: str) -> str:
    """The IANA media type of a photo or video, by its kind and the end of its name.

    Not asked of the system, whose answers differ between machines.
    """
    suffix = PurePosixPath(path).suffix.casefold()
    if kind == "video":
        return _VIDEO.get(suffix, "video/mp4")
    return _IMAGE.get(suffix, "image/jpeg")


def _comment(kind: str, gone: bool, fault: str) -> str:
    parts = []
    if kind == "log":
        parts.append("From a list of photos, without the picture.")
    elif gone:
        parts.append("The file is no longer there.")
    if fault == "twice":
        parts.append("In the hour that happens twice when clocks go back: the first is taken.")
    elif fault == "never":
        parts.append("In the hour that is skipped when clocks go forward: an hour later is taken.")
    return " ".join(parts)


_NOBODY = "Looked at: no buck known by name."


def observation_table(visits: pd.DataFrame, sightings: pd.DataFrame) -> pd.DataFrame:
    """One row a buck and visit, one for whatever else was seen in it, or one if nothing is said.

    Parameters
    ----------
    visits
        Of the field log, with ``deploymentID`` and ``eventID``.
    sightings
        Of the field log: bucks by name. An unsure tag is marked so.

    Returns
    -------
    DataFrame
        In the order of time.
    """
    named: dict[int, list[dict[str, Any]]] = {}
    for row in _records(sightings[["visit", "buck", "unsure"]]):
        named.setdefault(int(row["visit"]), []).append(row)
    about = visits.assign(eventStart=iso_times(visits["first"]), eventEnd=iso_times(visits["last"]))
    about = about.sort_values(["first", "visit"], kind="stable")
    columns = ["visit", "deploymentID", "eventID", "eventStart", "eventEnd", "tagged", "others"]
    rows = []
    for visit in _records(about[columns]):
        shared = {name: visit[name] for name in ("deploymentID", "eventID")}
        shared |= {name: visit[name] for name in ("eventStart", "eventEnd")}
        shared["observationLevel"] = "event"
        for key, seen in _seen(visit, named.get(int(visit["visit"]), [])):
            shared["observationID"] = identifier("o", visit["eventID"], key)
            rows.append(dict.fromkeys(OBSERVATIONS, "") | shared | seen)
    return pd.DataFrame(rows, columns=list(OBSERVATIONS))


def _records(table: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(name): value for name, value in row.items()} for row in table.to_dict("records")]


def _seen(
    visit: dict[str, Any], bucks: list[dict[str, Any]]
) -> Iterator[tuple[str, dict[str, Any]]]:
    """What was seen in a visit: a key of its own for each, and the columns it fills."""
    by_person = {"classificationMethod": "human"}
    for buck in bucks:
        yield (
            f"buck {buck['buck']}",
            by_person
            | {
                "observationType": "animal",
                "scientificName": WHITETAIL,
                "count": 1,
                "sex": "male",
                "individualID": buck["buck"],
                "observationTags": "unsure" if buck["unsure"] else "",
                "observationComments": "The person was not sure that it is this buck."
                if buck["unsure"]
                else "",
            },
        )
    if not visit["tagged"]:
        yield "unseen", {"observationType": "unclassified"}
        return
    others = [
        (word, seen)
        for word, seen in seen_words(visit["others"])
        if not (bucks and seen.type == "blank")
    ]
    for word, seen in others:
        yield (
            f"other {word}",
            by_person
            | {
                "observationType": seen.type,
                "scientificName": seen.species,
                "sex": seen.sex,
                "lifeStage": seen.life_stage,
                "observationComments": word,
            },
        )
    if not bucks and not others:
        yield (
            "nobody",
            by_person | {"observationType": "unclassified", "observationComments": _NOBODY},
        )
