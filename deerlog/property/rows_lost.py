"""How many rows a file holds that cannot be read as a table."""

from __future__ import annotations

import zipfile
from pathlib import Path

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
