"""Contact sheets on the disk: whole, only where something changed, never over a stranger's page."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from invented.card_photos import photo, put
from invented.invented_sheets import START, sheet, visit

from deerlog.property import Property, open_property
from deerlog.report.page.contact_sheet import write_contact_sheets

SETTINGS = """\
name = "Alder Bottom"
latitude = 44.0
longitude = -91.0
timezone = "America/Chicago"
"""
CAMERAS = "camera,site,latitude,longitude,start\ncam-2,Alder bend,44.0,-91.0,2025-09-01\n"


@pytest.fixture
def place(tmp_path: Path) -> Property:
    (tmp_path / "property.toml").write_text(SETTINGS, encoding="utf-8")
    (tmp_path / "cameras.csv").write_text(CAMERAS, encoding="utf-8")
    (tmp_path / "bucks.csv").write_text("buck,notes\nMud Lark,split brow\n", encoding="utf-8")
    return open_property(tmp_path)


def test_written_and_left_alone_while_nothing_changes(place: Property) -> None:
    shown = [sheet(visit(0), visit(1))]
    assert write_contact_sheets(place, shown) == []
    path = place.folder / "tags" / "cam-2.html"
    first, time = path.read_bytes(), path.stat().st_mtime_ns
    assert b"Mud Lark" in first
    assert write_contact_sheets(place, shown) == []
    assert (path.read_bytes(), path.stat().st_mtime_ns) == (first, time)
    assert write_contact_sheets(place, [sheet(visit(1))]) == []
    assert path.read_bytes() != first
    assert [p.name for p in path.parent.iterdir()] == ["cam-2.html"]


def test_when_all_is_tagged_the_page_says_so_and_none_is_made(place: Property) -> None:
    path = place.folder / "tags" / "cam-2.html"
    write_contact_sheets(place, [sheet()])
    assert not path.exists()
    write_contact_sheets(place, [sheet(visit(0))])
    write_contact_sheets(place, [sheet()])
    assert "Nothing is left to tag" in path.read_text(encoding="utf-8")


def test_a_page_that_is_none_of_ours_is_left_alone(place: Property) -> None:
    path = place.folder / "tags" / "cam-2.html"
    path.parent.mkdir()
    path.write_text("<p>mine</p>", encoding="utf-8")
    (problem,) = write_contact_sheets(place, [sheet(visit(0))])
    assert problem.file == "tags/cam-2.html"
    assert path.read_text(encoding="utf-8") == "<p>mine</p>"


def test_a_sheet_that_cannot_be_written_is_told_and_the_others_go_on(
    place: Property, monkeypatch: pytest.MonkeyPatch
) -> None:
    put_in_place = Path.replace

    def refuse(self: Path, target: Path) -> Path:
        if target.name == "cam-2.html":
            raise PermissionError(13, "Permission denied")
        return put_in_place(self, target)

    monkeypatch.setattr(Path, "replace", refuse)
    shown = [sheet(visit(0)), sheet(visit(0, camera="cam-3"), camera="cam-3")]
    (problem,) = write_contact_sheets(place, shown)
    assert (problem.file, problem.must_mend) == ("tags/cam-2.html", False)
    assert "Permission denied" in problem.why
    assert [p.name for p in (place.folder / "tags").iterdir()] == ["cam-3.html"]


def test_the_page_carries_the_faces_of_the_listed_bucks_small(place: Property) -> None:
    for n in range(6):
        put(place.folder / f"cards/cam-2/{n}.JPG", photo(START, seed=n))
    faces = {"Mud Lark": [f"cards/cam-2/{n}.JPG" for n in range(6)], "Not Listed": ["x.JPG"]}
    assert write_contact_sheets(place, [replace(sheet(visit(0)), faces=faces)]) == []
    text = (place.folder / "tags" / "cam-2.html").read_text(encoding="utf-8")
    assert len(set(re.findall(r"data:image/jpeg;base64,[^\"]+", text))) == 4
    assert "Not Listed" not in text
