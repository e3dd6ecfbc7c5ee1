"""outages.csv."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from deerlog.property.outages import DTYPES, read_outages
from deerlog.property.table_rows import frame_of

Write = Callable[[str, str], Path]
HEAD = "camera,from,to,status\n"


def test_days_are_included_and_times_are_taken_as_they_are(write: Write) -> None:
    outages, problems = read_outages(
        write(
            "outages.csv",
            HEAD
            + "Seep,2025-08-01,2025-08-03,Down\nSeep,2025-09-01 06:00,2025-09-01 18:00,running\n"
            "Seep,2025-10-01,2025-10-01,\n",
        ),
        ["Seep"],
    )
    assert problems == []
    assert list(outages.columns) == list(DTYPES)
    assert outages.dtypes.to_dict() == frame_of([], DTYPES).dtypes.to_dict()
    assert outages["start"].tolist()[:2] == [
        pd.Timestamp("2025-08-01"),
        pd.Timestamp("2025-09-01 06:00"),
    ]
    assert outages["end"].tolist() == [
        pd.Timestamp("2025-08-04"),
        pd.Timestamp("2025-09-01 18:00"),
        pd.Timestamp("2025-10-02"),
    ]
    assert outages["status"].tolist() == ["down", "running", "down"]


@pytest.mark.parametrize(
    ("row", "kind", "column"),
    [
        ("Bog,2025-08-01,2025-08-03,down", "unknown-camera", "camera"),
        ("Seep,2025-08-03,2025-08-01,down", "outage-end", "to"),
        ("Seep,2025-08-03,,down", "missing-cell", "to"),
        ("Seep,2025-08-03,2025-08-04,dead", "bad-cell", "status"),
    ],
)
def test_bad_rows(write: Write, row: str, kind: str, column: str) -> None:
    outages, (problem,) = read_outages(
        write("outages.csv", f"{HEAD}{row}\nSeep,2025-01-01,2025-01-02,down\n"), ["Seep"]
    )
    assert outages["row"].tolist() == [3]
    assert (problem.kind, problem.column, problem.row) == (kind, column, 2)


def test_down_and_running_at_once_is_told_and_adjoining_is_fine(write: Write) -> None:
    text = (
        f"{HEAD}Seep,2025-08-01,2025-08-03,down\nSeep,2025-08-03,2025-08-05,running\n"
        "Seep,2025-08-04,2025-08-06,running\nSeep,2025-08-02,2025-08-03,down\n"
    )
    outages, (problem,) = read_outages(write("outages.csv", text), ["Seep"])
    assert outages["row"].tolist() == [2, 4, 5]
    assert problem.kind == "outage-clash" and "Row 2" in problem.why
