"""The figures in what is said of clocks: how far off, how sure, how many, how fast."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from deerlog.ingest.clocks.clock_order import OrderFinding
from deerlog.ingest.clocks.clock_words import (
    light_problem,
    mend_run,
    order_problem,
    tag_problem,
    travel_problem,
)
from deerlog.ingest.clocks.light_faults import ClockFault

ZONE = "America/Chicago"


def at(text: str) -> np.datetime64:
    return np.datetime64(text, "us")


NEVER = at("NaT")
SECOND = pd.Timedelta(seconds=1)
FAULT = ClockFault(
    camera="Ridge", shift_minutes=95, low_minutes=91.4, high_minutes=98.6, sure=0.9912,
    begins=NEVER, begins_low=NEVER, begins_high=NEVER, ends=NEVER, begins_with="",
    n_looks=80, n_near=33, n_grey_in_light=1, n_coloured_in_dark=0, n_contradict_after=0,
    row={"shown": at("2023-09-10T08:00"), "actual": at("2023-09-10T09:35"),
         "opens": at("2023-09-01T00:00"), "closes": at("2023-10-01T00:00")},
)  # fmt: skip
NO_ROWS = pd.DataFrame(
    {"camera": [], "row": [], "valid_from": pd.to_datetime([]), "valid_to": pd.to_datetime([])}
)


def light(**changes: object) -> tuple[str, str]:
    problem = light_problem(replace(FAULT, **changes), ZONE, NO_ROWS)
    return problem.why, problem.how


@pytest.mark.parametrize(
    ("shift", "low", "high", "words"),
    [
        (95, 91.4, 98.6, "looks 1 h 35 min behind (91 to 99 minutes)"),
        (-120, -127.0, -118.0, "looks 2 h ahead (118 to 127 minutes)"),
        (59, 50.0, 60.0, "looks 59 minutes behind (50 to 60 minutes)"),
        (60, 50.0, 60.0, "looks 1 h behind (50 to 60 minutes)"),
        (720, 710.0, 725.0, "looks 12 h wrong (morning and evening swapped)"),
        (719, 710.0, 725.0, "looks 11 h 59 min behind"),
    ],
)
def test_how_far_off(shift: int, low: float, high: float, words: str) -> None:
    why, _ = light(shift_minutes=shift, low_minutes=low, high_minutes=high)
    assert words in why


def test_how_sure_and_of_how_many() -> None:
    why, how = light()
    assert "Of 80 pictures, 33 near dusk or dawn by its clock, 1 is grey in" in why
    assert "coloured in what" not in why and why.endswith("Probability of a fault over 99 %.")
    assert light(sure=0.99)[0].endswith("Probability of a fault 99 %.")
    assert light(sure=0.973)[0].endswith("Probability of a fault 97 %.")
    both = light(n_grey_in_light=0, n_coloured_in_dark=2, n_looks=1)[0]
    assert "Of 1 picture, " in both and "2 are coloured in" in both and "grey in" not in both
    assert "Add to clock.csv: Ridge,2023-09-10 08:00,2023-09-10 09:35," in how


@pytest.mark.parametrize(("shift", "hill"), [(44, True), (-44, True), (45, False), (-45, False)])
def test_less_than_three_quarters_of_an_hour_may_be_a_hill(shift: int, hill: bool) -> None:
    assert ("hill" in light(shift_minutes=shift)[1]) is hill


def test_the_days_it_touches_end_before_its_bound() -> None:
    problem = light_problem(FAULT, ZONE, NO_ROWS)
    assert (problem.first_day, problem.last_day) == (date(2023, 9, 1), date(2023, 9, 30))
    open_ended = replace(FAULT, row=FAULT.row | {"opens": NEVER, "closes": NEVER})
    problem = light_problem(open_ended, ZONE, NO_ROWS)
    assert problem.first_day is None and problem.last_day is None


def trip(**changes: object) -> SimpleNamespace:
    told = {
        "impossible": False, "cameras": ("ridge", "seep"), "n_trips": 2, "buck": "Ten",
        "camera_a": "seep", "site_a": "Seep", "time_a": at("2023-11-01T12:00:05"),
        "camera_b": "ridge", "site_b": "Ridge", "time_b": at("2023-11-01T12:03:05"),
        "distance_m": 4828.032, "seconds": 180.0,
    }  # fmt: skip
    return SimpleNamespace(**told | changes)


TRIP = trip()


def test_how_far_and_how_fast() -> None:
    """Three miles in three minutes: 60 miles, or 96.6 km, an hour."""
    imperial = travel_problem([TRIP], ZONE, "imperial").why
    assert "such as Ten at Seep on 2023-11-01 07:00:05 and at Ridge, " in imperial
    assert "3.0 miles off, on 2023-11-01 07:03:05, 60 mph." in imperial
    metric = travel_problem([TRIP], ZONE, "metric").why
    assert "4.8 km off, on 2023-11-01 07:03:05, 97 km/h." in metric
    # What no deer comes near is no figure to give.
    for seconds, told in ((17.39, "km/h"), (17.37, ""), (0.0, "")):
        why = travel_problem([trip(seconds=seconds)], ZONE, "metric").why
        assert ("km/h" in why) is bool(told)


def test_of_several_trips_one_that_cannot_be_is_enough_to_have_to_mend() -> None:
    assert not travel_problem([TRIP, TRIP], ZONE, "metric").must_mend
    hard = trip(impossible=True)
    problem = travel_problem([TRIP, hard], ZONE, "metric")
    assert problem.must_mend and problem.value == "ridge or seep" and problem.camera == "ridge"
    assert "ridge," in problem.paste
    assert tag_problem(trip(impossible=True, n_trips=2), ZONE, "metric").harm == 2.0
    assert (
        "one of 2 such trips" in tag_problem(trip(impossible=True, n_trips=2), ZONE, "metric").why
    )
    assert "such trips" not in tag_problem(trip(impossible=True, n_trips=1), ZONE, "metric").why


RUN = OrderFinding(kind="backwards", rows=(0,), before=None, after=1)


def photos(*shown: str) -> pd.DataFrame:
    """Photos from IMG_0007.JPG on."""
    return pd.DataFrame(
        {
            "camera": "Ridge",
            "path": [f"IMG_{7 + i:04d}.JPG" for i in range(len(shown))],
            "shown": np.array(shown, dtype="datetime64[us]"),
            "same_as": pd.Series([pd.NA] * len(shown), dtype="Int64"),
        }
    )


def why(found: OrderFinding, *shown: str) -> str:
    table = photos(*shown)
    return order_problem(found, table, table, NO_ROWS).why


def test_one_photo_and_several() -> None:
    assert why(RUN, "2023-09-01T10:00", "2023-09-01T08:00") == (
        "1 photo of Ridge (IMG_0007.JPG) says 2023-09-01 10:00, against its file number; it was "
        "taken before IMG_0008.JPG of 2023-09-01 08:00."
    )
    two = replace(RUN, rows=(0, 1), after=2)
    three = ("2023-09-01T10:00", "2023-09-01T11:00", "2023-09-01T08:00")
    assert why(two, *three) == (
        "2 photos of Ridge (IMG_0007.JPG to IMG_0008.JPG) say 2023-09-01 10:00 to 2023-09-01 "
        "11:00, against their file numbers; they were taken before IMG_0009.JPG of 2023-09-01 "
        "08:00."
    )
    assert why(replace(RUN, kind="reset", after=None), "2023-09-01T10:00") == (
        "1 photo of Ridge (IMG_0007.JPG) shows a clock's factory date (2023-09-01 10:00)."
    )
    assert "begin at a clock" in why(replace(two, kind="reset"), *three)


def test_others_that_a_row_would_move_too() -> None:
    same = "2023-09-01T10:00"
    how, row = mend_run(photos(same, same).iloc[:1], photos(same, same), NO_ROWS)
    assert row == ""
    assert how.startswith(
        "1 other photo of this camera shows a time like that of this one, so a row in clock.csv "
        "would move it too: put this photo in a folder of its own"
    )
    table = photos(same, "2023-09-01T12:00", "2023-09-01T11:00", "2023-09-01T11:30")
    how, _ = mend_run(table.iloc[:2], table, NO_ROWS)
    assert "2 other photos of this camera show times between theirs" in how
    assert "would move them too: put these photos in a folder of their own" in how
    stands = {"valid_from": pd.Timestamp(same), "valid_to": pd.Timestamp(same) + SECOND}
    rows = pd.DataFrame([{"camera": "Ridge", "row": 4} | stands])
    how, row = mend_run(table.iloc[:1], table, rows)
    assert "in place of row 4" in how and row.startswith("Ridge,2023-09-01 10:00,<real local time>")
