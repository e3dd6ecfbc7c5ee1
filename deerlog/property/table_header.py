"""The header row of a table: where it is, what separates cells, and which columns there are."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence

from deerlog.errors import Problem, PropertyError
from deerlog.property.csv_records import read_csv_records

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
    wanted = ",".join(known)
    if not first_cells:
        raise PropertyError(
            "the file is empty: it has no header row.",
            where=file,
            how=f"The first row names the columns: {wanted}",
        )
    if not found:
        shown = delimiter.join(first_cells).strip()
        shown = shown if len(shown) <= 60 else shown[:57] + "..."
        raise PropertyError(
            f"there is no header row; the first row reads {shown!r}.",
            where=file,
            how=f"Put a first row that names the columns: {wanted}",
        )
    return delimiter, row, cells


def column_names(
    header: list[str], header_row: int, known: Sequence[str], required: Sequence[str], file: str
) -> tuple[list[str], list[Problem]]:
    """A unique name for each column, and misspelt ones as problems."""
    keys = [column_key(cell) for cell in header]
    twice = sorted({key for key in keys if key in known and keys.count(key) > 1})
    if twice:
        raise PropertyError(
            f"the column {twice[0]} stands twice in the header.",
            where=f"{file} row {header_row}",
            how="Rename or remove one of them.",
        )
    absent = [name for name in known if name not in keys]
    like = _misspelt(absent, [key for key in keys if key and key not in known], known)
    missing = [name for name in required if name in absent]
    if missing:
        seen = "; ".join(f"{like[name]!r} looks like {name}" for name in missing if name in like)
        raise PropertyError(
            f"the column{'s' if len(missing) > 1 else ''} {', '.join(missing)} "
            f"{'are' if len(missing) > 1 else 'is'} missing.",
            where=f"{file} row {header_row}",
            how=f"{seen}: rename it." if seen else "Add it to the header.",
        )
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
