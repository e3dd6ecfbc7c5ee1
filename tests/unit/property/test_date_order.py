"""Days that can be read in two ways, of which one cannot be true."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from deerlog.property import open_property
from deerlog.property.day_and_time import fitting_order

SETTINGS = """\
name = "Hollow Fork"
latitude = 40.1
longitude = -91.2
timezone = "America/Chicago"
rut_peak = "11-12"
"""
BOW = '[[hunting]]\nname = "bow"\nopens = "10-01"\ncloses = "01-15"\n'
CAMERAS = "camera,site,latitude,longitude,start\nc1,Ridge,40.101,-91.201,2025-08-20\n"


def property_with(folder: Path, hunting: str = BOW, **tables: str):  # type: ignore[no-untyped-def]
    (folder / "property.toml").write_text(SETTINGS + hunting)
    (folder / "cameras.csv").write_text(CAMERAS)
    (folder / "stands.csv").write_text("stand,sites,use\nLadder,Ridge,either\n")
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(text)
    return open_property(folder)


def sits(*days: str) -> str:
    return "day,half,stand\n" + "".join(f"{day},PM,Ladder\n" for day in days)


def test_a_sit_is_read_as_the_day_that_lies_in_a_season(tmp_path: Path) -> None:
    place = property_with(tmp_path, sits=sits("10/3/2025", "11/4/2025"))
    assert [d.date() for d in place.sits["day"]] == [date(2025, 10, 3), date(2025, 11, 4)]
    (note,) = [p for p in place.problems if p.file == "sits.csv"]
    assert note.kind == "date-order" and note.column == "day" and not note.must_mend
    assert "'10/3/2025' lies in no hunting season" in note.why and "date_order" in note.how


def test_day_first_too(tmp_path: Path) -> None:
    place = property_with(tmp_path, sits=sits("3/10/2025"))
    assert [d.date() for d in place.sits["day"]] == [date(2025, 10, 3)]


@pytest.mark.parametrize("days", [("10/11/2025",), ("3/4/2025",), ("10/3/2025", "3/10/2025")])
def test_what_could_be_both_or_neither_is_refused_as_ever(
    tmp_path: Path, days: tuple[str, ...]
) -> None:
    place = property_with(tmp_path, sits=sits(*days))
    assert place.sits.empty
    assert {p.kind for p in place.problems if p.file == "sits.csv"} == {"bad-cell"}


def test_without_seasons_nothing_is_guessed(tmp_path: Path) -> None:
    assert property_with(tmp_path, hunting="", sits=sits("10/3/2025")).sits.empty


def test_an_outage_lies_after_the_first_camera_stood(tmp_path: Path) -> None:
    outages = "camera,from,to,status\nc1,9/3/2025,9/5/2025,down\n"
    place = property_with(tmp_path, outages=outages)
    assert [d.date() for d in place.outages["start"]] == [date(2025, 9, 3)]
    notes = [p for p in place.problems if p.file == "outages.csv"]
    assert {p.column for p in notes} == {"from", "to"}
    assert all("before 2025-08-20" in p.why for p in notes)


def test_what_a_wrong_clock_showed_may_lie_before_any_camera_stood(tmp_path: Path) -> None:
    """Read the other way it would shift the camera by months: such a day is refused as ever."""
    clock = "camera,shown,actual\nc1,3/10/2025 12:00,2025-10-12 13:00\n"
    place = property_with(tmp_path, clock=clock)
    assert place.clock_readings.empty
    assert {p.kind for p in place.problems if p.file == "clock.csv"} == {"bad-cell"}


def test_what_a_column_says_itself_counts_first(tmp_path: Path) -> None:
    """13/10 can only be day first, whatever the seasons say of the other row."""
    place = property_with(tmp_path, sits=sits("13/10/2025", "10/3/2025"))
    assert date(2025, 3, 10) in [d.date() for d in place.sits["day"]]


def test_the_order_in_which_all_can_be_true() -> None:
    def in_fall(day: date) -> bool:
        return day.month >= 10

    assert fitting_order(["10/3/2025"], in_fall) == ("month first", "10/3/2025")
    assert fitting_order(["10/11/2025"], in_fall) == ("", "")
    assert fitting_order([], in_fall) == ("", "")
    assert fitting_order(["nonsense", "10/3/2025"], in_fall) == ("month first", "10/3/2025")
