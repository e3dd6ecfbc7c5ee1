"""What waits to be tagged: the right visits, rows and pictures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from invented.card_photos import photo

from deerlog.errors import Problem
from deerlog.ingest.faces import known_faces
from deerlog.ingest.field_log import tagged_log
from deerlog.ingest.run import ingest_cards
from deerlog.ingest.store.store import read_log
from deerlog.ingest.to_tag import SheetToTag, sheets_to_tag
from deerlog.property import open_property

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
HOUR = timedelta(hours=1)


def waiting(place: Place, newest: int = 200) -> dict[str, SheetToTag]:
    tagged = tagged_log(read_log(place.folder).files, open_property(place.folder))
    return {sheet.camera: sheet for sheet in sheets_to_tag(tagged, newest=newest)}


def test_visits_without_a_tag_with_their_rows_and_pictures(place: Place, at: At) -> None:
    place.photos("Seep/DCIM", at(10, 5), 3, every=timedelta(minutes=10))
    place.card("Seep/DCIM/IMG_0009.JPG", photo(at(10, 5, 16), seed=9))
    place.photos("Gate/DCIM", at(10, 6), 1, every=HOUR, seed=50)
    place.ingest()
    place.tag("Seep", "DCIM/IMG_0009.JPG", "-")
    place.tag("Gate", "DCIM/IMG_0001.JPG", "Plow?")
    sheets = waiting(place)
    assert {name: sheet.waiting for name, sheet in sheets.items()} == {"Gate": 0, "Seep": 1}
    assert sheets["Gate"].visits == ()
    (visit,) = sheets["Seep"].visits
    assert (visit.row, visit.photo, visit.site) == (2, "DCIM/IMG_0001.JPG", "Seep")
    assert visit.taken == at(10, 5)
    assert [picture.file for picture in visit.pictures] == [
        f"cards/Seep/DCIM/IMG_000{n}.JPG" for n in (1, 2, 3)
    ]
    assert [picture.taken.minute for picture in visit.pictures] == [0, 10, 20]


def test_rows_are_those_of_the_sheet_after_it_was_sorted(place: Place, at: At) -> None:
    place.photos("Seep/DCIM", at(10, 5), 3, every=HOUR)
    place.ingest()
    header, *rows = place.sheet("Seep").splitlines()
    place.write("tags/Seep.csv", "\n".join([header, *reversed(rows)]) + "\n")
    visits = waiting(place)["Seep"].visits
    assert [(v.row, v.taken.hour) for v in visits] == [(2, 14), (3, 13), (4, 12)]


def test_of_a_long_backlog_the_newest_are_given_and_all_are_counted(place: Place, at: At) -> None:
    place.photos("Seep/DCIM", at(10, 5), 5, every=HOUR)
    place.ingest()
    sheet = waiting(place, newest=2)["Seep"]
    assert sheet.waiting == 5
    assert [v.taken.hour for v in sheet.visits] == [15, 16]


def test_a_picture_that_is_gone_is_given_by_its_copy_or_not_at_all(place: Place, at: At) -> None:
    picture = photo(at(10, 5), seed=1)
    first = place.card("Seep/a/IMG_0001.JPG", picture)
    second = place.card("Seep/b/IMG_0001.JPG", picture)
    place.ingest()

    def files() -> list[str | None]:
        return [p.file for v in waiting(place)["Seep"].visits for p in v.pictures]

    assert files() == ["cards/Seep/a/IMG_0001.JPG"]
    first.unlink()
    place.ingest()
    assert files() == ["cards/Seep/b/IMG_0001.JPG"]
    second.unlink()
    place.ingest()
    assert files() == [None]


def test_a_row_of_a_csv_log_has_no_picture(place: Place) -> None:
    place.write("cards/Seep/log.csv", "file,taken\nold_1.jpg,2024-10-05 12:00:00\n")
    place.ingest()
    (visit,) = waiting(place)["Seep"].visits
    assert [(p.kind, p.file) for p in visit.pictures] == [("log", None)]


def test_ingest_tells_of_new_rows_and_is_silent_when_nothing_is_new(place: Place, at: At) -> None:
    told: list[dict[str, int]] = []

    def listen(sheets: Sequence[SheetToTag]) -> list[Problem]:
        told.append({sheet.camera: sheet.waiting for sheet in sheets})
        rows = [visit.row for sheet in sheets for visit in sheet.visits]
        assert None not in rows
        return []

    def run(anew: bool = False) -> dict[str, int]:
        property_ = open_property(place.folder)
        summary = ingest_cards(property_, today=at(12, 1).date(), on_to_tag=listen, anew=anew)
        return dict(summary.to_tag)

    place.photos("Seep/DCIM", at(10, 5), 3, every=HOUR)
    assert run() == {"Seep": 3}
    assert run() == {"Seep": 3}
    assert told == [{"Seep": 3}]
    place.tag("Seep", "DCIM/IMG_0002.JPG", "Plow")
    assert run() == {"Seep": 2}
    assert told[1:] == [{"Seep": 2}]
    assert run(anew=True) == {"Seep": 2}
    assert len(told) == 3


def test_what_could_not_be_shown_is_told_and_tried_again(place: Place, at: At) -> None:
    trouble = [Problem(kind="contact-sheet", file="tags/Seep.html", why="Locked.", how="Close it.")]
    calls = []

    def listen(sheets: Sequence[SheetToTag]) -> list[Problem]:
        calls.append(sheets)
        return trouble if len(calls) == 1 else []

    def run() -> list[str]:
        property_ = open_property(place.folder)
        summary = ingest_cards(property_, today=at(12, 1).date(), on_to_tag=listen)
        return [p.kind for p in summary.problems if p.kind == "contact-sheet"]

    place.photos("Seep/DCIM", at(10, 5), 1, every=HOUR)
    assert run() == ["contact-sheet"]
    assert run() == []
    assert run() == []
    assert len(calls) == 2


def test_the_cells_between_are_given_as_typed_and_the_time_of_the_rows_photo(
    place: Place, at: At
) -> None:
    place.photos("Seep/DCIM", at(10, 5, 12, 10), 4, every=HOUR)
    place.ingest()
    place.tag("Seep", "DCIM/IMG_0002.JPG", "Plow?")
    place.tag("Seep", "DCIM/IMG_0004.JPG", "-")
    place.card("Seep/DCIM/IMG_0000.JPG", photo(at(10, 5, 12), seed=99))  # begins the first visit
    place.ingest()
    sheet = waiting(place)["Seep"]
    assert sheet.cells == {2: "", 3: "Plow?", 4: ""}
    first = sheet.visits[0]
    assert (first.photo, first.photo_taken) == ("DCIM/IMG_0001.JPG", at(10, 5, 12, 10))
    assert first.taken == at(10, 5, 12)


def test_faces_are_sure_the_newest_season_first_in_light_first_and_alone_first(
    place: Place, at: At
) -> None:
    place.write("cameras.csv", CAMERAS_FROM_2022)
    times = [at(10, 5, 12), at(10, 6, 23), at(10, 7, 12), at(10, 8, 12), at(10, 9, 12)]
    old = [time.replace(year=2023) for time in times[:2]]
    for n, time in enumerate([*times, *old], start=1):
        place.card(f"Seep/DCIM/IMG_{n:04d}.JPG", photo(time, seed=n))
    place.ingest()
    said = ("Plow", "Old Plow", "Plow; Splitbrow", "Plow?", "Stranger", "Plow", "plow")
    for n, name in enumerate(said, start=1):
        place.tag("Seep", f"DCIM/IMG_{n:04d}.JPG", name)
    (place.folder / "cards/Seep/DCIM/IMG_0006.JPG").unlink()
    place.ingest()
    property_ = open_property(place.folder)
    faces = known_faces(tagged_log(read_log(place.folder).files, property_), property_)
    assert {buck: [int(file[-8:-4]) for file in files] for buck, files in faces.items()} == {
        "Old Plow": [1, 3, 2, 7],
        "Splitbrow": [3],
    }
    assert faces["Splitbrow"] == ["cards/Seep/DCIM/IMG_0003.JPG"]


CAMERAS_FROM_2022 = """\
camera,site,setting,latitude,longitude,start
Seep,Seep,water,44.0,-91.0,2022-09-01
"""
