"""clock.csv: what a camera's clock showed, and what time it really was."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
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

DTYPES = {
    "camera": "str",
    "shown": "datetime64[us]",
    "actual": "datetime64[us]",
    "valid_from": "datetime64[us]",
    "valid_to": "datetime64[us]",
    "row": "int64",
}


def read_clock_readings(
    path: Path, cameras: Iterable[str] | NameList, date_order: str = ""
) -> tuple[pd.DataFrame, Faults]:
    """Read the clock readings.

    Parameters
    ----------
    cameras
        The cameras of cameras.csv, perhaps with what is known of rows left out there.
    date_order
        Of the settings.

    Returns
    -------
    clock_readings
        In file order, columns as in `DTYPES`. ``shown``, ``valid_from`` (inclusive) and
        ``valid_to`` (exclusive) in the camera's shown time, NaT where unbounded; ``actual`` in
        real local time. A bare day in ``to`` is included wholly.
    problems
        Rows left out, and readings outside their own bounds.
    """
    records, faults = open_table(path, COLUMNS, date_order=date_order)
    kept: list[Record] = []
    for record in of_known_cameras(records, name_list(cameras), faults):
        start, end = record["from"], record["to"]
        record["valid_from"] = start.begins if start else None
        record["valid_to"] = end.ends if end else None
        fault = _fault(record, kept)
        if fault:
            column, why, how = fault
            why = f"{why} The row is left out."
            faults.add("clock-row", record, column, record["shown"], why, how)
            continue
        kept.append(record)
        if not _inside(record["shown"], record):
            faults.add(
                "clock-bounds",
                record,
                "shown",
                record["shown"],
                "The reading lies outside its own from and to (they are in shown time).",
                "Correct from and to; the row is used as it stands until then.",
            )
    return frame_of(kept, DTYPES), faults


def _inside(shown: datetime, record: Record) -> bool:
    start, end = record["valid_from"], record["valid_to"]
    return (start is None or start <= shown) and (end is None or shown < end)


def _fault(record: Record, kept: list[Record]) -> tuple[str, str, str] | None:
    """Column, why and how, where a row contradicts itself or an earlier one."""
    start, end = record["valid_from"], record["valid_to"]
    if start and end and end <= start:
        return "to", "to is before from.", "Correct one of them."
    for other in kept:
        bounds = (other["camera"], other["valid_from"], other["valid_to"])
        if bounds != (record["camera"], start, end):
            continue
        same = record["shown"] == other["shown"]
        backwards = (record["shown"] < other["shown"]) != (record["actual"] < other["actual"])
        if same and record["actual"] != other["actual"]:
            return (
                "actual",
                f"Row {other['row']} gives another actual time for the same shown time.",
                "Keep the right one; if the clock was set anew between them, bound each with from "
                "and to.",
            )
        if not same and backwards:
            return (
                "actual",
                f"Against row {other['row']}, shown time and actual time run in opposite "
                "directions.",
                "Correct the times; if the clock was set anew between them, bound each with from "
                "and to.",
            )
    return None
