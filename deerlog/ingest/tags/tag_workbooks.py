"""Workbooks below ``tags/``, read back: what a person wrote in them counts like the tag sheets.

A workbook holds visits of all cameras, with their pictures. It is written once and never again;
where it and a tag sheet say different things of one photo, both are kept and that is told. A tag
sheet that a spreadsheet program has saved in its own form is read like a workbook, or named where
it cannot be read.
"""

from __future__ import annotations

import warnings
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any, NamedTuple

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.tags.tags import COLUMNS, TAGS, TagRows, TagSheet
from deerlog.property.cell_values import rows_in_words
from deerlog.property.matching import fold_name
from deerlog.property.table_reader import SheetTable
from deerlog.property.table_rows import rows_in
from deerlog.property.wording import agree, count

WORKBOOKS = "workbooks"
"""Folder below ``tags/`` for workbooks."""
READ = (".xlsx", ".xlsm")
TEXT = (".tsv", ".txt")
NOT_READ = (".xls", ".xlsb", ".ods", ".numbers", *TEXT)
"""Forms in which a spreadsheet program saves a tag sheet, and which are not read."""


def workbook_files(folder: Path) -> list[Path]:
    """Every file below ``tags/`` that may hold tags in a spreadsheet program's own form."""
    found = [*(folder / TAGS).glob("*"), *(folder / TAGS / WORKBOOKS).glob("*")]
    return sorted(
        path
        for path in found
        if path.suffix.casefold() in (*READ, *NOT_READ)
        and not path.name.startswith(("~$", "."))
        # The form of one program is a folder; what is no file, such as a pipe, is never opened.
        and (path.is_file() or path.is_dir() or path.is_symlink())
    )


def workbook_state(path: Path) -> bytes:
    """What tells one content of a workbook from another, without reading its pictures."""
    if path.is_dir():  # the form of one program is a folder
        return b""
    try:
        with zipfile.ZipFile(path) as book:
            parts = [(p.filename, p.file_size, p.CRC) for p in book.infolist()]
    except Exception:  # a damaged archive makes the reader raise nearly anything
        return path.read_bytes()
    return repr(parts).encode()


WORKBOOK_COLUMNS = ("camera", *COLUMNS)
"""The columns that are read back, in any order; others are passed over."""

INSTALL = 'pip install "deerlog[workbook]"'
_NEEDED = ("camera", "photo", "bucks")
_HEADER_ROWS = 10
"""Rows looked through for the header: a person may have put lines above it (our choice)."""


def read_tag_workbooks(folder: Path, cameras: Iterable[str]) -> list[TagSheet]:
    """Read every workbook of a property folder, in order of name: one sheet a workbook and camera.

    Those are ``tags/workbooks/*.xlsx``; and in ``tags/`` itself a sheet of the columns of a tag
    sheet that was saved as ``tags/<camera>.xlsx``. A camera's name that differs in case or spaces
    only is theirs. One without a table, and with a problem, for a workbook that could not be read.
    """
    known = {fold_name(camera): camera for camera in cameras}
    sheets: list[TagSheet] = []
    for path in workbook_files(folder):
        name, suffix = fold_name(path.stem), path.suffix.casefold()
        in_tags = path.parent.name != WORKBOOKS
        file = path.relative_to(folder).as_posix()
        try:
            if suffix not in READ:
                raise Unreadable(
                    f"deerlog cannot read a file of the form {path.suffix}.",
                    "Open it in a spreadsheet program and save it as .xlsx.",
                )
            sheets += _sheets(path, file, known, known.get(name, ""))
        except Unreadable as reason:
            # The camera the file is named after, also with more behind it; but for such as a
            # person's own notes.
            hits = [camera for camera in known if name.startswith(camera)]
            hits = [camera for camera in hits if suffix not in TEXT or name == camera]
            meant = known[max(hits, key=len)] if hits else ""
            # A file of another name in tags/ is the person's own business, unless it holds tags.
            if not meant and (in_tags or suffix in TEXT):
                continue
            how = reason.how[:1].upper() + reason.how[1:]
            if in_tags:
                how = _as_csv(meant) + (f" Or {reason.how}" if reason.no_reader else "")
            problem = Problem(
                kind="tag-sheet-not-csv" if in_tags else "tag-workbook",
                file=file,
                why=f"The tags in it do not count. {reason}",
                how=how,
                harm=float(rows_in(path)),
            )
            sheets.append(TagSheet(meant, file, path, problem=problem))
    return sheets


def _as_csv(camera: str) -> str:
    return (
        "Open it in the spreadsheet program, save it as CSV (comma separated, UTF-8) over "
        f"{TAGS}/{camera}.csv, and take this file out of {TAGS}/."
    )


class Unreadable(Exception):
    def __init__(self, why: str, how: str, *, no_reader: bool = False) -> None:
        super().__init__(why)
        self.how = how
        self.no_reader = no_reader
        """The package that reads workbooks is not there."""


class Workbook(NamedTuple):
    """What a workbook holds.

    ``rows`` of its first worksheet that has the columns, each with its number; the names of others
    that have them, each with how many tags it holds; and rows whose ``bucks`` is a formula of which
    the program that saved it left no value.
    """

    rows: list[tuple[int, dict[str, str]]]
    others: list[tuple[str, int]]
    formulas: list[int]


def _sheets(path: Path, file: str, known: Mapping[str, str], own: str) -> Iterator[TagSheet]:
    """One for each camera; ``own`` is the one the file is named after, ``""`` for none."""
    book = read_workbook(path, own)
    rows: dict[str, list[tuple[int, dict[str, str]]]] = {}
    for row, cells in book.rows:
        if cells["camera"] or cells["photo"]:
            camera = known.get(fold_name(cells["camera"]), cells["camera"]) or own
            rows.setdefault(camera, []).append((row, cells))
    for camera, found in rows.items():
        frame = pd.DataFrame(
            {name: pd.Series([cells[name] for _, cells in found], dtype="str") for name in COLUMNS}
            | {"row": pd.Series([row for row, _ in found], dtype="int64")}
        )
        table = SheetTable(
            frame=frame, file=file, encoding="", bom=b"", delimiter="", newline="", columns=COLUMNS
        )
        yield TagSheet(camera, file, path, table=table)
    for name, tags in book.others:
        problem = Problem(
            kind="tag-second-worksheet",
            file=file,
            why=f"{count(tags, 'tag')} in worksheet {name!r} {agree(tags, 'does', 'do')} not "
            "count: of a workbook the first worksheet with the columns is read.",
            how=f"Move its rows into that one, or save it as a workbook of its own in {TAGS}/"
            f"{WORKBOOKS}/.",
            harm=float(tags),
        )
        yield TagSheet(own, file, path, problem=problem)
    if book.formulas:
        problem = Problem(
            kind="tag-formula",
            file=file,
            row=book.formulas[0],
            column="bucks",
            why=f"The name in {rows_in_words(book.formulas)} is a formula, and the program that "
            "saved the workbook left no value of it, so nobody is tagged there.",
            how="Copy the cells and paste them as values; or open the workbook in a spreadsheet "
            "program, let it compute, and save it.",
            harm=float(len(book.formulas)),
        )
        yield TagSheet(own, file, path, problem=problem)
    if path.parent.name != WORKBOOKS:
        problem = Problem(
            kind="tag-sheet-not-csv",
            file=file,
            why="This is not a CSV. The tags in it are read and count, but new visits are added to "
            f"{TAGS}/{own or '<camera>'}.csv only.",
            how=(_as_csv(own) + " Or move it" if own else "Move it")
            + f" into {TAGS}/{WORKBOOKS}/.",
            must_mend=False,
        )
        yield TagSheet(own, file, path, problem=problem)


def read_workbook(path: Path, own: str) -> Workbook:
    """Read a workbook; ``own`` is the camera it is named after, ``""`` for none.

    Unreadable where it cannot be read, or no worksheet has the columns.
    """
    try:
        from openpyxl import load_workbook
    except ImportError:
        raise Unreadable(
            "The package that reads a workbook is not installed.",
            f"install it: {INSTALL}",
            no_reader=True,
        ) from None
    try:
        if not path.is_file():
            raise OSError(0, "it is no file")
        with path.open("rb") as file, warnings.catch_warnings():
            # Programs store more in a workbook than is needed here, and the reader warns of it.
            warnings.simplefilter("ignore")
            book = load_workbook(file, read_only=True, data_only=True)
            found = {
                sheet.title: table
                for sheet in book.worksheets
                if (table := _table(sheet.iter_rows(values_only=True), own)) is not None
            }
            book.close()
            if found:
                (first, rows), *more = found.items()
                tags = {name: sum(bool(c["bucks"]) for _, c in table) for name, table in more}
                others = [(name, n) for name, n in tags.items() if n]
                formulas: list[int] = []
                if _has_formulas(path):
                    book = load_workbook(file, read_only=True)
                    as_typed = dict(_table(book[first].iter_rows(values_only=True), own) or ())
                    blank = [row for row, cells in rows if not cells["bucks"]]
                    formulas = [row for row in blank if as_typed[row]["bucks"].startswith("=")]
                    book.close()
                return Workbook(rows, others, formulas)
    except OSError as error:
        raise Unreadable(
            f"The workbook cannot be read ({error.strerror or type(error).__name__}).",
            "Close it in other programs and check that you may read it.",
        ) from error
    except Exception as error:  # a damaged file makes the reader raise nearly anything
        raise Unreadable(
            f"The workbook is damaged, or is not one ({type(error).__name__}).",
            "Open it in a spreadsheet program and save it anew as .xlsx, or take it out of the "
            "folder.",
        ) from error
    raise Unreadable(
        f"No worksheet of the workbook has the columns {', '.join(_NEEDED)}.",
        "Give the columns their names back, in one row above the data.",
    )


def _has_formulas(path: Path) -> bool:
    with zipfile.ZipFile(path) as book:
        parts = [name for name in book.namelist() if name.startswith("xl/worksheets/")]
        return any(mark in book.read(part) for part in parts for mark in (b"<f>", b"<f "))


def _table(rows: Iterable[Sequence[Any]], own: str) -> list[tuple[int, dict[str, str]]] | None:
    needed = _NEEDED[1:] if own else _NEEDED
    place: dict[str, int] = {}
    found: list[tuple[int, dict[str, str]]] = []
    for number, cells in enumerate(rows, start=1):
        if not place:
            names = {_text(cell).casefold(): i for i, cell in reversed(list(enumerate(cells)))}
            if all(name in names for name in needed):
                place = {name: names[name] for name in WORKBOOK_COLUMNS if name in names}
            elif number == _HEADER_ROWS:
                return None
            continue
        read = dict.fromkeys(WORKBOOK_COLUMNS, "")
        read |= {name: _text(cells[i]) for name, i in place.items() if i < len(cells)}
        found.append((number, read))
    return found if place else None


def _text(cell: Any) -> str:
    """A cell as a person reads it."""
    if cell is None:
        return ""
    if isinstance(cell, datetime):
        return cell.replace(microsecond=0).isoformat(" ")
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, float) and cell == int(cell):
        return str(int(cell))
    return str(cell).strip()


def two_tags(tags: TagRows) -> Iterator[Problem]:
    """Photos of which a workbook and a tag sheet, or two workbooks, say different things."""
    rows = tags.table[tags.table["photo_id"] >= 0]
    rows = rows[rows["photo_id"].isin(rows.loc[rows["in_workbook"], "photo_id"])]
    rows = rows[tags.looked_at(rows)]
    said: dict[int, tuple[str, int, frozenset[tuple[str, bool]]]] = {}
    # By the two files: rows of the one, rows of the other, and the bucks in dispute.
    differ: dict[tuple[str, str], tuple[list[int], list[int], list[str]]] = {}
    columns = (rows[name].tolist() for name in ("photo_id", "file", "in_workbook", "row", "bucks"))
    for photo_id, file, in_workbook, row, text in zip(*columns, strict=True):
        names = frozenset(
            (tags.known.canonical(name.name), name.unsure) for name in tags.cells[text].names
        )
        first_file, first_row, first_names = said.setdefault(photo_id, (file, row, names))
        if names != first_names and in_workbook:
            here, there, bucks = differ.setdefault((file, first_file), ([], [], []))
            here.append(row)
            there.append(first_row)
            bucks += [name for name, _ in sorted(names ^ first_names)]
    for (file, first_file), (here, there, bucks) in differ.items():
        yield Problem(
            kind="tag-said-twice",
            file=file,
            row=here[0],
            column="bucks",
            why=f"{first_file} says otherwise of the same photos; both are kept "
            f"({rows_in_words(here)}; there {rows_in_words(there)}).",
            how="Make the two say the same.",
            harm=float(len(here)),
            bucks=tuple(dict.fromkeys(bucks)),
        )
