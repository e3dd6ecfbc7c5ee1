"""What is left out of the tables is told with the visits it costs, and worst first."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from deerlog.errors import Problem, worst_first

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]


@pytest.fixture
def ground(place: Place, at: At) -> Place:
    for camera, seed in (("Gate", 1), ("Seep", 500)):
        place.photos(f"{camera}/a", at(10, 1), 10, every=timedelta(hours=3), seed=seed)
    place.ingest()
    return place


def told(place: Place) -> list[Problem]:
    log = place.log()
    found = worst_first(log.problems)
    assert worst_first(p for p in place.ingest().problems if p.must_mend) == tuple(
        p for p in found if p.must_mend
    )
    return list(found)


@pytest.mark.parametrize(
    ("was", "now"),
    [
        ("Seep,Seep,water,44.0,-91.0", "Seep,Seep,water,44.0,91.0"),
        ("44.0,-91.0,2024-09-01", "44.0,-91.0,09/08/2024"),
        ("44.0,-91.0,2024-09-01,,,no,", "44.0,-91.0,2024-09-01,,,no,stand, and feeder"),
    ],
)
def test_a_row_that_was_left_out_is_named_and_not_called_missing(
    ground: Place, was: str, now: str
) -> None:
    text = (ground.folder / "cameras.csv").read_text(encoding="utf-8")
    ground.write("cameras.csv", text.replace(was, now, 1))
    ground.write("clock.csv", "camera,shown,actual\nSeep,2024-10-01 12:00,2024-10-01 12:01\n")
    ground.write("stands.csv", "stand,sites\nLadder,Seep\n")
    # What went wrong lately stands above all.
    worst, *rest = sorted(told(ground), key=lambda problem: problem.lately)
    assert (worst.file, worst.row, worst.must_mend) == ("cameras.csv", 2, True)
    assert (worst.harm, worst.harm_in) == (10.0, "visit")
    by_file = {p.file: p for p in rest}
    assert by_file["cards/Seep"].why.startswith(
        "The row of Seep in cameras.csv (row 2) was left out, so its 10 photos"
    )
    assert not by_file["cards/Seep"].must_mend
    assert "(row 2) was left out; so is this one" in by_file["clock.csv"].why
    assert "(row 2) was left out" in by_file["stands.csv"].why
    for file in ("cards/Seep", "clock.csv", "stands.csv"):
        assert "Mend row 2 of cameras.csv" in by_file[file].how
    assert not any("No camera" in p.why for p in rest)


def test_a_wrong_longitude_of_the_property_comes_first_and_alone(ground: Place) -> None:
    text = (ground.folder / "property.toml").read_text(encoding="utf-8")
    ground.write("property.toml", text.replace("-91.0", "91.0"))
    must_mend = [p for p in told(ground) if p.must_mend]
    assert [(p.kind, p.file, p.harm) for p in must_mend[:1]] == [
        ("property-far-away", "property.toml", 20.0)
    ]
    assert "longitude = -91.000" in must_mend[0].how
    assert not any(p.file == "cameras.csv" for p in must_mend)


def test_a_whole_sheet_counts_its_rows(ground: Place, at: At) -> None:
    ground.photos("Gate/odd", datetime(2031, 1, 1), 1, every=timedelta(1), seed=900)  # noqa: DTZ001
    ground.ingest()
    sheet = ground.sheet("Seep")
    ground.write("tags/Seep.csv", sheet.replace("photo,taken,", "picture,when,", 1))
    found = sorted(told(ground), key=lambda problem: problem.lately)  # those stand above all
    first, second = [p for p in found if p.must_mend]
    assert (first.kind, first.harm) == ("tag-sheet", 10.0)
    assert (second.kind, second.harm) == ("impossible-time", 1.0)
