"""Lines of a CSV to records, without letting a stray quotation mark swallow the rows below it."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator

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
                cells = []
                broken = True
            else:
                broken = start + reader.line_num - first > 1 and _swallows_rows(
                    cells, width, delimiter
                )
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
