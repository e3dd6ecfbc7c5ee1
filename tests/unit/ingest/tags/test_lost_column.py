"""A sheet that has lost its ``photo`` column is matched by ``taken``."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from invented.card_photos import photo

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]


@pytest.fixture
def cut(place: Place, at: At) -> Place:
    """Four visits, two tagged, and the first column of the sheet cut off; one time is of none."""
    place.photos("Seep/DCIM", at(10, 5), 4, every=timedelta(hours=1))
    place.ingest()
    place.tag("Seep", "DCIM/IMG_0002.JPG", "Plow")
    place.tag("Seep", "DCIM/IMG_0004.JPG", "Splitbrow")
    lines = place.sheet("Seep").splitlines()
    lines += ["x,2024-10-06 03:00:00,1,Splitbrow,,", "x,10/5/2024 1:00 PM,1,Plow,,"]
    place.write("tags/Seep.csv", "".join(line.partition(",")[2] + "\n" for line in lines))
    return place


def test_rows_go_by_the_time_and_what_cannot_be_is_named(cut: Place) -> None:
    log = cut.log()
    assert log.visits["tagged"].tolist() == [False, True, False, True]
    seen = zip(log.sightings["buck"], log.sightings["local"].dt.hour, strict=True)
    assert list(seen) == [("Old Plow", 13), ("Splitbrow", 15)]
    found = {p.kind: p for p in log.problems if p.must_mend}
    assert found.keys() == {"tag-photo-column", "tag-photo-unknown"}
    assert "5 of 6 rows have one" in found["tag-photo-column"].why
    unknown = found["tag-photo-unknown"]
    assert (unknown.row, unknown.column, unknown.value) == (6, "taken", "2024-10-06 03:00:00")


def test_nothing_is_added_to_it_and_no_visit_gets_a_second_row(cut: Place, at: At) -> None:
    before = cut.sheet("Seep")
    assert "tag-sheet-left-alone" not in {p.kind for p in cut.ingest().problems}
    cut.card("Seep/DCIM/IMG_0009.JPG", photo(at(10, 8), seed=90))
    kinds = {p.kind for p in cut.ingest().problems}
    assert kinds >= {"tag-photo-column", "tag-sheet-left-alone"} and cut.sheet("Seep") == before


def test_without_photo_and_taken_the_sheet_is_left_out(place: Place) -> None:
    place.write("tags/Seep.csv", "photos,bucks,others\n1,Plow,\n")
    (problem,) = [p for p in place.log().problems if p.kind == "tag-sheet"]
    assert "photo" in problem.why and problem.must_mend
