"""A CSV file as people save it, to a table of text that knows how it was written."""

from __future__ import annotations

import codecs
import csv
import difflib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import pandas as pd

from deerlog.errors import Problem, PropertyError

# The first bytes of files that often end up under a .csv or .toml name.
_NOT_TEXT = (
    (b"PK\x03\x04", "a spreadsheet workbook (or another zip archive)"),
    (b"\xd0\xcf\x11\xe0", "a spreadsheet workbook of the older kind"),
    (b"%PDF", "a PDF"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"\x89PNG", "a PNG picture"),
    (b"{\\rtf", "a word processor's rich text"),
)

_BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


def bytes_of(path: Path, where: str) -> bytes:
    """What a file holds; raises `FileNotFoundError`, or `PropertyError` if it cannot be read."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise
    except OSError as error:
        raise PropertyError(
            f"the file cannot be read ({error.strerror or error}).",
            where=where,
            how="Close it in other programs and check that you may read it.",
        ) from error


def shortened(text: str, most: int) -> str:
    """A text of at most so many letters, ``...`` in the place of the rest."""
    return text if len(text) <= most else text[: most - 3] + "..."


class DecodedText(NamedTuple):
    """Text, and how it was written."""

    text: str
    """Without the byte order mark."""
    encoding: str
    """``utf-8``, ``utf-16-le``, ``utf-16-be`` or ``cp1252``: the codec that writes more text in the
    same form (none of them writes a byte order mark)."""
    bom: bytes
    """The byte order mark the file begins with, or ``b""``."""


def decode_text(raw: bytes, *, where: str, instead: str) -> DecodedText:
    """Decode UTF-8 or UTF-16 (with or without byte order mark), else cp1252.

    cp1252 comes last because nearly any bytes pass as cp1252, while text in it that is not plain
    English practically never passes as UTF-8. Bytes that are no text are a `PropertyError`, which
    says ``where`` they are and what to do ``instead``.
    """
    for start, name in _NOT_TEXT:
        if raw.startswith(start):
            raise PropertyError(f"this is {name}, not plain text.", where=where, how=instead)
    for bom, encoding in _BOMS:
        if raw.startswith(bom):
            tries, body = [encoding], raw[len(bom) :]
            break
    else:
        bom, body = b"", raw
        guess = _utf16_without_mark(raw)
        tries = [guess] if guess else ["utf-8", "cp1252"]
    for encoding in tries:
        try:
            text = body.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" in text:
            break
        # A program that saved an already marked file may have marked it twice.
        return DecodedText(text.lstrip("\ufeff"), encoding, bom)
    what = "this is not plain text: it is damaged, or another kind of file under this name."
    raise PropertyError(what, where=where, how=instead)


def _utf16_without_mark(raw: bytes) -> str:
    """``utf-16-le`` or ``-be`` when every other byte is zero, as in English text; else ``""``."""
    sample = raw[:2000]
    if len(raw) % 2 or len(raw) < 4:
        return ""
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    half = len(sample) // 2
    if even == 0 and odd > 0.7 * half:
        return "utf-16-le"
    if odd == 0 and even > 0.7 * half:
        return "utf-16-be"
    return ""


# Only these end a line in a CSV; str.splitlines knows many more, which may stand in a cell.
_LINE = re.compile(r"[^\r\n]*(?:\r\n|\r|\n)|[^\r\n]+")


def split_lines(text: str) -> list[str]:
    """The lines of a text, each with what ends it."""
    return _LINE.findall(text)


def read_csv_records(
    lines: list[str], delimiter: str, width: int
) -> Iterator[tuple[int, list[str], str]]:
    """Each record with its row number, and ``"open-quote"`` where quotation marks went wrong.

    An opening quotation mark that is never closed would swallow the rows below it into one cell.
    Such a record is given up as one physical line, and reading goes on at the next.
    """
    row = 0
    start = 0
    while start < len(lines):
        source = (lines[i] for i in range(start, len(lines)))
        reader = csv.reader(source, delimiter=delimiter, skipinitialspace=True, strict=True)
        while True:
            first = start + reader.line_num
            try:
                cells = next(reader)
            except StopIteration:
                return
            except csv.Error:
                broken = True
            else:
                several = start + reader.line_num - first > 1
                broken = several and _swallows_rows(cells, width, delimiter)
            row += 1
            if broken:
                yield row, lines[first].rstrip("\r\n").split(delimiter), "open-quote"
                start = first + 1
                break
            yield row, cells, ""


def _swallows_rows(cells: list[str], width: int, delimiter: str) -> bool:
    """Whether a cell with line breaks holds what look like rows of the table.

    True when a line inside it has as many delimiters as a row; or when the record's first and last
    line each have as many as a row, counting those the cell has swallowed.
    """
    full = width - 1
    if full < 1:
        return False
    for place, cell in enumerate(cells):
        parts = re.split(r"\r\n|\r|\n", cell)
        if len(parts) == 1:
            continue
        inside = [part.count(delimiter) for part in parts]
        if any(count >= full for count in inside[1:-1]):
            return True
        after = len(cells) - 1 - place
        if inside[-1] and place + inside[0] == full and inside[-1] + after == full:
            return True
    return False


DELIMITERS = (",", ";", "\t")

# A line some spreadsheet programs put above the header to name the delimiter.
_SEP_LINE = re.compile(r'"?sep=([,;\t|])"?', re.IGNORECASE)
_MARK = "\ufeff"
# Likeness (difflib's ratio, 0 to 1) from which a column name counts as misspelt; our choice.
_MISSPELT = 0.75


def find_header(lines: list[str], known: Sequence[str], file: str) -> tuple[str, int, list[str]]:
    """The delimiter, the header's row and its cells."""
    candidates: Sequence[str] = DELIMITERS
    skip = 0
    for number, line in enumerate(lines, start=1):
        if line.strip():
            named = _SEP_LINE.fullmatch(line.strip("\r\n \ufeff"))
            if named:
                skip = number
                candidates = (named.group(1),)
            break
    best: tuple[int, str, int, list[str]] = (0, ",", 0, [])
    first_cells: list[str] = []
    for delimiter in candidates:
        for row, cells, fault in read_csv_records(lines, delimiter, 0):
            if row <= skip or not any(cell.strip(_MARK + " \t") for cell in cells):
                continue
            first_cells = first_cells or cells
            found = 0 if fault else len({column_key(cell) for cell in cells} & set(known))
            if found > best[0]:
                best = (found, delimiter, row, cells)
            break
    found, delimiter, row, cells = best
    if found:
        return delimiter, row, cells
    names = f"names the columns: {','.join(known)}"
    if not first_cells:
        what, how = "the file is empty: it has no header row.", f"The first row {names}"
    else:
        shown = shortened(delimiter.join(first_cells).strip(), 60)
        what = f"there is no header row; the first row reads {shown!r}."
        how = f"Put a first row that {names}"
    raise PropertyError(what, where=file, how=how)


def column_names(
    header: list[str], header_row: int, known: Sequence[str], required: Sequence[str], file: str
) -> tuple[list[str], list[Problem]]:
    """A unique name for each column, and misspelt ones as problems."""
    keys = [column_key(cell) for cell in header]
    twice = sorted({key for key in keys if key in known and keys.count(key) > 1})
    where = f"{file} row {header_row}"
    if twice:
        what = f"the column {twice[0]} stands twice in the header."
        raise PropertyError(what, where=where, how="Rename or remove one of them.")
    absent = [name for name in known if name not in keys]
    like = _misspelt(absent, [key for key in keys if key and key not in known], known)
    missing = [name for name in required if name in absent]
    if missing:
        seen = "; ".join(f"{like[name]!r} looks like {name}" for name in missing if name in like)
        columns, are = ("columns", "are") if len(missing) > 1 else ("column", "is")
        what = f"the {columns} {', '.join(missing)} {are} missing."
        how = f"{seen}: rename it." if seen else "Add it to the header."
        raise PropertyError(what, where=where, how=how)
    problems = [
        Problem(
            kind="column-name",
            file=file,
            row=header_row,
            column=written,
            why=f"No column {written!r} is known; it looks like {name}, which is missing.",
            how=f"Rename it to {name}, or leave it: it is kept, but not read.",
        )
        for name, written in like.items()
    ]
    names: list[str] = []
    taken = {"row", *known}
    for place, (cell, key) in enumerate(zip(header, keys, strict=True), start=1):
        if key in known:
            names.append(key)
            continue
        written = cell.strip().strip(_MARK).strip() or f"column {place}"
        name, count = written, 1
        while name in taken:
            count += 1
            name = f"{written} ({count})"
        taken.add(name)
        names.append(name)
    return names, problems


def _misspelt(absent: list[str], extras: list[str], known: Sequence[str]) -> dict[str, str]:
    """Absent known columns, and the extra one that is probably meant to be each.

    An extra column that is as near to a known column already there is none: ``temperature_max``
    beside ``temperature_f`` is not a slip for ``temperature_c``.
    """
    like: dict[str, str] = {}
    for extra in extras:
        nearness = {
            name: difflib.SequenceMatcher(None, name, extra, autojunk=False).ratio()
            for name in known
        }
        best = max(nearness.values(), default=0.0)
        nearest = [name for name, ratio in nearness.items() if ratio == best]
        if best >= _MISSPELT and all(name in absent for name in nearest):
            like.setdefault(nearest[0], extra)
    return like


def column_key(header_cell: str) -> str:
    """A header cell as column names are compared: lower case, words joined by ``_``."""
    return re.sub(r"[\s\-_]+", "_", header_cell.strip().strip(_MARK).strip().casefold())


_SAVE_AS_CSV = (
    "Open it in the spreadsheet program it came from and save it as CSV (comma separated, UTF-8)."
)


@dataclass(frozen=True, kw_only=True, eq=False)
class SheetTable:
    """A CSV file, read but not yet understood."""

    frame: pd.DataFrame
    """One row a data row, in file order, blank rows left out. ``str`` columns without missing
    values, cells stripped of surrounding spaces: the known columns of the file under their proper
    names, then extra ones as written (``name (2)`` where a name repeats, ``column 7`` where it has
    none), then ``row`` (int64), the row number as a spreadsheet shows it (the header is usually row
    1)."""
    file: str
    """How problems call the file."""
    encoding: str
    bom: bytes
    """See `DecodedText`; rows in this ``encoding`` can be appended to the file's bytes."""
    delimiter: str
    newline: str
    """``,`` ``;`` or tab; and what ends the first line."""
    columns: tuple[str, ...]
    """The header cells as written, in order: as many as a full row has."""
    set_aside: tuple[tuple[int, tuple[str, ...]], ...] = ()
    """``(row, cells)`` of data rows that could not be read as a row; each has a problem."""
    problems: tuple[Problem, ...] = ()
    """What was set aside and why, and columns that look misspelt."""

    @property
    def decimal_comma(self) -> bool:
        """Whether ``45,3`` is a number here: programs that write one separate cells with ``;``."""
        return self.delimiter == ";"


def read_table(
    path: Path, known: Sequence[str], *, required: Sequence[str] = (), file: str = ""
) -> SheetTable:
    """Read a CSV: BOM, UTF-16, cp1252, any of three delimiters, any column order and header case.

    ``known`` are the columns deerlog understands, in lower case, and ``required`` those the file
    cannot do without. Problems call it ``file`` (path from the property folder, with ``/``) or by
    its name. `PropertyError`: the file cannot be opened, is not a CSV, has no header row or lacks a
    required column.
    """
    file = file or path.name
    try:
        raw = bytes_of(path, file)
    except FileNotFoundError as error:
        raise PropertyError(
            "the file is not there.", where=file, how=f"Looked in {path.parent}."
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
        if not fault and any(stripped[width:]):
            fault = "ragged-row"
        if fault:
            set_aside.append((row, tuple(cells)))
            problems.append(_row_problem(fault, file, row, stripped, width, delimiter))
            continue
        rows.append((stripped + [""] * (width - len(stripped)))[:width])
        numbers.append(row)

    by_column = list(zip(*rows, strict=True)) if rows else [()] * width
    order = sorted(range(width), key=lambda i: names[i] not in known)
    columns = {names[i]: pd.Series(list(by_column[i]), dtype="str") for i in order}
    frame = pd.DataFrame(columns | {"row": pd.Series(numbers, dtype="int64")})
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
    shown = shortened(delimiter.join(cells), 80)
    if kind == "ragged-row":
        why = f"The row has {len(cells)} cells where the header has {width}; it is left out."
        how = f'A cell that contains "{delimiter}" must stand in quotation marks: "a{delimiter} b".'
    else:
        why = "A quotation mark in this row is never closed, or stands inside a cell; left out."
        how = 'Remove the quotation mark, or double it inside a quoted cell: "18"" spread".'
    return Problem(kind=kind, file=file, row=row, value=shown, why=why, how=how)
