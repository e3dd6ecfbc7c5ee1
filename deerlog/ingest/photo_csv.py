"""Photo logs in CSV, for cameras whose pictures are not kept or carry no EXIF."""

from __future__ import annotations

import posixpath
from collections.abc import Iterator
from pathlib import Path
from typing import TypeVar

from deerlog.errors import Problem, PropertyError
from deerlog.ingest.photo_file import FileRecord
from deerlog.property.cell_values import CellError
from deerlog.property.day_and_time import parse_time
from deerlog.property.table_reader import SheetTable, read_table

_T = TypeVar("_T")

COLUMNS = ("file", "taken", "look", "kind")
_LOOKS = {"grey": 0.0, "gray": 0.0, "colour": 1.0, "color": 1.0}
_KINDS = {"": "log", "photo": "log", "log": "log", "video": "video"}


def read_photo_csv(place: Path, camera: str, path: str) -> tuple[list[FileRecord], list[Problem]]:
    """Read a CSV below a camera's folder as photos.

    Columns: ``file``, a path relative to the CSV's own folder; ``taken``, what the camera showed;
    and, where there are any, ``look`` (``grey`` or ``colour``) and ``kind`` (``photo`` or
    ``video``).

    Parameters
    ----------
    place
        Where the CSV lies on disk.
    camera, path
        The camera, and the CSV's path below its folder.

    Returns
    -------
    rows
        One record for each usable row, with paths below the camera's folder.
    problems
        Rows left out, and why; or one problem where the file cannot be used at all.

    Raises
    ------
    PropertyError
        The file cannot be opened, is not a CSV, or lacks a column.
    """
    sheet = read_table(place, COLUMNS, required=("file", "taken"), file=f"cards/{camera}/{path}")
    problems = list(sheet.problems)
    rows: dict[str, FileRecord] = {}
    first_row: dict[str, int] = {}
    folder = posixpath.dirname(path)
    for row, file, taken, look, kind in _cells(sheet):
        try:
            below = _below_camera(file, folder)
            shown = _shown(taken)
            record = FileRecord(
                camera,
                below,
                0,
                0,
                _one_of(_KINDS, kind, "kind"),
                shown=shown,
                time_source="csv",
                look=_one_of(_LOOKS, look, "look") if look else None,
            )
        except _BadCell as bad:
            problems.append(
                Problem(
                    kind="bad-cell",
                    file=sheet.file,
                    row=row,
                    column=bad.column,
                    value=bad.value,
                    why=f"{bad.error.what} The row is left out.",
                    how=bad.error.how,
                )
            )
            continue
        earlier = rows.setdefault(below, record)
        first_row.setdefault(below, row)
        if earlier.shown != record.shown:
            problems.append(
                Problem(
                    kind="photo-listed-twice",
                    file=sheet.file,
                    row=row,
                    column="file",
                    value=file,
                    why=f"Row {first_row[below]} lists this file with another time "
                    f"({earlier.shown}); this row is left out.",
                    how="Give each photo a file name of its own, or remove the wrong row.",
                )
            )
    return list(rows.values()), problems


def csv_problem(error: PropertyError, camera: str, path: str) -> Problem:
    """A CSV that cannot be used at all, as a problem."""
    return Problem(
        kind="photo-csv",
        file=f"cards/{camera}/{path}",
        why=f"The CSV is not read as a photo log: {error.what}",
        how=f"A CSV below cards/ lists photos in the columns file,taken. {error.how}",
    )


class _BadCell(Exception):
    def __init__(self, column: str, value: str, error: CellError) -> None:
        super().__init__(column, value, error)
        self.column = column
        self.value = value
        self.error = error


def _cells(sheet: SheetTable) -> Iterator[tuple[int, str, str, str, str]]:
    frame = sheet.frame
    blank = [""] * len(frame)
    columns = [frame[name].tolist() if name in frame else blank for name in COLUMNS]
    return zip(frame["row"].tolist(), *columns, strict=True)


def _below_camera(file: str, folder: str) -> str:
    path = file.replace("\\", "/")
    absolute = path.startswith("/") or path[1:3] == ":/"
    below = posixpath.normpath(posixpath.join(folder, path)) if path else "."
    if not path or absolute or below == "." or below == ".." or below.startswith("../"):
        error = CellError(
            f"{file!r} is no path to a picture below this camera's folder.",
            how="Write the file's name, or its path relative to this CSV.",
        )
        raise _BadCell("file", file, error)
    return below


def _shown(taken: str) -> str:
    """The time as stored: without seconds where none were given."""
    try:
        time = parse_time(taken)
    except CellError as error:
        raise _BadCell("taken", taken, error) from error
    whole = time.replace(microsecond=0).isoformat(sep=" ")
    return whole if taken.count(":") != 1 else whole[:16]


def _one_of(choices: dict[str, _T], text: str, column: str) -> _T:
    try:
        return choices[text.casefold()]
    except KeyError:
        words = ", ".join(choice for choice in choices if choice)
        error = CellError(f"{text!r} is not one of: {words}.", how="Write one of these, or none.")
        raise _BadCell(column, text, error) from None
