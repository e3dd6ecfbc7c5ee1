"""A CSV file as people save it, to a table of text that knows how it was written."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from deerlog.errors import Problem, PropertyError
from deerlog.property.csv_records import read_csv_records, split_lines
from deerlog.property.table_header import column_names, find_header
from deerlog.property.text_encoding import decode_text

_SAVE_AS_CSV = (
    "Open it in the spreadsheet program it came from and save it as CSV (comma separated, UTF-8)."
)


@dataclass(frozen=True, kw_only=True, eq=False)
class SheetTable:
    """A CSV file, read but not yet understood.

    Attributes
    ----------
    frame
        One row a data row, in file order, blank rows left out. ``str`` columns without missing
        values, cells stripped of surrounding spaces: the known columns of the file under their
        proper names, then extra ones as written (``name (2)`` where a name repeats, ``column 7``
        where it has none), then ``row`` (int64), the row number as a spreadsheet shows it
        (the header is usually row 1).
    file
        How problems call the file.
    encoding, bom
        See `DecodedText`; rows in this ``encoding`` can be appended to the file's bytes.
    delimiter, newline
        ``,`` ``;`` or tab; and what ends the first line.
    columns
        The header cells as written, in order. Its length is the number of cells of a full row.
    set_aside
        ``(row, cells)`` of data rows that could not be read as a row; each has a problem.
    problems
        What was set aside and why, and columns that look misspelt.
    """

    frame: pd.DataFrame
    file: str
    encoding: str
    bom: bytes
    delimiter: str
    newline: str
    columns: tuple[str, ...]
    set_aside: tuple[tuple[int, tuple[str, ...]], ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def decimal_comma(self) -> bool:
        """Whether ``45,3`` is a number here: programs that write one separate cells with ``;``."""
        return self.delimiter == ";"


def read_table(
    path: Path, known: Sequence[str], *, required: Sequence[str] = (), file: str = ""
) -> SheetTable:
    """Read a CSV: BOM, UTF-16, cp1252, any of three delimiters, any column order and header case.

    Parameters
    ----------
    known
        Names of the columns deerlog understands, in lower case.
    required
        Those among them the file cannot do without.
    file
        How problems call the file (path from the property folder, with ``/``); default its name.

    Raises
    ------
    PropertyError
        The file cannot be opened, is not a CSV, has no header row or lacks a required column.
    """
    file = file or path.name
    try:
        raw = path.read_bytes()
    except FileNotFoundError as error:
        raise PropertyError(
            "the file is not there.", where=file, how=f"Looked in {path.parent}."
        ) from error
    except OSError as error:
        raise PropertyError(
            f"the file cannot be read ({error.strerror or error}).",
            where=file,
            how="Close it in other programs and check that you may read it.",
        ) from error
    return read_table_bytes(raw, known, required=required, file=file)


def read_table_bytes(
    raw: bytes, known: Sequence[str], *, required: Sequence[str] = (), file: str
) -> SheetTable:
    """Read the bytes of a CSV; see `read_table`."""
    decoded = decode_text(raw, where=file, instead=_SAVE_AS_CSV)
    lines = split_lines(decoded.text)
    delimiter, header_row, header = find_header(lines, known, file)
    names, problems = column_names(header, header_row, known, required, file)
    width = len(names)

    rows: list[list[str]] = []
    numbers: list[int] = []
    set_aside: list[tuple[int, tuple[str, ...]]] = []
    for row, cells, fault in read_csv_records(lines, delimiter, width):
        if row <= header_row:
            continue
        stripped = [cell.strip() for cell in cells]
        if not any(stripped):
            continue
        if not fault and len(stripped) > width:
            if not any(stripped[width:]):
                del stripped[width:]
            else:
                fault = "ragged-row"
        if fault:
            set_aside.append((row, tuple(cells)))
            problems.append(_row_problem(fault, file, row, stripped, width, delimiter))
            continue
        stripped.extend([""] * (width - len(stripped)))
        rows.append(stripped)
        numbers.append(row)

    by_column = list(zip(*rows, strict=True)) if rows else [()] * width
    order = sorted(range(width), key=lambda i: (names[i] not in known, i))
    frame = pd.DataFrame(
        {names[i]: pd.Series(list(by_column[i]), dtype="str") for i in order}
        | {"row": pd.Series(numbers, dtype="int64")}
    )
    ending = re.search(r"[\r\n]+$", lines[0])
    return SheetTable(
        frame=frame,
        file=file,
        encoding=decoded.encoding,
        bom=decoded.bom,
        delimiter=delimiter,
        newline=ending.group() if ending else "\n",
        columns=tuple(header),
        set_aside=tuple(set_aside),
        problems=tuple(problems),
    )


def _row_problem(
    kind: str, file: str, row: int, cells: list[str], width: int, delimiter: str
) -> Problem:
    shown = delimiter.join(cells)
    shown = shown if len(shown) <= 80 else shown[:77] + "..."
    if kind == "ragged-row":
        why = f"The row has {len(cells)} cells where the header has {width}; it is left out."
        how = f'A cell that contains "{delimiter}" must stand in quotation marks: "a{delimiter} b".'
    else:
        why = "A quotation mark in this row is never closed, or stands inside a cell; left out."
        how = 'Remove the quotation mark, or double it inside a quoted cell: "18"" spread".'
    return Problem(kind=kind, file=file, row=row, value=shown, why=why, how=how)
