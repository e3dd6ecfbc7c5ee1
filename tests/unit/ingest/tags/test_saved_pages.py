"""CSVs that a page to tag on has saved: they count like the tag sheets, under any name."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from deerlog.errors import Problem

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
HEADER = "camera,photo,taken,photos,bucks\n"
FIRST = "Seep,DCIM/IMG_0001.JPG,2024-10-05 12:00:00,1,"


def seen(place: Place) -> list[tuple[str, str, int]]:
    found = place.log().sightings
    return list(zip(found["buck"], found["camera"], found["photos"], strict=True))


def problems(place: Place) -> list[Problem]:
    return [p for p in place.log().problems if p.file.startswith("tags/") and p.must_mend]


@pytest.fixture
def two(place: Place, at: At) -> Place:
    """Two cameras with two visits each, nothing tagged."""
    for camera, seed in (("Seep", 1), ("Gate", 50)):
        place.photos(f"{camera}/DCIM", at(10, 5), 2, every=timedelta(hours=1), seed=seed)
    place.ingest()
    return place


@pytest.mark.parametrize("name", ["Seep tagged.csv", "Seep (1).csv", "Copy of Seep.csv", "x y.CSV"])
def test_one_of_any_name_counts_and_is_never_written_to(two: Place, name: str) -> None:
    sheet = two.sheet("Seep")
    text = HEADER + FIRST + "Splitbrow\ngate,DCIM/IMG_0002.JPG,,1,Plow\n"
    two.write(f"tags/{name}", text)
    two.photos("Seep/more", datetime(2024, 10, 9), 1, every=timedelta(0), seed=9)  # noqa: DTZ001
    two.ingest()
    assert seen(two) == [("Old Plow", "Gate", 1), ("Splitbrow", "Seep", 1)]
    assert problems(two) == []
    assert (two.folder / "tags" / name).read_text(encoding="utf-8") == text
    assert two.sheet("Seep").startswith(sheet) and "more/IMG_0001.JPG" in two.sheet("Seep")


def test_saved_twice_it_counts_once(two: Place) -> None:
    two.write("tags/a.csv", HEADER + FIRST + "Splitbrow\n")
    two.write("tags/b.csv", HEADER + FIRST + "Splitbrow\n")
    assert seen(two) == [("Splitbrow", "Seep", 1)]
    assert problems(two) == []


def test_what_differs_from_the_sheet_or_an_earlier_page_is_named_and_both_are_kept(
    two: Place,
) -> None:
    two.tag("Seep", "DCIM/IMG_0001.JPG", "-")
    two.write("tags/a.csv", HEADER + FIRST + "Splitbrow\n")
    two.write("tags/b.csv", HEADER + FIRST + "Splitbrow?\n")
    first, second = problems(two)
    assert (first.kind, first.file, first.row) == ("tag-said-twice", "tags/a.csv", 2)
    assert (second.kind, second.file, second.row) == ("tag-said-twice", "tags/b.csv", 2)
    assert "tags/Seep.csv says otherwise" in first.why
    assert seen(two) == [("Splitbrow", "Seep", 1)]


def test_photos_moved_since_are_found_by_name_and_time(two: Place) -> None:
    two.write("tags/a.csv", HEADER + FIRST + "Splitbrow\n")
    (two.folder / "cards/Seep/DCIM").rename(two.folder / "cards/Seep/2024")
    two.ingest()
    assert seen(two) == [("Splitbrow", "Seep", 1)]
    assert problems(two) == []


def test_a_photo_that_is_not_known_is_named(two: Place) -> None:
    two.write("tags/a.csv", HEADER + FIRST.replace("0001", "0404") + "Splitbrow\n")
    (problem,) = problems(two)
    assert (problem.kind, problem.file, problem.row) == ("tag-photo-unknown", "tags/a.csv", 2)


def test_as_a_spreadsheet_program_saves_it_again(two: Place) -> None:
    text = (HEADER + FIRST + "Splitbrow\n").replace(",", ";").replace("12:00:00", "12:00")
    path = two.folder / "tags" / "a.csv"
    path.write_bytes(text.encode("utf-16"))
    assert seen(two) == [("Splitbrow", "Seep", 1)]


def test_without_the_column_camera_it_is_a_sheet_or_a_copy_of_one(two: Place) -> None:
    two.write("tags/Seep (1).csv", HEADER.replace("camera", "site") + FIRST + "Splitbrow\n")
    (problem,) = problems(two)
    assert "looks like a copy of Seep.csv" in problem.why
