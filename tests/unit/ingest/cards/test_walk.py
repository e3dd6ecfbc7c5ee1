"""What lies on the cards is found, without opening it and without going round in circles."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from deerlog.ingest.cards.walk import shown_path, walk_cards


def put(root: Path, *names: str) -> None:
    for name in names:
        path = root / "cards" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"x")


def test_no_cards_folder_is_an_empty_walk(tmp_path: Path) -> None:
    found = walk_cards(tmp_path)
    assert found.files == {}
    assert found.problems == []


def test_files_of_any_depth_and_alphabet_and_litter_counted(tmp_path: Path) -> None:
    put(
        tmp_path,
        "Seep/DCIM/100FERN/IMG_0001.JPG",
        "Seep/a/b/c/d/e/олень.jpg",
        "Seep/._IMG_0001.JPG",
        "Seep/DCIM/Thumbs.db",
        "Seep/.DS_Store",
        "Seep/System Volume Information/WPSettings.dat",
        "Gate/x.mp4",
    )
    (tmp_path / "cards" / "Empty").mkdir()
    found = walk_cards(tmp_path)
    assert set(found.files) == {"Seep", "Gate", "Empty"}
    assert set(found.files["Seep"]) == {"DCIM/100FERN/IMG_0001.JPG", "a/b/c/d/e/олень.jpg"}
    assert found.files["Gate"]["x.mp4"][0] == 1
    assert found.ignored["Seep"] == 4
    assert [p.file for p in found.problems] == ["cards/Empty"]


def test_files_outside_a_camera_folder_are_told(tmp_path: Path) -> None:
    put(tmp_path, "loose.jpg", "other.jpg", "Seep/a.jpg")
    (problem,) = walk_cards(tmp_path).problems
    assert problem.kind == "loose-files"
    assert problem.why.startswith("2 files lie in cards/")


@pytest.mark.skipif(sys.platform == "win32", reason="making links needs rights on Windows")
def test_links_in_a_circle_end_and_are_told(tmp_path: Path) -> None:
    put(tmp_path, "Seep/DCIM/a.jpg", "Seep/DCIM/deep/b.jpg")
    (tmp_path / "cards/Seep/DCIM/deep/round").symlink_to(tmp_path / "cards/Seep")
    (tmp_path / "cards/Seep/again").symlink_to(tmp_path / "cards/Seep/DCIM")
    (tmp_path / "cards/Seep/dead.jpg").symlink_to(tmp_path / "nowhere.jpg")
    found = walk_cards(tmp_path)
    assert set(found.files["Seep"]) == {"DCIM/a.jpg", "DCIM/deep/b.jpg"}
    assert [p.kind for p in found.problems] == ["folder-twice", "folder-twice"]
    assert [path for path, _ in found.unreadable["Seep"]] == ["dead.jpg"]


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="folder rights differ here")
def test_a_folder_that_cannot_be_listed_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(tmp_path, "Seep/open/a.jpg", "Seep/shut/b.jpg")
    scan = os.scandir

    def refuse(path: str) -> object:
        if str(path).endswith("shut"):
            raise PermissionError(13, "Permission denied")
        return scan(path)

    monkeypatch.setattr(os, "scandir", refuse)
    found = walk_cards(tmp_path)
    assert set(found.files["Seep"]) == {"open/a.jpg"}
    assert found.closed_folders == [("Seep", "shut/")]
    assert found.problems[0].file == "cards/Seep/shut"
    assert "Permission denied" in found.problems[0].why


def test_a_name_that_is_no_text_can_be_stored() -> None:
    name = b"IMG_\xff.JPG".decode("utf-8", "surrogateescape")
    assert shown_path(name) == "IMG_\\xff.JPG"
    assert shown_path("олень.jpg") == "олень.jpg"


def test_a_card_that_brought_nothing_is_told(tmp_path: Path) -> None:
    (tmp_path / "cards/Seep/first/DCIM").mkdir(parents=True)
    (tmp_path / "cards/Seep/first/DCIM/IMG_0001.JPG").write_bytes(b"x")
    (tmp_path / "cards/Seep/second/DCIM/100MEDIA").mkdir(parents=True)
    (tmp_path / "cards/Gate").mkdir()
    os.utime(tmp_path / "cards/Seep/first", (1e9, 1e9))
    empty = {p.file: p for p in walk_cards(tmp_path).problems}
    assert empty.keys() == {"cards/Seep/second", "cards/Gate"}
    assert all(p.kind == "card-empty" and p.lately for p in empty.values())
    # Once a later card has brought photos it is no news any more.
    os.utime(tmp_path / "cards/Seep/first")
    os.utime(tmp_path / "cards/Seep/second", (1e9, 1e9))
    assert [p.lately for p in walk_cards(tmp_path).problems if "second" in p.file] == [False]
