"""``taken`` as a spreadsheet program with months first rewrites it: tags stay with their visit."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from invented.card_photos import photo

from deerlog.errors import Problem

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
CARD = "Seep/100MEDIA"


def month_first(text: str) -> str:
    """To the minute, as shown in a cell by default."""
    return re.sub(r"(\d{4})-0?(\d+)-0?(\d+) (\d+:\d+):\d+", r"\2/\3/\1 \4", text)


def with_half(text: str) -> str:
    """With seconds and AM or PM."""

    def turned(found: re.Match[str]) -> str:
        return datetime.fromisoformat(found[0]).strftime("%m/%d/%Y %I:%M:%S %p")

    return re.sub(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d", turned, text)


def short_year(text: str) -> str:
    """Two figures each."""
    return re.sub(r"\d\d(\d\d)-(\d+)-(\d+) (\d+:\d+):\d+", r"\2/\3/\1 \4", text)


def save(place: Place, how: Callable[[str], str]) -> None:
    place.write("tags/Seep.csv", how(place.sheet("Seep")))


@pytest.fixture
def pulled(place: Place, at: At) -> Place:
    """Three visits of which the first is tagged; days of 12 and less, and seconds."""
    place.photos(CARD, at(9, 10, 18, 52) + timedelta(seconds=17), 3, every=timedelta(hours=25))
    place.ingest()
    place.tag("Seep", "100MEDIA/IMG_0001.JPG", "Old Plow")
    return place


def next_card(place: Place, at: At, month: int = 10, day: int = 19) -> None:
    for i in range(3):
        shown = at(month, day, 7, 13) + i * timedelta(hours=25)
        place.card(f"{CARD}/IMG_{i + 1:04d}.JPG", photo(shown, seed=700 + i), age_days=-2)


def sightings(place: Place) -> list[str]:
    return [str(local)[:16] for local in place.log().sightings["local"]]


def odd(place: Place) -> list[Problem]:
    return [p for p in place.log().problems if p.kind == "tag-taken"]


@pytest.mark.parametrize("how", [month_first, with_half, short_year])
@pytest.mark.parametrize(("month", "day"), [(10, 19), (10, 9)])
def test_a_tag_stays_when_the_next_card_is_copied_over(
    pulled: Place, at: At, how: Callable[[str], str], month: int, day: int
) -> None:
    save(pulled, how)
    next_card(pulled, at, month, day)
    pulled.ingest()
    assert sightings(pulled) == ["2024-09-10 18:52"]
    assert pulled.sheet("Seep").count("\n") == 1 + 3 + 3 and not odd(pulled)
    save(pulled, how)
    text = pulled.sheet("Seep")
    pulled.ingest()
    assert pulled.sheet("Seep") == text and sightings(pulled) == ["2024-09-10 18:52"]


def test_a_time_of_no_photo_of_the_path_is_told_and_moves_nothing(pulled: Place, at: At) -> None:
    next_card(pulled, at)
    pulled.ingest()
    save(pulled, lambda text: text.replace("2024-09-10 18:52:17", "2024-07-01 05:00:00"))
    assert sightings(pulled) == []
    (problem,) = odd(pulled)
    assert problem.must_mend and problem.bucks == ("Old Plow",)
    assert problem.place() == "tags/Seep.csv row 2, column taken"
    assert "(2024-09-10 18:52:17, 2024-10-19 07:13:00)" in problem.why
    # The visit has its row all the same, once.
    pulled.ingest()
    pulled.ingest()
    assert pulled.sheet("Seep").count("\n") == 1 + 6 + 1


def test_so_is_one_when_the_log_has_forgotten_the_earlier_card(pulled: Place, at: At) -> None:
    save(pulled, month_first)
    next_card(pulled, at)
    (pulled.folder / "deerlog.sqlite").unlink()
    pulled.ingest()
    assert sightings(pulled) == []
    (problem,) = odd(pulled)
    assert problem.harm == 3 and "rows 2, 3 and 4" in problem.why
    assert pulled.sheet("Seep").count("\n") == 1 + 3 + 3


def test_what_cannot_be_read_chooses_none_of_several(pulled: Place, at: At) -> None:
    save(pulled, lambda text: text.replace("2024-09-10 18:52:17", "########"))
    assert sightings(pulled) == ["2024-09-10 18:52"]  # there is but one
    next_card(pulled, at)
    pulled.ingest()
    assert sightings(pulled) == []
    assert [p.value for p in odd(pulled)] == ["########"]


@pytest.mark.parametrize("days", [0.1, 3, 2000])
def test_a_clock_mended_since_takes_the_tags_along(place: Place, at: At, days: float) -> None:
    """The rows were added under an earlier correction, which has been corrected itself."""
    row = "camera,shown,actual\nSeep,2024-09-10 12:00,{:%Y-%m-%d %H:%M}\n"
    place.photos(CARD, at(9, 10, 18, 52), 4, every=timedelta(hours=25))
    place.write("clock.csv", row.format(at(9, 10, 12) + timedelta(hours=2)))
    place.ingest()
    place.tag("Seep", "100MEDIA/IMG_0002.JPG", "Old Plow")
    place.write("clock.csv", row.format(at(9, 10, 12) - timedelta(days=days)))
    place.write(
        "cameras.csv", "camera,site,latitude,longitude,start\nSeep,Seep,44,-91,2010-01-01\n"
    )
    place.ingest()
    assert len(sightings(place)) == 1 and not odd(place)
    assert place.sheet("Seep").count("\n") == 5


COPIES = ("Seep (1)", "Seep - Copy", "Seep copy", "seep copy 2", "Copy of Seep", "Seep - Copy (3)")


def test_a_copy_of_a_sheet_is_called_one(pulled: Place) -> None:
    for name in COPIES:
        pulled.write(f"tags/{name}.csv", pulled.sheet("Seep"))
    problems = pulled.log().problems
    for name in COPIES:
        told = [p for p in problems if p.file == f"tags/{name}.csv"]
        assert [(p.kind, p.must_mend, p.harm) for p in told] == [("tag-sheet", True, 3)], name
        assert told[0].why.startswith("This looks like a copy of Seep.csv;")
        assert told[0].how == "Move what is new in it to Seep.csv, then delete it."


def test_a_camera_that_is_named_like_a_copy_keeps_its_sheet(pulled: Place) -> None:
    pulled.write("cameras.csv", (pulled.folder / "cameras.csv").read_text() +
                 "Seep (1),Bog,other,44.0,-91.0,2024-09-01,,,no,\n")  # fmt: skip
    pulled.write("tags/Seep (1).csv", "photo,taken,photos,bucks,others,notes\n")
    assert not [p for p in pulled.log().problems if p.file == "tags/Seep (1).csv"]
