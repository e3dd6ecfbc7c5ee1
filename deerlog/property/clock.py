"""clock.csv: what a camera's clock showed, and what time it really was."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pandas as pd

from deerlog.property.cell_values import parse_name
from deerlog.property.day_and_time import parse_moment, parse_time
from deerlog.property.matching import NameList, name_list
from deerlog.property.placements import of_known_cameras
from deerlog.property.table_rows import Column, Faults, Record, frame_of, open_table

COLUMNS = (
    Column(name="camera", parse=parse_name),
    Column(name="shown", parse=parse_time, date=True),
    Column(name="actual", parse=parse_time, date=True),
    Column(name="from", parse=parse_moment, blank=None, date=True),
    Column(name="to", parse=parse_moment, blank=None, date=True),
)

DTYPES = {"camera": "str"} | dict.fromkeys(
    ("shown", "actual", "valid_from", "valid_to"), "datetime64[us]"
)
DTYPES["row"] = "int64"


def read_clock_readings(
    path: Path, cameras: Iterable[str] | NameList, date_order: str = ""
) -> tuple[pd.DataFrame, Faults]:
    """Read the clock readings, in file order with the columns of `DTYPES`.

    ``shown``, ``valid_from`` (inclusive) and ``valid_to`` (exclusive) are in the camera's shown
    time, NaT where unbounded; ``actual`` in real local time. A bare day in ``to`` is included
    wholly. Problems are rows left out, and readings outside their own bounds.
    """
    records, faults = open_table(path, COLUMNS, date_order=date_order)
    kept: list[Record] = []
    for record in of_known_cameras(records, name_list(cameras), faults):
        start, end, shown = record["from"], record["to"], record["shown"]
        record["valid_from"] = start.time if start else None
        record["valid_to"] = end.ends if end else None
        fault = _fault(record, kept)
        if fault:
            column, why, how = fault
            why = f"{why} The row is left out."
            faults.add("clock-row", record, column, why, how, value=shown)
            continue
        kept.append(record)
        if (start and shown < start.time) or (end and shown >= end.ends):
            why = "The reading lies outside its own from and to (they are in shown time)."
            how = "Correct from and to; the row is used as it stands until then."
            faults.add("clock-bounds", record, "shown", why, how)
    return frame_of(kept, DTYPES), faults


def _fault(record: Record, kept: list[Record]) -> tuple[str, str, str] | None:
    """Column, why and how, where a row contradicts itself or an earlier one."""
    start, end = record["valid_from"], record["valid_to"]
    if start and end and end <= start:
        return "to", "to is before from.", "Correct one of them."
    for other in kept:
        if any(other[name] != record[name] for name in ("camera", "valid_from", "valid_to")):
            continue
        anew = "if the clock was set anew between them, bound each with from and to."
        if record["shown"] == other["shown"]:
            if record["actual"] != other["actual"]:
                why = f"Row {other['row']} gives another actual time for the same shown time."
                return "actual", why, f"Keep the right one; {anew}"
        elif (record["shown"] < other["shown"]) != (record["actual"] < other["actual"]):
            why = (
                f"Against row {other['row']}, shown time and actual time run in opposite "
                "directions."
            )
            return "actual", why, f"Correct the times; {anew}"
    return None
