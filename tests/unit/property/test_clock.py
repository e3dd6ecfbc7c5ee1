"""clock.csv."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from deerlog.property.clock import DTYPES, read_clock_readings
from deerlog.property.table_rows import frame_of

Write = Callable[[str, str], Path]
HEAD = "camera,shown,actual,from,to\n"


def test_all_columns(write: Write) -> None:
    readings, problems = read_clock_readings(
        write(
            "clock.csv",
            HEAD + "seep,2025-08-01 07:00,2025-08-01 08:00:30,2025-07-01,2025-08-05\n"
            "Seep,2000-01-01 00:10,2025-09-01 12:00,2000-01-01 00:00,\n",
        ),
        ["Seep"],
    )
    assert problems == []
    assert list(readings.columns) == list(DTYPES)
    assert readings.dtypes.to_dict() == frame_of([], DTYPES).dtypes.to_dict()
    assert readings["camera"].tolist() == ["Seep", "Seep"]
    assert readings["actual"].iloc[0] == pd.Timestamp("2025-08-01 08:00:30")
    # A bare day in `to` is included wholly.
    assert readings["valid_to"].iloc[0] == pd.Timestamp("2025-08-06")
    assert readings["valid_from"].iloc[1] == pd.Timestamp("2000-01-01")
    assert pd.isna(readings["valid_to"].iloc[1])


@pytest.mark.parametrize(
    ("row", "kind", "column"),
    [
        ("Sep,2025-08-01 07:00,2025-08-01 08:00,,", "unknown-camera", "camera"),
        ("Seep,2025-08-01,2025-08-01 08:00,,", "bad-cell", "shown"),
        ("Seep,2025-08-01 07:00,,,", "missing-cell", "actual"),
        ("Seep,2025-08-01 07:00,2025-08-01 08:00,2025-08-02,2025-08-01", "clock-row", "to"),
    ],
)
def test_bad_rows(write: Write, row: str, kind: str, column: str) -> None:
    good = "Seep,2025-09-01 07:00,2025-09-01 08:00,,"
    readings, (problem,) = read_clock_readings(
        write("clock.csv", f"{HEAD}{row}\n{good}\n"), ["Seep"]
    )
    assert readings["row"].tolist() == [3]
    assert (problem.kind, problem.column, problem.row) == (kind, column, 2)
    assert problem.how


def test_an_unknown_camera_is_suggested(write: Write) -> None:
    _, (problem,) = read_clock_readings(
        write("clock.csv", HEAD + "Seeep,2025-08-01 07:00,2025-08-01 08:00,,\n"), ["Seep"]
    )
    assert "Write Seep" in problem.how


@pytest.mark.parametrize(
    ("second", "words"),
    [
        ("2025-08-01 07:00,2025-08-01 09:00", "another actual time"),
        ("2025-09-01 07:00,2025-07-01 08:00", "opposite directions"),
    ],
)
def test_readings_that_contradict_each_other(write: Write, second: str, words: str) -> None:
    text = f"{HEAD}Seep,2025-08-01 07:00,2025-08-01 08:00,,\nSeep,{second},,\n"
    readings, (problem,) = read_clock_readings(write("clock.csv", text), ["Seep"])
    assert readings["row"].tolist() == [2]
    assert problem.row == 3 and words in problem.why


def test_readings_under_other_bounds_may_differ(write: Write) -> None:
    text = (
        f"{HEAD}Seep,2025-08-01 07:00,2025-08-01 08:00,,2025-08-31\n"
        "Seep,2025-09-02 07:00,2025-07-01 08:00,2025-09-01,\n"
    )
    readings, problems = read_clock_readings(write("clock.csv", text), ["Seep"])
    assert len(readings) == 2 and problems == []


def test_a_reading_outside_its_own_bounds_is_used_and_said(write: Write) -> None:
    text = f"{HEAD}Seep,2025-08-01 07:00,2025-08-01 08:00,2025-08-02,\n"
    readings, (problem,) = read_clock_readings(write("clock.csv", text), ["Seep"])
    assert len(readings) == 1
    assert problem.kind == "clock-bounds"
