"""sits.csv: the hunts, and what was seen."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, time
from functools import partial
from pathlib import Path

import pandas as pd

from deerlog.property.cell_values import (
    CellError,
    one_of,
    parse_list,
    parse_name,
    parse_whole_number,
)
from deerlog.property.day_and_time import parse_day
from deerlog.property.matching import BuckNames, NameList
from deerlog.property.table_rows import (
    Column,
    Faults,
    Fits,
    Record,
    dtypes_of,
    frame_of,
    open_table,
)

_half = one_of(
    ("AM", "PM"),
    {"morning": "AM", "a.m.": "AM", "evening": "PM", "afternoon": "PM", "p.m.": "PM"},
)


def parse_half(text: str) -> str:
    """Read AM or PM (also morning, afternoon, evening); a sit all day takes two rows."""
    if " ".join(text.casefold().replace("-", " ").split()) in ("all day", "allday", "both", "day"):
        raise CellError(
            f"{text!r} is both halves of the day.",
            how="Write two rows, AM and PM, each with what was seen in that half.",
        )
    return _half(text)


COLUMNS = (
    Column(name="day", parse=parse_day, date=True, dtype="datetime64[us]"),
    Column(name="half", parse=parse_half),
    Column(name="stand", parse=parse_name),
    Column(name="bucks_seen", parse=parse_list, blank=(), dtype="object"),
    Column(name="deer_seen", parse=partial(parse_whole_number, low=0, high=1000), blank=None,
           unreadable=None, stand_in="not counted", dtype="Int64"),
    Column(name="notes", parse=str, blank=""),
)  # fmt: skip

DTYPES = dtypes_of(COLUMNS, bucks_unsure="object")


def read_sits(
    path: Path,
    stands: Iterable[str],
    bucks: pd.DataFrame,
    date_order: str = "",
    fits: Fits | None = None,
) -> tuple[pd.DataFrame, Faults]:
    """Read the sits, in file order with the columns of `DTYPES`.

    ``day`` is naive midnight, ``half`` AM or PM, ``bucks_seen`` a tuple of bucks (aliases resolved;
    a name not listed stands for itself), ``bucks_unsure`` those written with ``?``, ``deer_seen``
    NA where not counted. Problems are rows left out, and names that look like slips.
    """
    records, faults = open_table(path, COLUMNS, date_order=date_order, fits=fits)
    known, names = NameList(stands), BuckNames(bucks)
    kept: list[Record] = []
    for record in records:
        stand, named = known.find(record["stand"]), record["stand"]
        if not stand:
            why = f"No stand {named} can be used from stands.csv; the sit is left out."
            faults.add("unknown-stand", record, "stand", why, known.advice(named, "stands.csv"))
            continue
        record["stand"] = stand
        record["day"] = datetime.combine(record["day"], time())
        written = [name for name in record["bucks_seen"] if name not in ("-", "–", "—")]
        _tell_slips(record, written, names, faults)
        sure = [names.canonical(name) for name in written if not name.endswith("?")]
        unsure = [names.canonical(name.rstrip("? ")) for name in written if name.endswith("?")]
        record["bucks_seen"] = tuple(dict.fromkeys(sure))
        record["bucks_unsure"] = tuple(name for name in dict.fromkeys(unsure) if name)
        kept.append(record)
    return frame_of(kept, DTYPES), faults


def _tell_slips(record: Record, written: Iterable[str], names: BuckNames, faults: Faults) -> None:
    for cell in written:
        name = cell.rstrip("? ")
        near = None if names.listed(name) else names.near(name)
        if near:
            why = f"{name} is not in bucks.csv, but {near.why}; it counts as a buck of its own."
            how = f"Write {near.name}, or add {name} to bucks.csv."
            more = {"value": cell, "bucks": (near.name,)}
            faults.add("buck-typo", record, "bucks_seen", why, how, **more)
