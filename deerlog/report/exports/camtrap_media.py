"""Media of Camtrap DP: one row a photo or video, copies left out."""

from __future__ import annotations

import re
from pathlib import PurePosixPath
from urllib.parse import quote

import pandas as pd

from deerlog.report.exports.camtrap_columns import MEDIA
from deerlog.report.exports.identifiers import identifier
from deerlog.report.exports.iso_times import iso_times

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
