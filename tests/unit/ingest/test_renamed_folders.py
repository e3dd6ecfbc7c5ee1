"""Card folders renamed, or named alike: tags stay, and no file is called spare that is the last."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from invented.card_photos import photo

from deerlog.errors import Problem

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
WIDE = "Cam０１"  # digits as some keyboards write them


@pytest.fixture
def cam01(place: Place, at: At) -> Place:
    """A camera with four visits, of which one is tagged."""
    table = (place.folder / "cameras.csv").read_text(encoding="utf-8")
    place.write("cameras.csv", table.replace("Seep,Seep", "cam01,Seep"))
    place.photos("cam01/DCIM", at(10, 1), 4, every=timedelta(hours=2))
    place.ingest()
    place.tag("cam01", "DCIM/IMG_0002.JPG", "Old Plow")
    return place


def by_kind(problems: object) -> dict[str, Problem]:
    assert isinstance(problems, list | tuple)
    return {problem.kind: problem for problem in problems}


@pytest.mark.parametrize("name", ["CAM01", "Cam 01", WIDE])
def test_a_renamed_folder_keeps_its_tags_and_is_said_to_be_renamed(cam01: Place, name: str) -> None:
    (cam01.folder / "cards/cam01").rename(cam01.folder / "cards" / name)
    sheet = cam01.sheet("cam01")
    summary = cam01.ingest()
    log = cam01.log()
    assert (len(log.visits), len(log.sightings)) == (4, 1)
    assert [path.name for path in (cam01.folder / "tags").iterdir()] == ["cam01.csv"]
    assert cam01.sheet("cam01") == sheet
    found = by_kind(log.problems)
    assert "the folder was renamed" in found["folder-renamed"].why
    assert not [p for p in (*log.problems, *summary.problems) if "remove" in p.how]
    assert not [p for p in log.problems if p.must_mend]


@pytest.mark.parametrize("name", ["CAM01", "cam01 ", WIDE])
def test_two_folders_that_match_are_named_and_take_no_tags(cam01: Place, at: At, name: str) -> None:
    cam01.card(f"{name}/DCIM/IMG_0009.JPG", photo(at(10, 9, 7), seed=70))
    summary = cam01.ingest()
    log = cam01.log()
    assert (len(log.visits), log.sightings["local"].dt.day.tolist()) == (5, [1])
    assert [path.name for path in (cam01.folder / "tags").iterdir()] == ["cam01.csv"]
    found = by_kind(summary.problems)
    assert found.keys() >= {"two-folders-one-camera"} and "tag-sheet-left-alone" not in found
    for folder in ("cam01", name):
        assert repr(folder) in found["two-folders-one-camera"].why


def test_what_was_deleted_since_the_last_run_leaves_no_copy_to_clear_away(cam01: Place) -> None:
    cards = cam01.folder / "cards"
    shutil.copytree(cards / "cam01", cards / "Backup")
    cam01.ingest()
    assert "can be removed" in by_kind(cam01.log().problems)["copies-in-folder"].how
    shutil.rmtree(cards / "cam01")  # and no ingest since
    found = by_kind(cam01.log().problems)
    assert "copies-in-folder" not in found
    assert found["copies-left-alone"].how == "Move them into a folder below cards/cam01."


def test_a_row_of_a_list_is_no_second_file(place: Place, at: At) -> None:
    """A picture whose twin is only a fingerprint in a CSV must be kept."""
    place.photos("Backup", at(10, 1), 2, every=timedelta(hours=2))
    place.ingest()
    from deerlog.ingest.photo_lists import photo_log_text

    (text,) = photo_log_text(place.folder).texts.values()
    place.write("cards/Seep/list.csv", text)
    place.ingest()
    log = place.log()
    assert log.visits["camera"].tolist() == ["Seep", "Seep"]
    assert not [p for p in log.problems if "removed" in p.how]
