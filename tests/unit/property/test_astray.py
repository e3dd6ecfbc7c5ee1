"""Whose coordinates are wrong: the property's or the cameras'."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from deerlog.property import Settings
from deerlog.property.cameras import read_cameras

Write = Callable[[str, str], Path]
HEAD = "camera,site,latitude,longitude,start\n"
HERE, THERE, SIGN = "40.101,-91.201", "41.501,-91.201", "40.101,91.201"


def kinds(write: Write, latitude: float, longitude: float, *places: str) -> list[str]:
    settings = Settings(
        name="x", latitude=latitude, longitude=longitude, timezone="America/Chicago"
    )
    rows = [f"C{i},S{i},{place},2025-06-01\n" for i, place in enumerate(places)]
    _, problems = read_cameras(write("cameras.csv", HEAD + "".join(rows)), settings)
    return [p.kind for p in problems]


@pytest.mark.parametrize(
    ("longitude", "places", "expected"),
    [
        (-91.2, [HERE, HERE, SIGN], ["far-away"]),
        (-91.2, [SIGN, SIGN, HERE], ["far-away", "far-away"]),  # not in the property's time zone
        (-91.2, [THERE, THERE, HERE], ["property-far-away"]),
        (-91.2, [THERE], ["far-away"]),  # one against one: no telling
        (-91.2, [THERE, "45.0,-91.2"], ["far-away", "far-away"]),  # they do not lie together
        (91.2, [HERE], ["property-far-away"]),
        (91.2, [HERE, HERE], ["property-far-away"]),
    ],
)
def test_whose_fault_it_is(
    write: Write, longitude: float, places: list[str], expected: list[str]
) -> None:
    assert kinds(write, 40.1, longitude, *places) == expected


def test_it_says_what_to_write(write: Write) -> None:
    settings = Settings(name="x", latitude=40.1, longitude=91.2, timezone="America/Chicago")
    rows = "A,a,40.101,-91.201,2025-06-01\nB,b,40.105,-91.205,2025-06-01\n"
    placements, (problem,) = read_cameras(write("cameras.csv", HEAD + rows), settings)
    assert placements.empty
    assert problem.file == "property.toml"
    assert "2 of 2 rows of cameras.csv (rows 2, 3)" in problem.why
    assert "America/Chicago" in problem.why
    assert problem.how.startswith("Write latitude = 40.103 and longitude = -91.203")
