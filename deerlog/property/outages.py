"""outages.csv: when a camera was down, or ran though it was silent, as the user knows it."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pandas as pd

from deerlog.property.cell_values import one_of, parse_name
from deerlog.property.day_and_time import parse_moment
from deerlog.property.matching import NameList, name_list
from deerlog.property.placements import of_known_cameras
from deerlog.property.table_rows import Column, Faults, Fits, Record, frame_of, open_table

COLUMNS = (
    Column(name="camera", parse=parse_name),
    Column(name="from", parse=parse_moment, date=True),
    Column(name="to", parse=parse_moment, date=True),
    Column(name="status", parse=one_of(("down", "running")), blank="down"),
)

DTYPES = {
    "camera": "str",
    "start": "datetime64[us]",
    "end": "datetime64[us]",
    "status": "str",
    "row": "int64",
}


def read_outages(
    path: Path, cameras: Iterable[str] | NameList, date_order: str = "", fits: Fits | None = None
) -> tuple[pd.DataFrame, Faults]:
    """Read the outages, in file order with the columns of `DTYPES`.

    ``start`` is inclusive, ``end`` exclusive, naive local (days in the file are included wholly).
    ``status`` is ``down`` (also where blank) or ``running``; stretches of different status of one
    camera do not overlap. Problems are rows left out.
    """
    records, faults = open_table(path, COLUMNS, date_order=date_order, fits=fits)
    kept: list[Record] = []
    for record in of_known_cameras(records, name_list(cameras), faults):
        record["start"], record["end"] = record["from"].time, record["to"].ends
        if record["end"] <= record["start"]:
            why = "The stretch ends before it starts; the row is left out."
            how = "Correct from or to. Days are included, both of them."
            faults.add("outage-end", record, "to", why, how, value=record["to"].time.date())
            continue
        rival = next((other for other in kept if _contradict(record, other)), None)
        if rival:
            why = (
                f"Row {rival['row']} says {record['camera']} was {rival['status']} in the same "
                "time; this row is left out."
            )
            how = "Make the stretches end where the other begins."
            faults.add("outage-clash", record, "status", why, how)
            continue
        kept.append(record)
    return frame_of(kept, DTYPES), faults


def _contradict(a: Record, b: Record) -> bool:
    return bool(
        a["camera"] == b["camera"]
        and a["status"] != b["status"]
        and a["start"] < b["end"]
        and b["start"] < a["end"]
    )
