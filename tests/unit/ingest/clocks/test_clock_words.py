"""Problems with clocks in words: what, where, how, and a row that can be pasted."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from deerlog.errors import Problem
from deerlog.ingest.clocks.clock_order import OrderFinding
from deerlog.ingest.clocks.clock_words import (
    light_problem,
    order_problem,
    tag_problem,
    travel_problem,
)
from deerlog.ingest.clocks.light_faults import ClockFault
from deerlog.property.clock import read_clock_readings

ZONE = "America/Chicago"


def at(text: str) -> np.datetime64:
    return np.datetime64(text, "us")


NEVER = at("NaT")

FAULT = ClockFault(
    camera="Ridge, north",
    shift_minutes=-60,
    low_minutes=-66.0,
    high_minutes=-52.0,
    sure=0.9996,
    begins=at("2023-11-05T12:40"),
    begins_low=at("2023-11-04T23:10"),
    begins_high=at("2023-11-05T12:40"),
    ends=NEVER,
    begins_with="clock change",
    n_looks=120,
    n_near=41,
    n_grey_in_light=7,
    n_coloured_in_dark=12,
    n_contradict_after=1,
    row={
        "shown": at("2023-11-24T09:10"),
        "actual": at("2023-11-24T08:10"),
        "opens": at("2023-11-05T02:00"),
        "closes": NEVER,
    },
)

RESET = OrderFinding(kind="reset", rows=tuple(range(1, 13)), before=0, after=None)


def card(*others: str) -> pd.DataFrame:
    """A card with a run of a dozen after its first photo, and other photos of its camera."""
    run = [f"2015-01-{1 + i // 5:02d} {i % 5:02d}:04:00" for i in range(11)]
    shown = ["2023-09-11 11:00", *run, "2015-01-03 07:04:30", *others]
    return pd.DataFrame(
        {
            "camera": "Ridge",
            "path": [f"pull/IMG_{50 + i:04d}.JPG" for i in range(len(shown))],
            "shown": np.array(shown, dtype="datetime64[us]"),
            "same_as": pd.Series([pd.NA] * len(shown), dtype="Int64"),
        }
    )


def reading(row: int = 2, opens: str = "NaT", closes: str = "NaT") -> dict[str, object]:
    bounds = {"valid_from": at(opens), "valid_to": at(closes)}
    return {"camera": FAULT.camera, "row": row} | bounds


def readings(*rows: dict[str, object]) -> pd.DataFrame:
    return pd.DataFrame(rows or [reading()]).iloc[: len(rows)]


def by_order(found: OrderFinding, photos: pd.DataFrame) -> Problem:
    return order_problem(found, photos, photos, readings())


TRIP = pd.Series(
    {
        "impossible": True,
        "cameras": ("ridge",),
        "n_trips": 4,
        "buck": "Ten",
        "camera_a": "seep",
        "site_a": "Seep",
        "time_a": at("2023-11-01T12:00"),
        "camera_b": "ridge",
        "site_b": "Ridge",
        "time_b": at("2023-11-01T12:01"),
        "distance_m": 1609.344,
        "seconds": 60.0,
    }
)


def trip(**change: object) -> pd.Series:
    return pd.Series(TRIP.to_dict() | change)


def pasted(problem: Problem, folder: Path, **known: str) -> object:
    """The row of a problem, read as clock.csv by the property's own reader."""
    assert problem.how.endswith(f": {problem.paste}")
    row = problem.paste
    for what, value in known.items():
        row = row.replace(f"<{what.replace('_', ' ')}>", value)
    path = folder / "clock.csv"
    path.write_text(f"camera,shown,actual,from,to\n{row}\n", encoding="utf-8")
    readings, problems = read_clock_readings(path, ["Ridge, north", "Ridge"])
    assert problems == []
    assert len(readings) == 1
    return readings.iloc[0]


def test_a_fault_by_light(tmp_path: Path) -> None:
    problem = light_problem(FAULT, ZONE, readings())
    assert (problem.kind, problem.file, problem.value) == ("clock-light", "clock.csv", FAULT.camera)
    assert "1 h ahead (52 to 66 minutes)" in problem.why
    assert "since the night the clocks changed" in problem.why
    assert "7 are grey in what its clock calls full light" in problem.why
    assert "12 are coloured in what it calls the dark" in problem.why
    assert "put right 1 would be" in problem.why and "over 99 %" in problem.why
    assert problem.must_mend
    row = pasted(problem, tmp_path)
    assert row["camera"] == FAULT.camera
    assert (row["shown"], row["actual"]) == (FAULT.row["shown"], FAULT.row["actual"])
    assert row["valid_from"] == FAULT.row["opens"]
    assert "in place of" not in problem.how
    narrower = reading(3, "2023-11-06", "2023-11-08"), reading(5, "2023-11-06T00:00")
    wider = reading(4, "2023-10-01"), reading(6)
    instead = light_problem(FAULT, ZONE, readings(*narrower, *wider))
    assert "Add to clock.csv, in place of rows 3 and 5: " in instead.how


@pytest.mark.parametrize(
    ("shift", "words"),
    [
        (-60, "1 h ahead"),
        (60, "1 h behind"),
        (85, "1 h 25 min behind"),
        (30, "30 minutes behind"),
        (720, "12 h wrong"),
    ],
)
def test_which_way_a_clock_is_off(shift: int, words: str, tmp_path: Path) -> None:
    fault = replace(FAULT, shift_minutes=shift)
    problem = light_problem(fault, ZONE, readings())
    assert words in problem.why
    assert ("hill" in problem.how) == (abs(shift) < 45)
    assert ("12 h early" in problem.how) == (shift == 720)
    pasted(problem, tmp_path)


def test_when_a_fault_began_is_told_with_its_doubt() -> None:
    def why(**change: object) -> str:
        return light_problem(replace(FAULT, **change), ZONE, readings()).why

    assert "some time between 2023-11-04 18:10 and 2023-11-05 06:40" in why(begins_with="unknown")
    assert "after a card was changed or a gap" in why(begins_with="break")
    assert "from" not in why(begins=NEVER, begins_with="").split(". ")[0]
    assert "until 2023-11-20 06:00" in why(ends=at("2023-11-20T12:00"))


def test_a_reset(tmp_path: Path) -> None:
    problem = by_order(RESET, card())
    assert problem.kind == "clock-reset"
    assert problem.file == "cards/Ridge/pull/IMG_0051.JPG"
    assert "12 photos of Ridge" in problem.why and "factory date" in problem.why
    assert "after pull/IMG_0050.JPG of 2023-09-11 11:00" in problem.why
    assert problem.must_mend
    # The real time is for the person to fill in; the rest can be pasted as it is.
    row = pasted(problem, tmp_path, real_local_time="2023-09-12 09:00")
    assert row["valid_from"] == at("2015-01-01T00:04")
    assert row["valid_to"] == at("2015-01-03T07:04:31")


def test_a_run_that_a_row_cannot_part_from_right_photos() -> None:
    found = replace(RESET, kind="backwards")
    problem = by_order(found, card(*(f"2015-01-02 {h:02d}:00" for h in range(3))))
    assert "against their file numbers" in problem.why
    assert "3 other photos of this camera show times between theirs" in problem.how
    assert "folder of their own" in problem.how
    assert problem.paste == ""


def test_a_jump_is_only_worth_a_look() -> None:
    found = replace(RESET, kind="jump")
    problem = by_order(found, card())
    assert not problem.must_mend
    _, shown, actual, *_ = problem.paste.split(",")
    assert shown == actual, "the row as it stands says that the clock is right"
    assert "jumps from 2023-09-11 11:00" in problem.why


def test_a_camera_that_disagrees_again_and_again(tmp_path: Path) -> None:
    problem = travel_problem([TRIP, trip(buck="Eight")], ZONE, "imperial")
    assert (problem.kind, problem.value) == ("clock-travel", "ridge")
    assert "2 times a buck was at ridge" in problem.why
    assert "1.0 miles off, on 2023-11-01 07:01:00, 60 mph" in problem.why
    assert "1.6 km off" in travel_problem([TRIP], ZONE, "metric").why
    known = {"what_it_showed": "2023-11-01 07:01", "real_local_time": "2023-11-01 08:01"}
    assert pasted(problem, tmp_path, **known)["camera"] == "Ridge"
    two = travel_problem([trip(cameras=("ridge", "seep"))], ZONE, "metric")
    assert two.value == "ridge or seep"


def test_a_tag() -> None:
    lone = trip(cameras=(), n_trips=1, seconds=0.0)
    problem = tag_problem(lone, ZONE, "imperial")
    assert (problem.kind, problem.file, problem.column) == ("tag-travel", "tags/ridge.csv", "bucks")
    assert "mph" not in problem.why and "two bucks" not in problem.why
    assert (
        "two bucks may go by one name"
        in tag_problem(trip(cameras=(), n_trips=3), ZONE, "metric").why
    )
    assert not tag_problem(trip(cameras=(), impossible=False), ZONE, "metric").must_mend


@pytest.mark.parametrize("kind", ["reset", "backwards", "jump"])
def test_a_run_out_of_order_has_its_first_and_last_day(kind: str) -> None:
    problem = by_order(replace(RESET, kind=kind), card())
    days = problem.first_day, problem.last_day
    assert [str(day) for day in days] == ["2015-01-01", "2015-01-03"]
    assert problem.value == "2015-01-01 00:04"


def test_the_row_of_a_jump_holds_its_first_photo_and_its_last(tmp_path: Path) -> None:
    row = pasted(by_order(replace(RESET, kind="jump"), card()), tmp_path)
    assert row["shown"] == row["actual"] == row["valid_from"] == at("2015-01-01T00:04")
    assert row["valid_to"] == at("2015-01-03T07:04:31")
