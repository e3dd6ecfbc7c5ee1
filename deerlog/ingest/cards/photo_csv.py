"""Photo logs in CSV, for cameras whose pictures are not kept or carry no EXIF."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from deerlog.errors import Problem, PropertyError
from deerlog.ingest.cards.photo_file import FileRecord
from deerlog.property.cell_values import CellError, parse_number, parse_yes_no
from deerlog.property.day_and_time import parse_day, parse_time
from deerlog.property.table_reader import SheetTable, read_table
from deerlog.property.table_rows import Faults, column_order, table_problem

_T = TypeVar("_T")

COLUMNS = ("file", "taken", "look", "kind", "flash", "offset", "fingerprint", "read", "gone")
REQUIRED = ("file", "taken")
HEAD_BYTES = 20
"""Length of the hash of a file's leading bytes in the photo log."""
FINGERPRINT_BYTES = 8
"""How many of them tell pictures apart, and stand in a fingerprint."""
_OFFSET = re.compile(r"([+-])([0-9]{2}):([0-9]{2})")
_FINGERPRINT = re.compile(rf"([0-9]{{1,15}})-([0-9a-f]{{{2 * FINGERPRINT_BYTES}}})")
_LOOKS = {"grey": 0.0, "gray": 0.0, "colour": 1.0, "color": 1.0}
_KINDS = {"": "log", "photo": "log", "log": "log", "video": "video"}


def read_photo_csv(
    place: Path, camera: str, path: str, *, date_order: str = ""
) -> tuple[list[FileRecord], list[Problem]]:
    """Read a CSV below a camera's folder as photos.

    Columns: ``file``, a path relative to the CSV's own folder; ``taken``, what the camera showed;
    and, where there are any:

    - ``look``: ``grey``, ``colour``, or a number from 0 (grey) to 1
    - ``kind``: ``photo`` or ``video``
    - ``flash``: whether it fired
    - ``offset``: what the camera stated beside the time, as ``-06:00``
    - ``fingerprint``: the file's size and the hash of its leading bytes, as ``48211-`` and 16
      hexadecimal digits. Pictures with one fingerprint and time are copies; one path may hold
      several pictures with different ones (numbering began again in the same folder)
    - ``read``: the day the picture was read, after which it cannot have been taken
    - ``gone``: that a copy of it, elsewhere, is the one that counts

    The CSV lies at ``place`` on disk and at ``path`` below the camera's folder, as do the pictures
    of the records: one for each usable row. Problems are rows left out. `PropertyError` says that
    the file cannot be opened, is not a CSV, or lacks a column.
    """
    sheet = read_table(place, COLUMNS, required=REQUIRED, file=f"cards/{camera}/{path}")
    return photo_rows(sheet, camera, path, date_order=date_order)


def photo_rows(
    sheet: SheetTable, camera: str, path: str, *, date_order: str = ""
) -> tuple[list[FileRecord], list[Problem]]:
    """The rows of a CSV that was opened already; see `read_photo_csv`."""
    problems = Faults(sheet.file, (replace(problem, harm=1.0) for problem in sheet.problems))
    rows: dict[tuple[str, bytes | None], FileRecord] = {}
    first_at: dict[str, tuple[int, FileRecord]] = {}
    parsers = _parsers(sheet, posixpath.dirname(path), date_order)
    frame = sheet.frame.assign(**{name: "" for name in COLUMNS if name not in sheet.frame})
    for cells in frame.to_dict("records"):
        read, column = {}, ""
        try:
            for column, parse in parsers.items():
                if cells[column] or column in _NOT_BLANK:
                    read[column] = parse(cells[column])
        except CellError as error:
            why = f"{error.what} The row is left out."
            problems.add("bad-cell", cells, column, why, error.how, harm=1.0)
            continue
        record = _record(camera, read)
        row_before, earlier = first_at.setdefault(record.path, (cells["row"], record))
        if earlier.shown == record.shown or (earlier.head and record.head):
            rows.setdefault((record.path, record.head), record)
        else:
            why = (
                f"Row {row_before} lists this file with another time ({earlier.shown}); this row "
                "is left out."
            )
            how = "Give each photo a file name of its own, or remove the wrong row."
            problems.add("photo-listed-twice", cells, "file", why, how, harm=1.0)
    return list(rows.values()), problems


def csv_problem(error: PropertyError, camera: str, path: str, n_rows: int) -> Problem:
    """A CSV that cannot be used at all, as a problem; ``n_rows`` is what it would have held."""
    why = f"The CSV is not read as a photo log: {error.what}"
    how = f"A CSV below cards/ lists photos in the columns file,taken. {error.how}"
    return table_problem("photo-csv", f"cards/{camera}/{path}", why, how, n_rows)


_NOT_BLANK = ("taken", "kind", "file")
_AS_READ = {"offset": "offset_minutes", "look": "look", "flash": "flash", "read": "read_on"}
"""Columns kept as they are read, and what `FileRecord` calls them."""


def _parsers(sheet: SheetTable, folder: str, date_order: str) -> dict[str, Callable[[str], Any]]:
    """How each column is read."""
    taken, read = (column_order(sheet, name, date_order) for name in ("taken", "read"))
    return {
        "fingerprint": _fingerprint,
        "taken": lambda text: _shown(text, taken),
        "kind": lambda text: _one_of(_KINDS, text),
        "file": lambda text: _below_camera(text, folder),
        "offset": _offset_minutes,
        "look": lambda t: _one_of(_LOOKS, t) if t[0].isalpha() else parse_number(t, low=0, high=1),
        "flash": parse_yes_no,
        "read": lambda text: parse_day(text, date_order=read).isoformat(),
        "gone": parse_yes_no,
    }


def _record(camera: str, read: dict[str, Any]) -> FileRecord:
    size, head = read.get("fingerprint", (0, None))
    shown, fraction_us = read["taken"]
    # A picture that was once read is as good as one that is there.
    kind = "photo" if head and read["kind"] == "log" else read["kind"]
    given: dict[str, Any] = {column: read.get(name) for name, column in _AS_READ.items()}
    record = FileRecord(camera, read["file"], size, 0, kind, shown=shown, time_source="csv")
    gone = read.get("gone", False)
    return record._replace(fraction_us=fraction_us, head=head, gone=gone, **given)


def _offset_minutes(text: str) -> int:
    match = _OFFSET.fullmatch(text)
    minutes = int(match[2]) * 60 + int(match[3]) if match else 9999
    if not match or minutes > 14 * 60:
        what = f"{text!r} is not an offset from UTC."
        raise CellError(what, how="Write it as -06:00, or nothing.")
    return -minutes if match[1] == "-" else minutes


def _fingerprint(text: str) -> tuple[int, bytes]:
    match = _FINGERPRINT.fullmatch(text.casefold())
    if not match:
        raise CellError(
            f"{text!r} is not a fingerprint of a picture.",
            how="Leave it as deerlog wrote it, or write nothing.",
        )
    return int(match[1]), bytes.fromhex(match[2]).ljust(HEAD_BYTES, b"\0")


def _below_camera(file: str, folder: str) -> str:
    path = file.replace("\\", "/")
    absolute = path.startswith("/") or path[1:3] == ":/"
    below = posixpath.normpath(posixpath.join(folder, path)) if path else "."
    if not path or absolute or below == "." or below == ".." or below.startswith("../"):
        raise CellError(
            f"{file!r} is not a path to a picture below this camera's folder.",
            how="Write the file's name, or its path relative to this CSV.",
        )
    return below


def _shown(taken: str, date_order: str) -> tuple[str, int]:
    """The time as stored (without seconds where none were given), and microseconds beyond it."""
    time = parse_time(taken, date_order=date_order)
    whole = time.replace(microsecond=0).isoformat(sep=" ")
    return (whole if taken.count(":") != 1 else whole[:16]), time.microsecond


def _one_of(choices: dict[str, _T], text: str) -> _T:
    if text.casefold() not in choices:
        what = f"{text!r} is not one of: {', '.join(choice for choice in choices if choice)}."
        raise CellError(what, how="Write one of these, or leave it blank.")
    return choices[text.casefold()]
