"""The photo log as CSVs in the form that ``cards/`` takes, nothing lost that a figure hangs on."""

from __future__ import annotations

import csv
import io
import posixpath
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from deerlog.errors import StoreError
from deerlog.ingest.cards.photo_csv import COLUMNS, FINGERPRINT_BYTES, REQUIRED, photo_rows
from deerlog.ingest.cards.walk import CARDS
from deerlog.ingest.field_log import tagged_log
from deerlog.ingest.store.store import read_log
from deerlog.ingest.store.store_file import FILE
from deerlog.property import open_property
from deerlog.property.table_reader import read_table_bytes

FILE_NAME = "photo-log.csv"
"""How the CSV of a camera is called."""


@dataclass(frozen=True, kw_only=True)
class PhotoLogText:
    """A photo log written out.

    ``texts``: CSV text by path below a folder that mirrors ``cards/``: ``<camera>/photo-log.csv``.
    ``photos``: how many rows there are in all. ``left_out``: ``cards/<camera>/<path>`` of photos
    without a row: their path or time cannot stand in a cell so that it would be read back (a line
    end in a file name, a year before 1970). ``unreadable``: how many files the photo log holds that
    could never be read; they have no row.
    """

    texts: dict[str, str]
    photos: int
    left_out: tuple[str, ...]
    unreadable: int


def photo_log_text(folder: Path) -> PhotoLogText:
    """Write out the photo log of a property folder.

    Read back by `cards.photo_csv.read_photo_csv` from ``cards/<camera>/``, it gives the same photos
    at the same times, with the same copies among them, so that the property gives the same figures.
    Times are what the cameras showed: clock.csv still applies to them. A column that would be empty
    throughout is left out.

    PropertyError where the folder is no property that can be read (which copy counts hangs on its
    tables); StoreError where there is no photo log, or it cannot be read.
    """
    try:
        stored = read_log(folder).files
    except FileNotFoundError as error:
        raise StoreError(
            "there is no photo log yet.",
            where=str(folder / FILE),
            how="Put the card dumps below cards/<camera>/ and run `deerlog ingest`.",
        ) from error
    photos = stored[stored["kind"].isin(("photo", "video", "log"))].reset_index(drop=True)
    same_as = tagged_log(stored, open_property(folder)).photos["same_as"]
    same = same_as.fillna(-1).to_numpy(dtype=np.int64)
    gone = photos["gone"].to_numpy(dtype=bool)
    # Which of two copies was known first cannot be told from a list: the other is marked.
    marked = photos["head"] != 0
    photos["outlived"] = (same >= 0) & (marked | (gone & ~gone[same]))
    # A row without a fingerprint is a copy of whatever else is known at its path.
    place = ["camera", "path"]
    known = photos.assign(marked=marked).groupby(place)["marked"].transform("any")
    twice = ~marked & (known | photos.duplicated(place, keep="first"))
    texts: dict[str, str] = {}
    left_out: list[str] = []
    for camera, group in photos[~twice.to_numpy(dtype=bool)].groupby("camera", sort=True):
        rows = [dict(zip(COLUMNS, _cells(row), strict=True)) for row in group.to_dict("records")]
        # Those that would not be read back as they are meant.
        lost = [] if _means_the_same(rows) else [r for r in rows if not _means_the_same([r])]
        texts[f"{camera}/{FILE_NAME}"] = _text([row for row in rows if row not in lost])
        left_out += [f"{CARDS}/{camera}/{row['file']}" for row in lost]
    return PhotoLogText(
        texts=texts,
        photos=int((~twice).sum()) - len(left_out),
        left_out=tuple(left_out),
        unreadable=int((stored["kind"] == "unreadable").sum()),
    )


def _means_the_same(rows: list[dict[str, str]]) -> bool:
    sheet = read_table_bytes(_text(rows).encode(), COLUMNS, required=REQUIRED, file=FILE_NAME)
    records, problems = photo_rows(sheet, "", FILE_NAME)
    return not problems and [record.path for record in records] == [
        posixpath.normpath(row["file"].replace("\\", "/")) for row in rows
    ]


def _text(rows: list[dict[str, str]]) -> str:
    needed = [name for name in COLUMNS if name in ("file", "taken") or any(r[name] for r in rows)]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(needed)
    writer.writerows([row[name] for name in needed] for row in rows)
    return out.getvalue()


def _cells(photo: Mapping[Any, Any]) -> tuple[str, ...]:
    """One photo in the order of `COLUMNS`."""
    shown, look, head = photo["shown"], photo["look"], ""
    taken = f"{shown:%Y-%m-%d %H:%M:%S}" if photo["seconds"] else f"{shown:%Y-%m-%d %H:%M}"
    if photo["seconds"] and photo["fraction_us"]:
        taken += f".{photo['fraction_us']:06d}".rstrip("0")
    offset, minutes = "", photo["offset_minutes"]
    if minutes == minutes:  # not NaN: known
        hours, rest = divmod(abs(int(minutes)), 60)
        offset = f"{'-' if minutes < 0 else '+'}{hours:02d}:{rest:02d}"
    if photo["head"]:
        first = np.array([photo["head"]], dtype="<i8").tobytes()[:FINGERPRINT_BYTES]
        head = f"{photo['size']}-{first.hex()}"
    later = shown >= photo["read_on"] + pd.Timedelta(days=1)
    return (
        # Not a formula to a spreadsheet program, and the same path.
        f"./{photo['path']}" if photo["path"][0] in "=+-@" else photo["path"],
        taken,
        {0.0: "grey", 1.0: "colour"}.get(look, f"{look:g}") if look == look else "",
        "video" if photo["kind"] == "video" else "",
        {1.0: "yes", 0.0: "no"}.get(photo["flash"], ""),
        offset,
        head,
        # Only where the time is beyond it: the day of reading tells nothing otherwise.
        f"{photo['read_on']:%Y-%m-%d}" if later else "",
        "yes" if photo["outlived"] else "",
    )
