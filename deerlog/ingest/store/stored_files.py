"""The columns of the photo log: one table that its schema and the frame read from it follow."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.errors import Problem

Values = Sequence[Any]
Array = npt.NDArray[Any]
_HASH_BYTES = 20


def _text(values: Values) -> Array:
    text = np.empty(len(values), dtype=object)
    text[:] = values
    return text


def _few(values: Values) -> Array:
    """Text with few different values, of which each is kept once; ``""`` for none."""
    return _text([sys.intern(value or "") for value in values])


def _times(values: Values) -> Array:
    return np.array([value or "NaT" for value in values], dtype="datetime64[us]")


_whole = partial(np.array, dtype=np.int64)
_yes = partial(np.array, dtype=bool)
_float = partial(np.array, dtype=np.float64)  # None becomes NaN


def _hashes(values: Values) -> Array:
    """The first eight bytes of hashes as whole numbers, 0 for none."""
    joined = b"".join(value or bytes(_HASH_BYTES) for value in values)
    table = np.frombuffer(joined, dtype=np.uint8).reshape(-1, _HASH_BYTES)
    return np.ascontiguousarray(table[:, :8]).view("<i8").ravel()


_FILE: tuple[tuple[str, str, Callable[[Values], Array] | None, str], ...] = (
    ("camera", "TEXT NOT NULL", _few, "folder below cards/"),
    ("path", "TEXT NOT NULL", _text, "below that folder, with /"),
    ("listed_in", "TEXT NOT NULL", _few, "'' = a file on the card; else path of the CSV photo log\n"
     "whose row this is"),
    ("replaced", "INTEGER NOT NULL", _whole, "0 = what lies at the path; 1, 2, ... = other "
     "pictures that\nlay there before and were overwritten"),
    ("kind", "TEXT NOT NULL", _few, "photo, video, log (row of a CSV), csv (a CSV), unreadable"),
    ("reason", "TEXT NOT NULL", _few, "why unreadable; for a photo '' or 'truncated'"),
    ("size", "INTEGER", _whole, "bytes           } as last met: while both stay the"),
    ("mtime_ns", "INTEGER", None, "nanoseconds     } same the file is not opened again"),
    ("gone", "INTEGER NOT NULL", _yes, "1 = no longer on disk (or no longer in the CSV)"),
    ("read_on", "TEXT NOT NULL", _times,
     "day of the ingest that read it: no photo is from after it"),
    ("shown", "TEXT", _times, "what the camera's clock showed: YYYY-MM-DD HH:MM[:SS]"),
    ("time_source", "TEXT", _few, "original, digitized, changed, maker, container, csv"),
    ("fraction_us", "INTEGER NOT NULL", _whole, "microseconds beyond shown"),
    ("offset_minutes", "INTEGER", _float, "east of UTC, as the camera stated it beside shown"),
    ("head", "BLOB", _hashes, "hash of the leading bytes"),
    ("look", "REAL", _float, "0 grey to 1 coloured"),
    ("flash", "INTEGER", _float, "1 fired, 0 not"),
    ("exposure_s", "REAL", None, ""),
    ("iso", "INTEGER", None, ""),
    ("make", "TEXT NOT NULL", None, ""),
    ("model", "TEXT NOT NULL", None, ""),
    ("serial", "TEXT NOT NULL", None, ""),
    ("copies_before", "INTEGER NOT NULL DEFAULT 0", _whole,
     "copies of this picture that were known before it"),
    ("temperature_c", "REAL", None, "of the air at the camera"),
    ("pressure_hpa", "REAL", None, ""),
)  # fmt: skip
"""Columns of table ``file``: name (of `deerlog.ingest.cards.photo_file.FileRecord`, where it comes
from there), how it is declared, how it is read (None: it is there for a person who looks), and what
stands in it."""


def _declared(name: str, sql: str, _read: object, about: str) -> str:
    """A column's line of the schema, with what stands in it as a comment."""
    comment = "-- " + about.replace("\n", "\n" + " " * 36 + "-- ") if about else ""
    return f"  {name:<15}{sql + ',  ':<19}{comment}".rstrip()


VERSION = 3
SCHEMA = (
    "\nCREATE TABLE file (\n"
    + "\n".join(_declared(*column) for column in _FILE)
    + "\n  PRIMARY KEY (camera, path, listed_in, replaced)\n) WITHOUT ROWID\n",
    """
CREATE TABLE csv_problem (          -- what a person should mend in a CSV photo log, which is read
  camera         TEXT NOT NULL,     -- only when it changes
  path           TEXT NOT NULL,
  place          INTEGER NOT NULL,  -- 0, 1, ... in order of the file
  problem        TEXT NOT NULL,     -- JSON
  PRIMARY KEY (camera, path, place)
) WITHOUT ROWID
""",
    """
CREATE TABLE outcome (              -- at most one row: what the last run came to, so that a run on
  inputs         TEXT NOT NULL,     -- the same inputs need not work it out again
  summary        TEXT NOT NULL      -- JSON
)
""",
)
UPGRADES = {
    1: (
        "ALTER TABLE file ADD COLUMN copies_before INTEGER NOT NULL DEFAULT 0",
        "DELETE FROM outcome",
    ),
    2: (
        "ALTER TABLE file ADD COLUMN temperature_c REAL",
        "ALTER TABLE file ADD COLUMN pressure_hpa REAL",
        # Times in makers' blocks can be read now.
        "DELETE FROM file WHERE reason LIKE '%maker''s own block'",
        "DELETE FROM outcome",
    ),
}
"""What makes of each older version the next one."""

PICTURES = ("photo", "video", "log")
"""The kinds that have a time and can be of a visit."""

_NAMES = [name for name, *_ in _FILE]
PUT = (
    f"INSERT OR REPLACE INTO file ({','.join(_NAMES)}) VALUES ({','.join(f':{n}' for n in _NAMES)})"
)
READ = {name: read for name, _, read, _ in _FILE if read}
"""The columns that are worked with, and what makes an array of their values."""
OTHER: dict[str, Callable[[Values], Array]] = {
    "camera": _text,
    "path": _text,
    "size": _whole,
    "mtime_ns": _whole,
}
"""Those of files that are no pictures."""


@dataclass(frozen=True)
class Stored:
    """What a photo log holds."""

    files: pd.DataFrame
    """Every file, photo and CSV row (CSVs themselves left out) in order of camera, path, listed_in
    and replaced; index 0, 1, ... Columns of `READ`: text ``""`` for none (object), days and times
    NaT (``datetime64[us]``), ``offset_minutes, look, flash`` NaN (float64), ``head`` 0; and
    ``seconds`` (bool), whether ``shown`` was given to the second."""
    csv_problems: tuple[Problem, ...] = ()
    """What a person should mend in the CSV photo logs on the cards."""
    others: pd.DataFrame = field(default_factory=lambda: frame_of_rows([], OTHER))
    """Files on the disk that were met and are no pictures, CSVs and unreadable ones, in order of
    camera and path; columns of `OTHER`."""
    outcome: str = ""
    """What the last ingest came to, as it wrote it; ``""`` for none."""


def stored_files(batches: Iterable[Sequence[tuple[Any, ...]]]) -> pd.DataFrame:
    """Rows in the order of `READ` as the table of `Stored`.

    Taken batch by batch: a quarter of a million rows of Python objects at once would take several
    times the memory of the table.
    """
    frames = [frame_of_rows(rows, READ) for rows in batches] or [frame_of_rows([], READ)]
    return pd.concat(frames, ignore_index=True)


def frame_of_rows(
    rows: Sequence[tuple[Any, ...]], columns: Mapping[str, Callable[[Values], Array]]
) -> pd.DataFrame:
    """Rows of the database as a table of compact columns."""
    values = dict(zip(columns, zip(*rows, strict=True), strict=True)) if rows else {}
    frame = {name: read(values.get(name, ())) for name, read in columns.items()}
    if "shown" in columns:  # HH:MM has 16 letters, HH:MM:SS has 19
        frame["seconds"] = _yes([len(value or "") != 16 for value in values.get("shown", ())])
    return pd.DataFrame(frame)
