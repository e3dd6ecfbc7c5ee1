"""The visits nobody has looked at yet, with their pictures: what a person is given to tag."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.cards.walk import CARDS
from deerlog.ingest.field_log import TaggedLog
from deerlog.ingest.tags.tags import TAGS

NEWEST = 500
"""Visits of one sheet that are given picture by picture: some evenings' work (our choice). A longer
backlog is counted, and comes up as these are tagged."""


@dataclass(frozen=True)
class Picture:
    """One photo of a visit, with the camera it was taken by: cameras at one site share visits.

    ``taken`` is its corrected local time, naive; ``kind`` is ``photo``, ``video`` or ``log`` (a row
    of a CSV photo log); ``file`` is where it lies, from the property folder, with ``/``, or None
    where it was never kept, or has gone from the disk.
    """

    camera: str
    taken: datetime
    kind: str
    file: str | None


@dataclass(frozen=True)
class VisitToTag:
    """One visit that waits for a tag.

    ``row`` is its row in the tag sheet as a spreadsheet shows it, None where it has none yet, and
    ``photo`` that row's cell as it stands there, ``photo_taken`` the time of that photo; ``taken``
    is the corrected local time of its first photo, both naive; ``pictures`` are its photos in order
    of time, copies left out; ``in_workbook``: whether a workbook has a row for it.
    """

    row: int | None
    photo: str
    camera: str
    site: str
    taken: datetime
    pictures: tuple[Picture, ...]
    in_workbook: bool = False
    photo_taken: datetime | None = None


@dataclass(frozen=True)
class SheetToTag:
    """What waits in the tag sheet of a camera (``sheet``, from the property folder, with ``/``).

    ``waiting`` is how many visits wait; ``visits`` the newest `NEWEST` of them, in order of row;
    ``cells`` the ``bucks`` cell of each row from the first to the last of these, as typed;
    ``faces`` of `deerlog.ingest.faces.known_faces`.
    """

    camera: str
    sheet: str
    waiting: int
    visits: tuple[VisitToTag, ...]
    cells: Mapping[int, str] = field(default_factory=dict)
    faces: Mapping[str, Sequence[str]] = field(default_factory=dict)


OnToTag = Callable[[Sequence[SheetToTag]], Sequence[Problem]]
"""Called by an ingest with what waits to be tagged; gives what went wrong in showing it."""


def sheets_to_tag(
    tagged: TaggedLog,
    *,
    newest: int = NEWEST,
    faces: Mapping[str, Sequence[str]] | None = None,
) -> tuple[SheetToTag, ...]:
    """What waits in each tag sheet, in order of camera; sheets in which nothing waits among them.

    ``newest``: how many visits of one sheet are given with their pictures; ``faces``: pictures to
    know each buck by.
    """
    sheets = [sheet for sheet in tagged.tags.sheets if not sheet.in_workbook]
    files = {sheet.camera: sheet.file for sheet in reversed(sheets)}
    rows = tagged.tags.table
    rows = rows[rows["visit"] >= 0]
    in_workbooks = set(rows.loc[rows["in_workbook"], "visit"])
    in_sheets = tagged.tags.table[~tagged.tags.table["in_workbook"]]
    rows = rows[~rows["in_workbook"]].drop_duplicates("visit").set_index("visit")
    visits = tagged.visits[~tagged.visits["tagged"].astype(bool)].set_index("visit")
    of_sheet = rows[["camera", "row", "photo", "photo_id"]]
    of_sheet = of_sheet.rename(columns={"camera": "owner", "photo_id": "row_photo"})
    visits = visits[["camera", "site", "first", "photo_id"]].join(of_sheet)
    owner = visits["owner"].fillna(visits["camera"])
    counts = owner.value_counts()
    order = visits.sort_values("first", kind="stable")
    shown = order.groupby(owner.loc[order.index], sort=False).tail(newest)
    pictures = _pictures(tagged.photos, shown.index)
    lost = shown["photo"].isna()
    first_path = tagged.photos["path"].take(shown["photo_id"].to_numpy()).to_numpy()
    shown = shown.assign(photo=shown["photo"].where(~lost, first_path), owner=owner)
    row_photo = shown["row_photo"].fillna(shown["photo_id"]).astype("int64").to_numpy()
    shown["photo_taken"] = tagged.photos["local"].take(row_photo).to_numpy()
    shown = shown.sort_values(["row", "first"], na_position="last", kind="stable")
    given: dict[str, list[VisitToTag]] = {}
    for visit, row in zip(shown.index.tolist(), shown.to_dict("records"), strict=True):
        given.setdefault(row["owner"], []).append(
            VisitToTag(
                row=None if pd.isna(row["row"]) else int(row["row"]),
                photo=row["photo"],
                camera=row["camera"],
                site=row["site"],
                taken=row["first"].tz_localize(None).to_pydatetime(),
                pictures=tuple(pictures[visit]),
                in_workbook=visit in in_workbooks,
                photo_taken=row["photo_taken"].tz_localize(None).to_pydatetime(),
            )
        )
    return tuple(
        SheetToTag(
            camera=camera,
            sheet=files.get(camera, f"{TAGS}/{camera}.csv"),
            waiting=int(counts.get(camera, 0)),
            visits=tuple(given.get(camera, ())),
            cells=_cells(in_sheets[in_sheets["file"] == files.get(camera)], given.get(camera, ())),
            faces=faces or {},
        )
        for camera in sorted({*files, *given})
    )


def _cells(rows: pd.DataFrame, visits: Sequence[VisitToTag]) -> dict[int, str]:
    """The ``bucks`` cells of a sheet's rows from the first to the last of some visits."""
    numbers = [visit.row for visit in visits if visit.row is not None]
    if not numbers:
        return {}
    rows = rows[rows["row"].between(min(numbers), max(numbers))]
    return dict(zip(rows["row"].tolist(), rows["bucks"].tolist(), strict=True))


def files_on_disk(photos: pd.DataFrame) -> dict[int, str]:
    """Where each picture lies, by the first of its copies that is on the disk.

    From the property folder, by the ``photo_id`` of the one that counts.
    """
    there = (photos["listed_in"] == "") & ~photos["gone"] & (photos["replaced"] == 0)
    original = photos["same_as"].fillna(photos["photo_id"]).astype("int64")
    on_disk = photos[there].assign(original=original[there])
    on_disk = on_disk.sort_values(["original", "photo_id"]).drop_duplicates("original")
    paths = f"{CARDS}/" + on_disk["folder"] + "/" + on_disk["path"]
    return dict(zip(on_disk["original"].tolist(), paths.tolist(), strict=True))


def _pictures(photos: pd.DataFrame, visits: pd.Index) -> Mapping[int, list[Picture]]:
    """The photos of some visits."""
    inside = photos[photos["visit"].isin(visits)]
    files = files_on_disk(inside)
    counts = inside[inside["same_as"].isna()].sort_values(["visit", "time", "photo_id"])
    taken = pd.DatetimeIndex(counts["local"]).tz_localize(None).to_pydatetime()
    columns = (counts[name].tolist() for name in ("visit", "photo_id", "camera", "kind"))
    found: dict[int, list[Picture]] = {}
    for visit, photo_id, camera, kind, time in zip(*columns, taken, strict=True):
        found.setdefault(visit, []).append(Picture(camera, time, kind, files.get(photo_id)))
    return found
