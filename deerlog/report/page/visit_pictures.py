"""Pictures of visits: where they lie, and made small enough to be carried inside a page."""

from __future__ import annotations

import base64
import io
from collections.abc import Sequence
from itertools import islice
from pathlib import Path

import pandas as pd

from deerlog.ingest.to_tag import SheetToTag
from deerlog.report.page.template_engine import Row, rows
from deerlog.study import PropertyStudy

FACES = 4
"""Pictures to know a buck by that pages and workbooks carry."""
LAST = 3
"""Pictures of a buck that the page shows (our choice)."""
_PX = (240, 240)
_TRIED = 12  # visits looked through for pictures that can be opened; our choice


def visits_with_files(study: PropertyStudy) -> pd.DataFrame:
    """All visits of a study with ``file``: the picture of a visit's first tagged photo, from the
    property folder; missing where it was never kept, or has gone from the disk.
    """
    visits, photos = study.all_visits, study.field_log.photos
    photos = photos[(photos["kind"] == "photo") & ~photos["gone"] & photos["same_as"].isna()]
    photos = photos[photos["visit"].isin(visits["visit"])]
    file = "cards/" + photos["folder"] + "/" + photos["path"]
    known = photos[["visit", "local"]].assign(file=file).drop_duplicates(["visit", "local"])
    return visits.merge(known, how="left", on=["visit", "local"])


def last_pictures(folder: Path, visits: pd.DataFrame) -> list[Row]:
    """The last visits in shooting light whose pictures can be opened, newest first.

    ``visits`` are of `visits_with_files`, in order of time. ``picture`` is the picture itself,
    small, as an address that holds it.
    """
    found: list[Row] = []
    sure = visits[visits["in_light"] & ~visits["unsure"] & visits["file"].notna()]
    for row in reversed(rows(sure.tail(_TRIED))):
        small = small_jpeg(folder / row["file"], _PX, quality=60)
        if small is not None:
            found.append(row | {"picture": picture_address(small[0])})
        if len(found) == LAST:
            break
    return found


def picture_address(jpeg: bytes) -> str:
    """A picture as an address that holds it."""
    return f"data:image/jpeg;base64,{base64.b64encode(jpeg).decode('ascii')}"


def small_faces(
    folder: Path, sheets: Sequence[SheetToTag], most_px: tuple[int, int]
) -> dict[str, list[bytes]]:
    """Up to `FACES` small pictures to know each buck by; none where nothing waits to be tagged."""
    faces = next((sheet.faces for sheet in sheets if sheet.waiting), {})
    found: dict[str, list[bytes]] = {}
    for buck, files in faces.items():
        opened = (small_jpeg(folder / file, most_px, quality=60) for file in files)
        found[buck] = [small[0] for small in islice(filter(None, opened), FACES)]
    return found


def small_jpeg(
    path: Path, most_px: tuple[int, int], quality: int = 75
) -> tuple[bytes, tuple[int, int]] | None:
    """A picture made small, with its width and height; None where it cannot be opened."""
    from PIL import Image

    try:
        with Image.open(path) as picture:
            # A JPEG can be read at an eighth of its size, many times faster.
            picture.draft("RGB", most_px)
            small = picture.convert("RGB")
            small.thumbnail(most_px)
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return None
    out = io.BytesIO()
    small.save(out, "JPEG", quality=quality)
    return out.getvalue(), small.size
