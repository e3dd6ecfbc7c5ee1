"""A card copied over the last one: nothing is forgotten, and no clock is accused."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from invented.card_photos import photo

from deerlog.ingest.clocks.clock_problems import clock_findings
from deerlog.property import open_property

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
CARD = "Seep/DCIM/100MEDIA"


@pytest.fixture
def pulled(place: Place, at: At) -> Place:
    place.photos(CARD, at(10, 1, 6), 40, every=timedelta(hours=5))
    place.ingest()
    place.tag("Seep", "DCIM/100MEDIA/IMG_0001.JPG", "Old Plow")
    return place


def copy_over(place: Place, at: At, number: int) -> None:
    for i in range(number):
        shown = at(10, 20, 7) + i * timedelta(hours=5)
        place.card(f"{CARD}/IMG_{i + 1:04d}.JPG", photo(shown, seed=800 + i), age_days=-2)


@pytest.mark.parametrize("number", [1, 15])
def test_both_photos_stay_and_the_clock_is_not_accused(pulled: Place, at: At, number: int) -> None:
    copy_over(pulled, at, number)
    summary = pulled.ingest()
    assert [camera.overwritten for camera in summary.cameras] == [number]
    log = pulled.log()
    assert len(log.photos) == 40 + number and log.photos["gone"].sum() == number
    assert log.sightings["local"].dt.day.tolist() == [1]  # the tag is the earlier photo's still
    assert not [*clock_findings(log.photos, log.sightings, open_property(pulled.folder))]
    (note,) = [p for p in summary.problems if p.kind == "photos-overwritten"]
    assert not note.must_mend and "folder of its own" in note.how
    words = "1 photo of Seep" if number == 1 else "15 photos of Seep"
    assert note.why.startswith(words) and ("It stays" in note.why) == (number == 1)


def test_a_clock_that_ran_backwards_is_accused_still(place: Place, at: At) -> None:
    """The same times in the same order of numbers, but no file was replaced."""
    for i in range(40):
        shown = at(10, 1, 6) + i * timedelta(hours=5) if i else at(10, 20, 7)
        place.card(f"{CARD}/IMG_{i + 1:04d}.JPG", photo(shown, seed=i))
    place.ingest()
    log = place.log()
    ((problem, _),) = clock_findings(log.photos, log.sightings, open_property(place.folder))
    assert problem.kind == "clock-backwards"
    assert problem.why == (
        "1 photo of Seep (DCIM/100MEDIA/IMG_0001.JPG) says 2024-10-20 07:00, against its file "
        "number; it was taken before DCIM/100MEDIA/IMG_0002.JPG of 2024-10-01 11:00."
    )


def test_pictures_that_lie_elsewhere_too_are_not_lost(pulled: Place, at: At) -> None:
    earlier = {p.name: p.read_bytes() for p in (pulled.folder / "cards" / CARD).iterdir()}
    copy_over(pulled, at, 15)
    for name, content in earlier.items():
        pulled.card(f"Seep/first/{name}", content)
    summary = pulled.ingest()
    assert not [p for p in summary.problems if p.kind == "photos-overwritten"]
    log = pulled.log()
    assert not [*clock_findings(log.photos, log.sightings, open_property(pulled.folder))]


def test_pictures_that_lie_in_a_folder_of_no_camera_are_not_said_to_be_lost(
    pulled: Place, at: At
) -> None:
    shutil.copytree(pulled.folder / "cards/Seep", pulled.folder / "cards/Backup")
    (pulled.folder / "cards/Backup/DCIM/100MEDIA/IMG_0003.JPG").unlink()
    copy_over(pulled, at, 15)
    found = {p.kind: p for p in pulled.ingest().problems}
    assert found["photos-overwritten"].why.startswith("1 photo of Seep")  # the third
    assert found["copies-left-alone"].why.startswith("14 photos in cards/Backup")


def test_a_list_of_them_is_not_the_pictures(pulled: Place, at: At) -> None:
    copy_over(pulled, at, 1)
    pulled.card("Seep/list.csv", b"file,taken\nDCIM/100MEDIA/IMG_0001.JPG,2024-10-01 06:00\n")
    assert "photos-overwritten" in {p.kind for p in pulled.ingest().problems}
