"""A table of text to rows of values, cell by cell, with what could not be read as problems."""

from __future__ import annotations

import zipfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

import pandas as pd

from deerlog.errors import Problem, PropertyError
from deerlog.property.cell_values import CellError, decimal_point
from deerlog.property.day_and_time import fitting_order, settled_order
from deerlog.property.table_reader import SheetTable, column_key, read_table

TEXT = (".csv", ".tsv", ".txt")


def rows_in_text(raw: bytes) -> int:
    """Rows below the first that are not blank, of a text in any encoding."""
    return max(sum(bool(line.strip(b" ,;\t\0")) for line in raw.splitlines()) - 1, 0)


def rows_in(path: Path) -> int:
    """Rows below the first of a text or a workbook; 0 where that cannot be told."""
    form = path.suffix.casefold()
    mark, parts = (
        (b"<table:table-row", "content.xml") if form == ".ods" else (b"<row ", "xl/worksheets/")
    )
    try:
        if form in TEXT:
            return rows_in_text(path.read_bytes())
        with zipfile.ZipFile(path) as book:
            names = [name for name in book.namelist() if name.startswith(parts)]
            return max([0, *(book.read(name).count(mark) - 1 for name in names)])
    except Exception:  # a damaged archive makes the reader raise nearly anything
        return 0


Record = dict[Any, Any]
"""One row: column -> value, with ``row``, its number in the file."""


class Faults(list[Problem]):
    """The problems of one file, row by row; ``sheet`` is what was read of it, if it could be."""

    def __init__(
        self, file: str, found: Iterable[Problem] = (), sheet: SheetTable | None = None
    ) -> None:
        super().__init__(found)
        self.file = file
        self.sheet = sheet

    def add(
        self, kind: str, at: Record, column: str, why: str, how: str, value: Any = None, **more: Any
    ) -> None:
        """One cell of a row, with its value where no other is given; ``more`` are of `Problem`."""
        value = at.get(column) if value is None else value
        more |= {"column": column, "value": None if value is None else str(value)}
        row = int(at["row"])
        self.append(Problem(kind=kind, file=self.file, row=row, why=why, how=how, **more))

    def unused(self, used: Iterable[int], *columns: str) -> list[tuple[Any, ...]]:
        """Row number and these cells of each row of the file that is not among those ``used``."""
        if self.sheet is None:
            return []
        taken = set(used)
        read = self.sheet.frame[["row", *columns]].itertuples(index=False, name=None)
        rows = [cells for cells in read if cells[0] not in taken]
        # A row that is not even one of cells names its camera or stand all the same, most likely.
        place = {column_key(cell): i for i, cell in enumerate(self.sheet.columns)}
        for row, cells in self.sheet.set_aside:
            named = (cells[place[c]].strip() if place[c] < len(cells) else "" for c in columns)
            rows.append((row, *named))
        return sorted(rows)

    @classmethod
    def unreadable(cls, path: Path, error: PropertyError) -> Faults:
        """The whole table left out."""
        file, why = path.name, f"The table is left out: {error.what}"
        problem = table_problem("table-unreadable", file, why, error.how, rows_in(path))
        return cls(file, [problem])


def table_problem(kind: str, file: str, why: str, how: str, n_rows: int) -> Problem:
    """A problem of a whole table, which harms all its rows."""
    harm = float(max(n_rows, 1))
    return Problem(kind=kind, file=file, why=why, how=how, harm=harm, harm_in="row")


NOT_CSV = (
    *(".xlsx", ".xlsm", ".xls", ".xlsb", ".ods", ".numbers"),
    *(".txt", ".tsv", ".csv.txt", ".csv.csv", ".csv.xlsx"),
)
"""Endings under which a table is saved by mistake."""

_SET_ASIDE = object()


@dataclass(frozen=True, kw_only=True)
class Column:
    """How a column of a table is read."""

    name: str
    parse: Callable[..., Any]
    """Text to value; raises `CellError`."""
    blank: Any = _SET_ASIDE
    """The value of a blank cell or absent column. Left out: a row without it is set aside."""
    unreadable: Any = _SET_ASIDE
    """The value that stands in for a cell that cannot be read. Left out: the row is set aside.
    Either way there is a problem."""
    stand_in: str = ""
    """What ``unreadable`` means, in words, for that problem."""
    number: bool = False
    """Whether a decimal comma is allowed where the table is separated by ``;``."""
    date: bool = False
    """Whether it holds days or times: ``parse`` then takes ``date_order`` as well."""
    dtype: str = "str"
    """Of the column that it becomes."""


class Fits(NamedTuple):
    """Which days can be true in a table, and what is wrong with another, in words."""

    days: Callable[[date], bool]
    otherwise: str


def dtypes_of(columns: Sequence[Column], **others: str) -> dict[str, str]:
    """Columns and dtypes of the table that comes of a file: its own, others, and ``row``."""
    return {column.name: column.dtype for column in columns} | others | {"row": "int64"}


def table_path(folder: Path, name: str) -> tuple[Path | None, list[Problem]]:
    """The file of a table, its name in any case; None where there is none.

    A problem, where the table is missing or has no rows, names a workbook or text file that is
    probably meant to be it.
    """
    stem = name.removesuffix(".csv").casefold()
    siblings = sorted(p for p in folder.iterdir() if p.name.casefold().startswith(stem + "."))
    called = [p for p in siblings if p.name.casefold() == name and p.is_file()]
    path = next((p for p in called if p.name == name), called[0] if called else None)
    others = [p for p in siblings if p.name.casefold().removeprefix(stem) in NOT_CSV]
    if not others or (path is not None and rows_in(path)):
        return path, []
    empty = "" if path is None else ", which has no rows"
    why = f"This looks like the table {name}, but deerlog reads only {name}{empty}."
    how = f"Save it as CSV {'under the name' if path is None else 'over'} {name}."
    meant = others[0]
    return path, [table_problem("table-not-csv", meant.name, why, how, rows_in(meant))]


def open_table(
    path: Path, columns: Sequence[Column], *, date_order: str = "", fits: Fits | None = None
) -> tuple[list[Record], Faults]:
    """Read a table that the rest can go on without; an unreadable file becomes a problem."""
    try:
        return read_rows(path, columns, date_order=date_order, fits=fits)
    except PropertyError as error:
        return [], Faults.unreadable(path, error)


def read_rows(
    path: Path, columns: Sequence[Column], *, date_order: str = "", fits: Fits | None = None
) -> tuple[list[Record], Faults]:
    """Read a table; raises `PropertyError` where it cannot be used at all."""
    required = [column.name for column in columns if column.blank is _SET_ASIDE]
    sheet = read_table(path, [column.name for column in columns], required=required)
    return read_records(sheet, columns, date_order=date_order, fits=fits)


def read_records(
    sheet: SheetTable,
    columns: Sequence[Column],
    *,
    date_order: str = "",
    fits: Fits | None = None,
) -> tuple[list[Record], Faults]:
    """Rows whose cells can be read, and a problem for every cell that cannot.

    Problems of the table itself (rows set aside, misspelt columns) come first. ``date_order``, of
    the settings, is for days of a column that does not tell its order itself; where there is none,
    that in which all of them can be true by ``fits``, which is said.
    """
    faults = Faults(sheet.file, sheet.problems, sheet)
    parsers: dict[str, Callable[..., Any]] = {}
    for column in columns:
        parsers[column.name] = column.parse
        if column.date:
            order = column_order(sheet, column.name, date_order)
            if not order and fits and column.name in sheet.frame:
                order, misfit = fitting_order(sheet.frame[column.name], fits.days)
                if order:
                    why = f"The days are read {order}: the other way, {misfit!r} {fits.otherwise}."
                    how = "If that is wrong, set date_order in property.toml."
                    note = table_problem("date-order", sheet.file, why, how, 0)
                    faults.append(replace(note, column=column.name, must_mend=False, harm=0.0))
            parsers[column.name] = partial(column.parse, date_order=order)
    records: list[Record] = []
    for cells in sheet.frame.to_dict("records"):
        record: Record = {"row": int(cells["row"])}
        for column in columns:
            name, text = column.name, str(cells.get(column.name, ""))
            if not text:
                record[name] = column.blank
                if column.blank is _SET_ASIDE:
                    why = f"{name} is blank, and the row cannot be used without it; it is left out."
                    how = f"Fill in {name}, or clear the whole row."
                    faults.add("missing-cell", {"row": cells["row"]}, name, why, how)
                continue
            try:
                plain = column.number and sheet.decimal_comma
                record[name] = parsers[name](decimal_point(text) if plain else text)
            except CellError as error:
                record[name] = column.unreadable
                left_out = column.unreadable is _SET_ASIDE
                taken = "The row is left out." if left_out else f"It is taken as {column.stand_in}."
                faults.add("bad-cell", cells, name, f"{error.what} {taken}", error.how)
        if not any(value is _SET_ASIDE for value in record.values()):
            records.append(record)
    return records, faults


def column_order(sheet: SheetTable, column: str, date_order: str) -> str:
    """The order that the days of a column are written in, by itself or else by the settings."""
    return (settled_order(sheet.frame[column]) if column in sheet.frame else "") or date_order


def frame_of(records: Sequence[Record], dtypes: Mapping[str, str]) -> pd.DataFrame:
    """Records as a DataFrame with exactly these columns and dtypes, also when there are none."""
    columns = {
        name: pd.Series([record[name] for record in records], dtype=dtype)
        for name, dtype in dtypes.items()
    }
    return pd.DataFrame(columns)
