"""A table of text to rows of values, cell by cell, with what could not be read as problems."""

from __future__ import annotations

import zipfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import pandas as pd

from deerlog.errors import Problem, PropertyError
from deerlog.property.cell_values import CellError, decimal_point
from deerlog.property.day_and_time import settled_order
from deerlog.property.table_reader import SheetTable, read_table

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


Record = dict[str, Any]
"""One row: column -> value, with ``row``, its number in the file."""


class Faults(list[Problem]):
    """The problems of one file, row by row."""

    def __init__(self, file: str, found: Iterable[Problem] = ()) -> None:
        super().__init__(found)
        self.file = file

    def add(
        self,
        kind: str,
        at: Record,
        column: str,
        value: object,
        why: str,
        how: str,
        **more: Any,
    ) -> None:
        """One cell of a row, told; ``more`` are further fields of `Problem`."""
        self.append(
            Problem(
                kind=kind,
                file=self.file,
                row=int(at["row"]),
                column=column,
                value=None if value is None else str(value),
                why=why,
                how=how,
                **more,
            )
        )

    @classmethod
    def unreadable(cls, path: Path, error: PropertyError) -> Faults:
        """The whole table left out."""
        problem = Problem(
            kind="table-unreadable",
            file=path.name,
            why=f"The table is left out: {error.what}",
            how=error.how,
            harm=float(max(rows_in(path), 1)),
            harm_in="row",
        )
        return cls(path.name, [problem])


NOT_CSV = (
    *(".xlsx", ".xlsm", ".xls", ".xlsb", ".ods", ".numbers"),
    *(".txt", ".tsv", ".csv.txt", ".csv.csv", ".csv.xlsx"),
)
"""Endings under which a table is saved by mistake."""

_SET_ASIDE = object()


@dataclass(frozen=True, kw_only=True)
class Column:
    """How a column of a table is read.

    Attributes
    ----------
    name
        As in the file's header.
    parse
        Text to value; raises `CellError`.
    blank
        The value of a blank cell or absent column. Left out: the cell is needed, and a row without
        it is set aside.
    unreadable
        The value that stands in for a cell that cannot be read. Left out: the row is set aside.
        Either way there is a problem.
    stand_in
        What ``unreadable`` means, in words, for that problem.
    number
        Whether a decimal comma is allowed where the table is separated by ``;``.
    date
        Whether it holds days or times: ``parse`` then takes ``date_order`` as well.
    dtype
        Of the column that it becomes.
    """

    name: str
    parse: Callable[..., Any]
    blank: Any = _SET_ASIDE
    unreadable: Any = _SET_ASIDE
    stand_in: str = ""
    number: bool = False
    date: bool = False
    dtype: str = "str"


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
    return path, [
        Problem(
            kind="table-not-csv",
            file=others[0].name,
            why=f"This looks like the table {name}, but deerlog reads only {name}{empty}.",
            how=f"Save it as CSV {'under the name' if path is None else 'over'} {name}.",
            harm=float(max(rows_in(others[0]), 1)),
            harm_in="row",
        )
    ]


def open_table(
    path: Path, columns: Sequence[Column], *, date_order: str = ""
) -> tuple[list[Record], Faults]:
    """Read a table that the rest can go on without; an unreadable file becomes a problem."""
    try:
        return read_records(read_sheet(path, columns), columns, date_order=date_order)
    except PropertyError as error:
        return [], Faults.unreadable(path, error)


def read_sheet(path: Path, columns: Sequence[Column]) -> SheetTable:
    """Read the table's text; raises `PropertyError` where it cannot be used at all."""
    return read_table(
        path,
        [column.name for column in columns],
        required=[column.name for column in columns if column.blank is _SET_ASIDE],
    )


def read_records(
    sheet: SheetTable, columns: Sequence[Column], *, date_order: str = ""
) -> tuple[list[Record], Faults]:
    """Rows whose cells can be read, and a problem for every cell that cannot.

    Problems of the table itself (rows set aside, misspelt columns) come first.

    Parameters
    ----------
    date_order
        Of the settings: for days of a column that does not tell its order itself.
    """
    parsers = {
        column.name: partial(column.parse, date_order=column_order(sheet, column.name, date_order))
        if column.date
        else column.parse
        for column in columns
    }
    faults = Faults(sheet.file, sheet.problems)
    records: list[Record] = []
    for cells in sheet.frame.to_dict("records"):
        record: Record = {"row": int(cells["row"])}
        usable = True
        for column in columns:
            text = str(cells.get(column.name, ""))
            if not text:
                if column.blank is _SET_ASIDE:
                    usable = False
                    faults.add(
                        "missing-cell",
                        record,
                        column.name,
                        None,
                        f"{column.name} is blank, and the row cannot be used without it; it is "
                        "left out.",
                        f"Fill in {column.name}, or clear the whole row.",
                    )
                else:
                    record[column.name] = column.blank
                continue
            if column.number and sheet.decimal_comma:
                text = decimal_point(text)
            try:
                record[column.name] = parsers[column.name](text)
            except CellError as error:
                if column.unreadable is _SET_ASIDE:
                    usable = False
                    outcome = "The row is left out."
                else:
                    record[column.name] = column.unreadable
                    outcome = f"It is taken as {column.stand_in}."
                why = f"{error.what} {outcome}"
                faults.add("bad-cell", record, column.name, cells[column.name], why, error.how)
        if usable:
            records.append(record)
    return records, faults


def column_order(sheet: SheetTable, column: str, date_order: str) -> str:
    """The order that the days of a column are written in, by itself or else by the settings."""
    return (settled_order(sheet.frame[column]) if column in sheet.frame else "") or date_order


def frame_of(records: Sequence[Record], dtypes: Mapping[str, str]) -> pd.DataFrame:
    """Records as a DataFrame with exactly these columns and dtypes, also when there are none."""
    return pd.DataFrame(
        {
            name: pd.Series([record[name] for record in records], dtype=dtype)
            for name, dtype in dtypes.items()
        }
    )
