"""Files below ``tags/`` in a spreadsheet program's own form: which there are, and whose."""

from __future__ import annotations

import zipfile
from collections.abc import Mapping
from pathlib import Path

from deerlog.ingest.tags.tags import TAGS
from deerlog.property.matching import fold_name

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
        if path.suffix.casefold() in (*READ, *NOT_READ) and not path.name.startswith(("~$", "."))
    )


def workbook_name(path: Path) -> str:
    """How problems call such a file."""
    below = f"{WORKBOOKS}/" if path.parent.name == WORKBOOKS else ""
    return f"{TAGS}/{below}{path.name}"


def camera_meant(path: Path, known: Mapping[str, str]) -> str:
    """The camera a file is named after, also with more behind it; ``""`` for none."""
    name = fold_name(path.stem)
    hits = [folded for folded in known if name.startswith(folded)]
    if path.suffix.casefold() in TEXT:  # such as a person's own notes
        hits = [folded for folded in hits if name == folded]
    return known[max(hits, key=len)] if hits else ""


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
