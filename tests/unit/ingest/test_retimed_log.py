"""A correction re-times the log: no picture is opened for it, and tags stay with their photos."""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from invented.card_photos import mp4, photo

from deerlog.ingest.store.store_file import FILE
from deerlog.study import open_study

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
HEAD = "camera,shown,actual,from,to\n"

_watching: list[list[str]] = []


def _see(event: str, arguments: tuple[object, ...]) -> None:
    if event == "open" and _watching:
        _watching[-1].append(str(arguments[0]))


sys.addaudithook(_see)  # can never be taken away again, so it looks only when asked to


@contextmanager
def opened() -> Iterator[list[str]]:
    """Every file that this process opens, by whatever means of Python's."""
    _watching.append([])
    try:
        yield _watching[-1]
    finally:
        _watching.pop()


@pytest.fixture
def tagged(place: Place, at: At) -> Place:
    """Ten photos and a video of two cameras, four of them tagged, and a CSV log."""
    place.photos("Seep/DCIM", at(10, 5, 6), 6, every=timedelta(hours=5))
    place.photos("Gate/DCIM", at(10, 5, 7), 4, every=timedelta(hours=9), seed=50)
    place.card("Seep/DCIM/VID_0009.MP4", mp4(at(10, 9, 6)))
    place.card("Gate/log.csv", b"file,taken\nx.jpg,2024-10-09 10:00\n")
    place.ingest()
    for camera, name, buck in (
        ("Seep", "DCIM/IMG_0001.JPG", "Old Plow"),
        ("Seep", "DCIM/IMG_0003.JPG", "Splitbrow"),
        ("Gate", "DCIM/IMG_0002.JPG", "Splitbrow?"),
        ("Gate", "x.jpg", "Old Plow"),
    ):
        place.tag(camera, name, buck)
    return place


def tags(place: Place) -> dict[str, tuple[str, str]]:
    """Buck and local time of each tagged photo."""
    log = place.log()
    seen = log.sightings.merge(log.visits[["visit", "photo_id"]], on="visit")
    paths = log.photos["path"]
    return {
        f"{row['camera']}/{paths[row['photo_id']]}": (row["buck"], str(row["local"])[:16])
        for row in seen.to_dict("records")
    }


def files_stored(place: Place) -> list[object]:
    """Every row of the photo log, as stored."""
    db = sqlite3.connect(place.folder / FILE)
    try:
        return db.execute("SELECT * FROM file").fetchall()
    finally:
        db.close()


def test_photos_are_opened_to_be_read_and_the_watch_sees_it(place: Place, at: At) -> None:
    place.photos("Seep", at(10, 5), 2, every=timedelta(hours=5))
    with opened() as files:
        place.ingest()
    assert sum(name.endswith(".JPG") for name in files) == 2


def test_a_correction_opens_no_card_file_and_tags_stay(tagged: Place) -> None:
    before = tags(tagged)
    assert before["Seep/DCIM/IMG_0003.JPG"] == ("Splitbrow", "2024-10-05 16:00")
    stored = files_stored(tagged)
    sheets = tagged.sheet("Seep"), tagged.sheet("Gate")
    with opened() as files:
        tagged.write("clock.csv", f"{HEAD}Seep,2024-10-05 12:00,2024-10-05 13:10,,\n")
        after = tags(tagged)
        study = open_study(tagged.folder)
        assert study.field_log.sightings["buck"].tolist()
        tagged.ingest()
        tagged.write("cameras.csv", CAMERAS_FIXED)
        tagged.ingest()
        (tagged.folder / "clock.csv").unlink()
        tagged.ingest()
    assert [name for name in files if "/cards/" in name.replace("\\", "/")] == []
    assert after == before | {
        "Seep/DCIM/IMG_0001.JPG": ("Old Plow", "2024-10-05 07:10"),
        "Seep/DCIM/IMG_0003.JPG": ("Splitbrow", "2024-10-05 17:10"),
    }
    assert (tagged.sheet("Seep"), tagged.sheet("Gate")) == sheets
    # What a correction decides is not stored, so that nothing stored can be stale.
    assert files_stored(tagged) == stored
    assert tags(tagged)["Seep/DCIM/IMG_0003.JPG"] == ("Splitbrow", "2024-10-05 17:00")


CAMERAS_FIXED = """\
camera,site,latitude,longitude,start,clock
Seep,Seep,44.0,-91.0,2024-09-01,UTC-6
Gate,Gate,44.001,-91.0,2024-09-01,
"""


def test_the_doubled_hour_told_by_each_kind_of_camera(place: Place) -> None:
    """01:30 on 3 November 2024 happens twice in Chicago: at 06:30 and at 07:30 UTC."""
    place.write("cameras.csv", CAMERAS_FIXED)
    shown = "2024:11:03 01:30:00"
    place.card("Seep/fixed.jpg", photo(shown, seed=1))
    place.card("Gate/follows.jpg", photo(shown, seed=2))
    place.card("Gate/states summer.jpg", photo(shown, seed=3, offset="-05:00"))
    place.card("Gate/states winter.jpg", photo(shown, seed=4, offset="-06:00"))
    place.card("Gate/states nonsense.jpg", photo(shown, seed=5, offset="+09:00"))
    place.ingest()
    photos = place.log().photos.set_index("path")
    assert photos["time"].dt.strftime("%H:%M").to_dict() == {
        "fixed.jpg": "07:30",
        "follows.jpg": "06:30",
        "states summer.jpg": "06:30",
        "states winter.jpg": "07:30",
        "states nonsense.jpg": "06:30",
    }
    assert photos["time_fault"].to_dict() == {
        "fixed.jpg": "",
        "follows.jpg": "twice",
        "states summer.jpg": "",
        "states winter.jpg": "",
        "states nonsense.jpg": "twice",
    }
    told = {p.kind: p for p in open_study(place.folder).problems}
    assert told["hour-twice"].why.startswith("2 photos of Gate (2024-11-03) show a time in the ")
    assert told["foreign-offset"].value == "states nonsense.jpg"


def test_a_drift_between_two_readings_is_spread_over_the_photos(place: Place, at: At) -> None:
    """A clock that loses ten minutes in ten days, read at both ends, bounded to September on."""
    place.photos("Seep", at(10, 1, 12), 3, every=timedelta(days=5))
    rows = "Seep,2024-10-01 12:00,2024-10-01 12:00,2024-09-01,2024-10-31\n"
    rows += "Seep,2024-10-11 12:00,2024-10-11 12:10,2024-09-01,2024-10-31\n"
    place.write("clock.csv", HEAD + rows)
    place.ingest()
    assert place.log().photos["local"].dt.strftime("%m-%d %H:%M").tolist() == [
        "10-01 12:00",
        "10-06 12:05",
        "10-11 12:10",
    ]
