"""Writes the tag sheets as a person would have filled them by the last day, slips included."""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from drawing.mishaps import LAST_DUMP, NOT_TAGGED_YET
from drawing.photos import Photo

HEADER = ["photo", "taken", "photos", "bucks", "others", "notes"]
SEMICOLON_SHEET = "cam-03"
"""Saved by a spreadsheet that writes a byte-order mark, ``;`` and CRLF."""
EXTRA_COLUMN_SHEET, EXTRA_COLUMN = "cam-05", "heading"
_BLANK_SHARE = 0.22
_TYPOS = (  # camera, name, as typed, season
    ("cam-03", "Ladle", "Ladel", 2025),
    ("cam-03", "Picket", "Pickett", 2026),
    ("cam-03", "Thimble", "Thimbel", 2026),
    ("cam-05", "Gimlet", "gimlet", 2025),
)
_UNSURE = (("cam-02", "Sawhorse", 2025), ("cam-09", "Picket", 2026), ("cam-10", "Kettle", 2026))
_NOTES = ("", "", "", "", "", "limping?", "facing the camera", "nice light", "nose down", "chasing")


@dataclass
class Row:
    """One visit in a tag sheet. ``wart`` names what is wrong with it."""

    camera: str
    photo: Photo
    photos: int
    names: list[str]
    bucks: str
    others: str
    notes: str = ""
    wart: str = ""
    left_out: bool = False
    extra: str = ""
    all_photos: list[Photo] = field(default_factory=list)


def tag_rows(photos: list[Photo], spoiled: dict[str, str], rng: np.random.Generator) -> list[Row]:
    """A row for each visit, tagged by a person who makes the known slips."""
    unreadable = {spoiled["truncated"], spoiled["zero bytes"]}
    visits: dict[int, list[Photo]] = defaultdict(list)
    for photo in photos:
        if f"{photo.camera}/{photo.path}" not in unreadable:
            visits[photo.visit].append(photo)
    rows = [_row(visit, spoiled, rng) for visit in visits.values()]
    _slip(rows)
    return rows


def _row(visit: list[Photo], spoiled: dict[str, str], rng: np.random.Generator) -> Row:
    first = visit[0]
    names: list[str] = []
    others: list[str] = []
    for photo in visit:
        if photo.event.buck and photo.event.buck not in names:
            names.append(photo.event.buck)
        for other in photo.event.others.split(";"):
            if other and other not in others:
                others.append(other)
    # Before he was known for one buck, Tongs had another name.
    typed = ["Mallet" if n == "Tongs" and first.dump == "2024" else n for n in names]
    row = Row(
        camera=first.camera,
        photo=first,
        photos=len(visit),
        names=names,
        bucks=";".join(typed) or "-",
        others=";".join(others),
        notes=str(rng.choice(_NOTES)) if names and rng.random() < 0.25 else "",
        extra=str(rng.choice(["N", "S", "E", "W"])) if names and rng.random() < 0.3 else "",
        all_photos=visit,
    )
    if first.dump == LAST_DUMP:
        video = any(f"{p.camera}/{p.path}" == spoiled["video"] for p in visit)
        if first.camera in NOT_TAGGED_YET or video:
            row.left_out = True
        elif rng.random() < (0.05 if {"Gimlet", "Washboard"} & set(names) else _BLANK_SHARE):
            row.bucks, row.others, row.notes, row.extra = "", "", "", ""
    return row


def _slip(rows: list[Row]) -> None:
    """The slips of the pen, each on the middle one of the rows that could bear it."""
    for camera, name, typed, season in _TYPOS:
        row = _middle(rows, camera, season, name)
        row.bucks, row.wart = row.bucks.replace(name, typed), "typo"
    for camera, name, season in _UNSURE:
        row = _middle(rows, camera, season, name)
        row.bucks, row.wart = row.bucks.replace(name, name + "?"), "unsure"
    row = _middle(rows, "cam-02", 2026, "")
    row.bucks, row.others, row.wart = "10-Aug", "young buck", "date"  # he typed 8-10, points a side
    row = _middle(rows, "cam-03", 2025, "", month=11, others="young buck")
    row.bucks, row.wart = "Whisk", "wrong tag"
    row.notes = "thin tines?"


def _middle(
    rows: list[Row], camera: str, season: int, name: str, month: int = 0, others: str = ""
) -> Row:
    def fits(row: Row) -> bool:
        when = row.photo.corrected
        return (
            row.camera == camera
            and (when.year if when.month >= 6 else when.year - 1) == season
            and (row.names == [name] if name else row.names == [])
            and row.bucks not in ("",)
            and not row.wart
            and not row.left_out
            and (not month or when.month == month)
            and (not others or row.others == others)
        )

    fit = [row for row in rows if fits(row)]
    if not fit:
        raise AssertionError(f"no row on {camera} in {season} for {name or others}")
    return fit[len(fit) // 2]


def write_sheets(folder: Path, rows: list[Row]) -> None:
    """Writes ``tags/<camera>.csv``, rows in order of time."""
    folder.mkdir(parents=True, exist_ok=True)
    sheets: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        if not row.left_out:
            sheets[row.camera].append(row)
    for camera, sheet in sheets.items():
        semicolon = camera == SEMICOLON_SHEET
        wide = camera == EXTRA_COLUMN_SHEET
        text = io.StringIO()
        writer = csv.writer(
            text, delimiter=";" if semicolon else ",", lineterminator="\r\n" if semicolon else "\n"
        )
        writer.writerow([*HEADER, EXTRA_COLUMN] if wide else HEADER)
        for row in sheet:
            cells = [
                row.photo.path,
                f"{row.photo.corrected:%Y-%m-%d %H:%M:%S}",
                row.photos,
                row.bucks,
                row.others,
                row.notes,
            ]
            writer.writerow([*cells, row.extra] if wide else cells)
        data = text.getvalue().encode("utf-8-sig" if semicolon else "utf-8")
        (folder / f"{camera}.csv").write_bytes(data)
