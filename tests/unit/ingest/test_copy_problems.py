"""Copies of card folders: they change nothing, and the folder that holds them is named."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from invented.card_photos import photo

from deerlog.errors import Problem

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
DUMP = "2024-10-20/DCIM/100MEDIA"


@pytest.fixture(scope="module")
def ready(
    tmp_path_factory: pytest.TempPathFactory, place_at: Callable[[Path], Place], at: At
) -> Path:
    """Two cameras, ingested and tagged. To be copied."""
    place = place_at(tmp_path_factory.mktemp("copies") / "ready")
    for camera, seed in (("Gate", 1), ("Seep", 500)):
        place.photos(f"{camera}/{DUMP}", at(10, 1), 12, every=timedelta(minutes=20), seed=seed)
        place.photos(f"{camera}/{DUMP}/2", at(10, 5), 6, every=timedelta(hours=2), seed=seed + 50)
    place.ingest()
    for camera, buck in (("Gate", "Old Plow"), ("Seep", "Splitbrow")):
        place.tag(camera, f"{DUMP}/2/IMG_0002.JPG", buck)
    return place.folder


@pytest.fixture
def ground(ready: Path, tmp_path: Path, place_at: Callable[[Path], Place]) -> Place:
    """A copy of it."""
    return place_at(shutil.copytree(ready, tmp_path / "ground"))


def record(place: Place) -> tuple[Any, ...]:
    """What every figure stands on: visits and sightings; and the tag sheets."""
    log = place.log()
    visits = log.visits[["site", "camera", "first", "last", "photos", "tagged"]]
    sightings = log.sightings[["buck", "site", "camera", "local", "photos"]]
    sheets = {p.name: p.read_bytes() for p in (place.folder / "tags").glob("*.csv")}
    return visits.to_csv(), sightings.to_csv(), sheets


def copies(place: Place) -> list[Problem]:
    kinds = ("copies-", "same-picture", "unknown-camera")
    return [p for p in place.log().problems if p.kind.startswith(kinds)]


def cards(place: Place, source: str, target: str) -> None:
    shutil.copytree(place.folder / "cards" / source, place.folder / "cards" / target)


@pytest.mark.parametrize(
    ("source", "target", "kind", "where"),
    [
        ("Gate", "Backup", "copies-in-folder", "cards/Backup"),
        ("Seep", "Backup", "copies-in-folder", "cards/Backup"),
        ("Seep", "Zz backup/old", "copies-in-folder", "cards/Zz backup"),
        ("Seep/2024-10-20", "Seep/2024-10-20 copy", "copies-in-folder",
         "cards/Seep/2024-10-20 copy"),
        ("Seep/2024-10-20", "Seep/100", "copies-in-folder", "cards/Seep/100"),
        ("Seep/2024-10-20", "Gate/a", "same-picture-two-cameras", "cards/Gate/a"),
        ("Gate/2024-10-20", "Seep/a", "same-picture-two-cameras", "cards/Seep/a"),
    ],
)  # fmt: skip
def test_a_copy_changes_nothing_and_its_folder_is_named(
    ground: Place, source: str, target: str, kind: str, where: str
) -> None:
    before = record(ground)
    cards(ground, source, target)
    summary = ground.ingest()
    assert sum(camera.copies for camera in summary.cameras) == 18
    assert record(ground) == before
    (problem,) = copies(ground)
    camera = source.partition("/")[0]
    assert (problem.kind, problem.file) == (kind, where)
    assert problem.why.startswith(f"18 photos in {where} are copies of photos of {camera}")
    assert problem.must_mend == (kind == "same-picture-two-cameras")
    folder = where if problem.must_mend else "The folder can be removed"
    assert folder in problem.how


@pytest.mark.parametrize("target", ["Backup", "Seep/2024-10-20 copy", "Zz"])
def test_so_it_is_where_the_copy_was_there_from_the_start(
    place: Place, at: At, target: str
) -> None:
    for camera, seed in (("Gate", 1), ("Seep", 500)):
        place.photos(f"{camera}/2024-10-20", at(10, 1), 6, every=timedelta(hours=1), seed=seed)
    shutil.copytree(place.folder / "cards/Seep/2024-10-20", place.folder / "cards" / target)
    place.ingest()
    log = place.log()
    assert log.visits["camera"].value_counts().to_dict() == {"Gate": 6, "Seep": 6}
    assert "2024-10-20 copy" not in place.sheet("Seep")


def test_one_picture_in_a_folder_named_like_a_card(ground: Place) -> None:
    before = record(ground)
    (ground.folder / "cards/DCIM").mkdir()
    shutil.copy(ground.folder / f"cards/Seep/{DUMP}/IMG_0003.JPG", ground.folder / "cards/DCIM")
    ground.ingest()
    assert record(ground) == before
    (problem,) = copies(ground)
    assert problem.why == (
        "1 photo in cards/DCIM is a copy of a photo of Seep, and counts once, at Seep."
    )


def test_a_folder_with_more_in_it_is_not_to_be_removed(ground: Place, at: At) -> None:
    cards(ground, "Seep/2024-10-20", "Backup/a")
    ground.photos("Backup/b", at(10, 9), 2, every=timedelta(hours=1), seed=900)
    ground.ingest()
    kinds = {p.kind: p for p in copies(ground)}
    assert kinds["copies-in-folder"].file == "cards/Backup/a"
    assert "its 2 photos belong" in kinds["unknown-camera"].why


@pytest.mark.parametrize("at_the_camera", [False, True])
def test_a_folder_with_a_file_that_is_no_picture_is_not_to_be_removed(
    ground: Place, at_the_camera: bool
) -> None:
    cards(ground, "Seep/2024-10-20", "Backup/x")
    notes = b"what,when\nsalt,May\n"
    ground.card("Backup/x/notes.csv", notes)
    if at_the_camera:
        ground.card("Seep/2024-10-20/notes.csv", notes)
    ground.ingest()
    told = [p for p in copies(ground) if "x/DCIM" not in p.file]
    assert [(p.file, "The folder can be removed" in p.how) for p in told] == (
        [("cards/Backup", True)] if at_the_camera else []
    )


def test_a_list_of_photos_that_are_gone_is_in_the_way_too(ground: Place) -> None:
    cards(ground, f"Seep/{DUMP}/2", "Backup/x")
    ground.card("Backup/x/list.csv", b"file,taken,gone\nIMG_0077.JPG,2024-10-02 10:00,yes\n")
    ground.ingest()
    (problem,) = (p for p in copies(ground) if p.kind == "copies-in-folder")
    assert problem.file == "cards/Backup/x"
    assert "what else is in the folder is not known to be a copy" in problem.how


@pytest.mark.parametrize(
    ("twins", "whole"),
    [
        (["Seep/copy/1", "Seep/copy/2"], ["Seep/copy/2"]),
        (["Seep/copy/1"], ["Seep/copy/2"]),
        (["Seep/copy/1", "Seep/copy/2", f"Seep/{DUMP}"], ["Seep/copy"]),
        (["Seep/copy/1", "Backup"], ["Seep/copy"]),
        (["Seep/copy/2", "Zz"], ["Seep/copy/1"]),
    ],
)
def test_a_file_that_cannot_be_read_stays_in_one_of_the_folders_at_least(
    ground: Place, twins: list[str], whole: list[str]
) -> None:
    cards(ground, f"Seep/{DUMP}/2", "Seep/copy/1")
    cards(ground, f"Seep/{DUMP}/2", "Seep/copy/2")
    cards(ground, f"Seep/{DUMP}/2", "Zz")
    for folder in twins:
        ground.card(f"{folder}/V0001.AVI", b"RIFF no video")
    ground.ingest()
    told = [p.file for p in copies(ground) if "The folder can be removed" in p.how]
    assert [file for file in told if file != "cards/Zz"] == [f"cards/{folder}" for folder in whole]
    # With all of them removed, one is left.
    for folder in told:
        shutil.rmtree(ground.folder / folder)
    assert list((ground.folder / "cards").rglob("V0001.AVI"))
    ground.ingest()
    assert not ground.log().photos[lambda p: p["same_as"].isna()]["gone"].any()


def test_a_dump_that_holds_the_last_one_too_is_as_it_should_be(ground: Place, at: At) -> None:
    cards(ground, "Seep/2024-10-20", "Seep/2024-11-10")
    ground.photos("Seep/2024-11-10/DCIM/101MEDIA", at(11, 1), 3, every=timedelta(hours=1), seed=900)
    ground.ingest()
    assert [p.file for p in copies(ground)] == ["cards/Seep/2024-11-10/DCIM/100MEDIA"]
    assert not any(p.must_mend for p in copies(ground))


def test_the_only_ones_left_on_the_disk_are_to_be_moved_not_removed(ground: Place) -> None:
    before = record(ground)
    cards(ground, "Seep", "Backup")
    ground.ingest()
    shutil.rmtree(ground.folder / "cards/Seep")
    ground.ingest()
    assert record(ground) == before
    (problem,) = copies(ground)
    assert problem.kind == "copies-left-alone"
    assert "removed" not in problem.how and "below cards/Seep" in problem.how


def test_a_misspelt_folder_that_was_renamed_leaves_no_ghost(ground: Place, at: At) -> None:
    for i in range(3):  # a zone that is not the property's is told, camera by camera
        shown = at(11, 3, 6 + i)
        ground.card(f"seepp/x/IMG_000{i}.JPG", photo(shown, seed=700 + i, offset="+08:00"))
    ground.ingest()
    assert {p.file for p in ground.log().problems if "seepp" in p.file}
    (ground.folder / "cards/seepp/x").rename(ground.folder / "cards/Seep/x")
    (ground.folder / "cards/seepp").rmdir()
    summary = ground.ingest()
    assert not [p for p in summary.problems if "seepp" in f"{p.file} {p.why}"]
    assert (ground.log().photos["camera"] == "seepp").sum() == 3  # nothing is forgotten


def test_a_bad_picture_that_was_deleted_is_no_longer_told(ground: Place) -> None:
    source = (ground.folder / f"cards/Seep/{DUMP}/IMG_0005.JPG").read_bytes()
    for size in (40, 100, 1500):
        ground.card(f"Seep/{DUMP}/CUT_{size}.JPG", source[:size])
    first = ground.ingest()
    assert {p.kind for p in first.problems} >= {"truncated-photos", "unreadable-files"}
    for path in (ground.folder / "cards/Seep").rglob("CUT_*"):
        path.unlink()
    again = ground.ingest()
    assert not [p for p in again.problems if "CUT" in f"{p.file} {p.value} {p.why}"]
