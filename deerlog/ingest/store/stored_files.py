"""Rows of the photo log as a table of compact columns."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.errors import Problem

READ = (
    "camera",
    "path",
    "listed_in",
    "replaced",
    "kind",
    "reason",
    "size",
    "gone",
    "read_on",
    "shown",
    "time_source",
    "fraction_us",
    "offset_minutes",
    "head",
    "look",
    "flash",
    "copies_before",
)
"""The columns of the photo log that are worked with; the others are for a person who looks."""

OTHER = ("camera", "path", "size", "mtime_ns")
"""The columns of files that are no pictures."""

_HASH_BYTES = 20
# Columns with few different values, of which each is kept once.
_FEW = frozenset({"camera", "listed_in", "kind", "reason", "time_source"})


@dataclass(frozen=True)
class Stored:
    """What a photo log holds.

    Attributes
    ----------
    files
        Every file, photo and CSV row (CSVs themselves left out) in order of camera, path,
        listed_in and replaced; index 0, 1, ...:

        - ``camera, path, listed_in, kind, reason, time_source``: object (str, ``""`` for none)
        - ``replaced, size, fraction_us, copies_before``: int64
        - ``gone``: bool
        - ``read_on, shown``: ``datetime64[us]``, NaT for none
        - ``seconds``: bool, whether ``shown`` was given to the second
        - ``offset_minutes, look, flash``: float64, NaN for none
        - ``head``: int64, from the hash of the leading bytes, 0 for none
    csv_problems
        What a person should mend in the CSV photo logs on the cards.
    others
        Files on the disk that were met and are no pictures, CSVs and unreadable ones, in order of
        camera and path: ``camera, path`` object, ``size, mtime_ns`` int64.
    """

    files: pd.DataFrame
    csv_problems: tuple[Problem, ...] = ()
    others: pd.DataFrame = field(default_factory=lambda: other_files([]))


def other_files(rows: Sequence[tuple[Any, ...]]) -> pd.DataFrame:
    """Rows in the order of `OTHER` as the table of ``others`` of `Stored`."""
    columns = dict(zip(OTHER, zip(*rows, strict=True), strict=True)) if rows else {}
    return pd.DataFrame(
        {
            name: np.array(columns.get(name, ()), dtype=dtype)
            for name, dtype in zip(OTHER, (object, object, np.int64, np.int64), strict=True)
        }
    )


def stored_files(batches: Iterable[Sequence[tuple[Any, ...]]]) -> pd.DataFrame:
    """Rows in the order of `READ` as the table of `Stored`.

    Taken batch by batch: a quarter of a million rows of Python objects at once would take several
    times the memory of the table.
    """
    parts: dict[str, list[npt.NDArray[Any]]] = {}
    for rows in batches:
        columns = dict(zip(READ, zip(*rows, strict=True), strict=True))
        for name, values in _compact(columns).items():
            parts.setdefault(name, []).append(values)
    if not parts:
        parts = {name: [values] for name, values in _compact(dict.fromkeys(READ, ())).items()}
    return pd.DataFrame({name: np.concatenate(arrays) for name, arrays in parts.items()})


def _compact(columns: Mapping[str, Sequence[Any]]) -> dict[str, npt.NDArray[Any]]:
    compact: dict[str, npt.NDArray[Any]] = {}
    for name, values in columns.items():
        if name in ("replaced", "size", "fraction_us", "copies_before"):
            compact[name] = np.array(values, dtype=np.int64)
        elif name == "gone":
            compact[name] = np.array(values, dtype=bool)
        elif name in ("read_on", "shown"):
            compact[name] = np.array([v or "NaT" for v in values], dtype="datetime64[us]")
        elif name in ("offset_minutes", "look", "flash"):
            compact[name] = np.array(values, dtype=np.float64)  # None becomes NaN
        elif name == "head":
            none = bytes(_HASH_BYTES)
            joined = b"".join(v or none for v in values)
            table = np.frombuffer(joined, dtype=np.uint8).reshape(-1, _HASH_BYTES)
            compact[name] = np.ascontiguousarray(table[:, :8]).view("<i8").ravel()
        else:
            text = np.empty(len(values), dtype=object)
            text[:] = [sys.intern(v or "") for v in values] if name in _FEW else values
            compact[name] = text
    # HH:MM has 16 letters, HH:MM:SS has 19.
    compact["seconds"] = np.array([len(v or "") != 16 for v in columns["shown"]], dtype=bool)
    return compact
