"""New rows for the tag sheets, appended in each sheet's own form; nothing in them is ever changed.

A path that begins with ``=``, ``+``, ``-``, ``@`` or a space would be run as a formula, or lose its
space, when a spreadsheet program opens the sheet. Such a path is written with ``./`` before it,
which means the same file and is plain text everywhere.
"""

from __future__ import annotations

import csv
import io
import re
import shutil
import stat
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.tags.photo_finder import plain_path
from deerlog.ingest.tags.tags import COLUMNS, TAGS, TagRows, TagSheet
from deerlog.property.table_reader import SheetTable, column_key, read_table_bytes
from deerlog.property.whole_file import UNFINISHED, clear_away, write_whole
from deerlog.property.wording import count

NEW_SHEET = (",".join(COLUMNS) + "\n").encode()
_UNSAFE_STARTS = ("=", "+", "-", "@", "\t", "\r", " ")


@dataclass(frozen=True)
class NewRow:
    """A visit without a row: its first photo, and how many there are."""

    photo: str
    taken: str
    photos: int


def rows_wanted(
    visits: pd.DataFrame, photos: pd.DataFrame, tags: TagRows
) -> dict[str, list[NewRow]]:
    """For each camera, a row for each visit that has none yet, in order of time.

    ``visits`` are of `deerlog.ingest.tags.sightings.visit_table`, ``photos`` of
    `deerlog.ingest.field_log.logged_photos`.
    """
    without = visits[~visits["visit"].isin(list(tags.has_row))]
    without = without.sort_values(["camera", "first", "visit"], kind="stable")
    first = photos.iloc[without["photo_id"].to_numpy()]
    taken = first["local"].dt.strftime("%Y-%m-%d %H:%M:%S")
    columns = (c.tolist() for c in (without["camera"], first["path"], taken, without["photos"]))
    wanted: dict[str, list[NewRow]] = {}
    for camera, path, time, number in zip(*columns, strict=True):
        photo = f"./{path}" if path.startswith(_UNSAFE_STARTS) else path
        wanted.setdefault(camera, []).append(NewRow(photo, time, int(number)))
    return wanted


def append_rows(
    folder: Path, sheets: Iterable[TagSheet], wanted: dict[str, list[NewRow]]
) -> tuple[dict[str, int], list[Problem]]:
    """Append rows to the tag sheets of a property folder, making those that are not there.

    Gives how many rows were added for each camera; and the sheets left alone, and why: their rows
    come with the next ingest.
    """
    by_camera = {s.camera: s for s in reversed([*sheets]) if not s.in_workbook}
    for left_over in (folder / TAGS).glob(f"{UNFINISHED}*"):
        clear_away(left_over)
    appended: dict[str, int] = {}
    problems: list[Problem] = []
    for camera, rows in sorted(wanted.items()):
        file, path = f"{TAGS}/{camera}.csv", folder / TAGS / f"{camera}.csv"
        new = TagSheet(camera, file, path, b"", read_table_bytes(NEW_SHEET, COLUMNS, file=file))
        sheet = by_camera.get(camera, new)
        try:
            appended[camera] = _append(sheet, rows, problems)
        except _LeftAlone as reason:
            problems.append(
                Problem(
                    kind="tag-sheet-left-alone",
                    file=sheet.file,
                    why=f"{reason} {count(len(rows), 'new visit is', 'new visits are')} not in "
                    "it yet; nothing in it was changed.",
                    how=reason.how,
                    must_mend=not reason.told,
                    harm=float(len(rows)),
                )
            )
    return appended, problems


class _LeftAlone(Exception):
    def __init__(self, why: str, how: str, *, told: bool = False) -> None:
        super().__init__(why)
        self.how = how
        self.told = told
        """Whether the sheet has a problem of its own that says so, and is to be mended."""


def _append(sheet: TagSheet, rows: Sequence[NewRow], problems: list[Problem]) -> int:
    """How many rows were added; those that would not be read back as they are meant are told.

    A row that is not found again would be appended anew by every ingest.
    """
    table, path = sheet.table, sheet.path
    if table is None:
        raise _LeftAlone(
            "The tag sheet cannot be read.",
            "`deerlog check` says what is wrong with it; mend that and run ingest again.",
            told=True,
        )
    open_quote = [p.row for p in table.problems if p.kind == "open-quote"]
    if open_quote:
        raise _LeftAlone(
            f"Row {open_quote[0]} has a quotation mark that is never closed, which would swallow "
            "the rows below it.",
            "Mend that row, then run ingest again.",
            told=True,
        )
    if sheet.by_time:
        raise _LeftAlone(
            "The tag sheet has lost its column photo.",
            "Put that column back, then run ingest again.",
            told=True,
        )
    if sheet.raw and not path.stat().st_mode & stat.S_IWRITE:
        raise _LeftAlone(
            "The tag sheet is set read-only.", "Allow writing to it, then run ingest again."
        )
    # With these a spreadsheet program marks a sheet as open.
    for lock in (f".~lock.{path.name}#", f"~${path.name}"):
        if (path.parent / lock).exists():
            raise _LeftAlone(
                f"The tag sheet is open in a spreadsheet program (it has left {lock} beside it).",
                "Save and close it there, then run ingest again; if it is not open, delete that "
                "file.",
            )
    before = sheet.raw or NEW_SHEET

    def read_back(rows: Sequence[NewRow]) -> bytes:
        """What rows are written as; nothing where they would be read back otherwise."""
        text = _encoded(before, table, rows)
        read = read_table_bytes(before + text, COLUMNS, file=sheet.file).frame["photo"].tolist()
        back = [plain_path(photo, sheet.camera) for photo in read[len(table.frame) :]]
        return text if back == [plain_path(row.photo, sheet.camera) for row in rows] else b""

    text, lost = read_back(rows), []
    if not text:
        lost = [row for row in rows if not read_back([row])]
        rows = [row for row in rows if row not in lost]
        text = _encoded(before, table, rows)
    problems += [
        Problem(
            kind="tag-path",
            file=sheet.file,
            column="photo",
            value=row.photo,
            why="The photo's path cannot stand in a cell so that it can be read back; its visit "
            "has no row.",
            how="Rename the file or its folder on the disk, then run ingest again.",
            harm=1.0,
        )
        for row in lost
    ]
    if rows:
        _replace(sheet, before + text)
    return len(rows)


def _encoded(before: bytes, table: SheetTable, rows: Sequence[NewRow]) -> bytes:
    """Rows in the sheet's own delimiter, encoding, line ends and columns."""
    place = {column_key(cell): i for i, cell in enumerate(table.columns)}
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=table.delimiter, lineterminator=table.newline)
    for row in rows:
        cells = [""] * len(table.columns)
        for name in COLUMNS[:3]:
            if name in place:
                cells[place[name]] = str(getattr(row, name))
        writer.writerow(cells)
    text = out.getvalue()
    newline = table.newline.encode(table.encoding)
    if not before.endswith(newline) and not re.search(
        rb"[\r\n]$" if len("\n".encode(table.encoding)) == 1 else rb"(?!)", before
    ):
        text = table.newline + text
    try:
        return text.encode(table.encoding)
    except UnicodeEncodeError as error:
        raise _LeftAlone(
            f"A photo's path holds letters that the sheet's encoding ({table.encoding}) cannot "
            "write.",
            "Open the sheet in a spreadsheet program, save it as CSV in UTF-8, then run ingest "
            "again.",
        ) from error


def _replace(sheet: TagSheet, content: bytes) -> None:
    """Put new content in the place of a sheet, or of what it is a link to; or leave it alone."""
    path = sheet.path.resolve() if sheet.path.is_symlink() else sheet.path

    def last_look(fresh: Path) -> None:
        if path.exists():
            shutil.copymode(path, fresh)
        # As late as possible: between here and the exchange a person would have to save.
        if (path.read_bytes() if path.exists() else b"") != sheet.raw:
            raise _LeftAlone("The tag sheet was changed while ingest ran.", "Run ingest again.")

    try:
        write_whole(path, content, last_look=last_look)
    except PermissionError as error:
        raise _LeftAlone(
            "The tag sheet cannot be written: it is open in another program, or you may not "
            "change it.",
            "Close it there, or allow writing to it, then run ingest again.",
        ) from error
    except OSError as error:
        raise _LeftAlone(
            f"The tag sheet cannot be written ({error.strerror or type(error).__name__}).",
            "Check the disk and the folder, then run ingest again.",
        ) from error
