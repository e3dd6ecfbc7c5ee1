"""Workbooks read back: they count like the tag sheets, and what cannot be read is told."""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from deerlog.errors import Problem
from deerlog.ingest.tags.tag_workbooks import workbook_state

if TYPE_CHECKING:
    from conftest import Place

openpyxl = pytest.importorskip("openpyxl", reason="the package openpyxl is not installed")

At = Callable[..., datetime]
HEADER = ["camera", "photo", "taken", "photos", "bucks", "others", "notes"]


def put(place: Place, name: str, *rows: list[Any], header: list[str] = HEADER) -> Path:
    """Save a workbook as a person's program would."""
    book = openpyxl.Workbook()
    for row in (header, *rows):
        book.active.append(row)
    path = place.folder / "tags" / "workbooks" / name
    path.parent.mkdir(parents=True, exist_ok=True)
    book.save(path)
    return path


def seen(place: Place) -> list[tuple[str, int, bool]]:
    found = place.log().sightings
    return [
        (buck, local.hour, unsure)
        for buck, local, unsure in zip(found["buck"], found["local"], found["unsure"], strict=True)
    ]


def problems(place: Place) -> list[Problem]:
    return [p for p in place.log().problems if p.kind.startswith("tag-")]


@pytest.fixture
def two(place: Place, at: At) -> Place:
    """Two cameras with two visits each, nothing tagged."""
    for camera, seed in (("Seep", 1), ("Gate", 50)):
        place.photos(f"{camera}/DCIM", at(10, 5), 2, every=timedelta(hours=1), seed=seed)
    place.ingest()
    return place


def test_a_tag_in_a_workbook_counts(two: Place) -> None:
    put(
        two,
        "a.xlsx",
        ["Seep", "DCIM/IMG_0001.JPG", "2024-10-05 12:00:00", 1, "Plow; Splitbrow?", "doe", None],
        ["gate", "DCIM/IMG_0002.JPG", None, 1, "-", None, None],
        ["Seep", "DCIM/IMG_0002.JPG", None, 1, None, None, None],
    )
    assert seen(two) == [("Old Plow", 12, False), ("Splitbrow", 12, True)]
    visits = two.log().visits
    assert dict(zip(visits["camera"] + visits["first"].dt.hour.astype("str"),
                    visits["tagged"], strict=True)) == {
        "Seep12": True, "Seep13": False, "Gate12": False, "Gate13": True
    }  # fmt: skip
    assert problems(two) == []
    assert two.ingest().to_tag == {"Gate": 1, "Seep": 1}


def test_the_same_tag_in_both_counts_once_and_another_is_told_and_both_kept(two: Place) -> None:
    two.tag("Seep", "DCIM/IMG_0001.JPG", "Plow")
    two.tag("Seep", "DCIM/IMG_0002.JPG", "Splitbrow")
    put(
        two,
        "a.xlsx",
        ["Seep", "DCIM/IMG_0001.JPG", None, 1, "Old Plow", None, None],
        ["Seep", "DCIM/IMG_0002.JPG", None, 1, "Plow", None, None],
    )
    assert seen(two) == [("Old Plow", 12, False), ("Old Plow", 13, False), ("Splitbrow", 13, False)]
    assert two.log().sightings["photos"].tolist() == [1, 1, 1]
    (problem,) = problems(two)
    assert (problem.kind, problem.file, problem.row) == (
        "tag-said-twice",
        "tags/workbooks/a.xlsx",
        3,
    )
    assert problem.must_mend
    assert "tags/Seep.csv" in problem.why and "(row 3; there row 3)" in problem.why
    assert set(problem.bucks) == {"Old Plow", "Splitbrow"}


def test_columns_in_other_order_with_lines_above_and_a_blank_row(two: Place) -> None:
    book = openpyxl.Workbook()
    for row in (
        ["To do on Sunday"],
        ["Bucks", "mine", "PHOTO", "Camera"],
        [],
        ["Plow", "x", "DCIM/IMG_0001.JPG", "Seep"],
    ):
        book.active.append(row)
    path = two.folder / "tags" / "workbooks" / "b.xlsx"
    path.parent.mkdir()
    book.save(path)
    assert seen(two) == [("Old Plow", 12, False)]


def test_a_typo_and_what_a_spreadsheet_makes_of_a_name_are_told_with_the_row(two: Place) -> None:
    put(
        two,
        "a.xlsx",
        ["Seep", "DCIM/IMG_0001.JPG", None, 1, "Splitbrou", None, None],
        ["Gate", "DCIM/IMG_0001.JPG", None, 1, datetime(2024, 10, 8), None, None],  # noqa: DTZ001
        ["Gate", "DCIM/nowhere.JPG", None, 1, "Plow", None, None],
    )
    told = {(p.kind, p.file, p.row, p.value) for p in problems(two)}
    assert told == {
        ("tag-typo", "tags/workbooks/a.xlsx", 2, "Splitbrou"),
        ("tag-turned", "tags/workbooks/a.xlsx", 3, "2024-10-08 00:00:00"),
        ("tag-photo-unknown", "tags/workbooks/a.xlsx", 4, "DCIM/nowhere.JPG"),
    }


@pytest.mark.parametrize(
    "content", [b"", b"PK\x03\x04 not a workbook", b"photo,bucks\n"], ids=["empty", "zip", "csv"]
)
def test_a_workbook_that_is_none_is_told_and_the_rest_goes_on(two: Place, content: bytes) -> None:
    put(two, "a.xlsx", ["Seep", "DCIM/IMG_0001.JPG", None, 1, "Plow", None, None])
    two.write("tags/workbooks/bad.xlsx", "")
    (two.folder / "tags/workbooks/bad.xlsx").write_bytes(content)
    (problem,) = problems(two)
    assert (problem.kind, problem.file) == ("tag-workbook", "tags/workbooks/bad.xlsx")
    assert seen(two) == [("Old Plow", 12, False)]
    assert two.ingest().to_tag == {"Gate": 2, "Seep": 1}


def test_a_workbook_without_the_columns_is_told(two: Place) -> None:
    put(two, "a.xlsx", ["x"], header=["photo", "names"])
    (problem,) = problems(two)
    assert "camera, photo, bucks" in problem.why


def test_without_the_package_the_workbook_is_told(
    two: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(two, "a.xlsx", ["Seep", "DCIM/IMG_0001.JPG", None, 1, "Plow", None, None])
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    (problem,) = problems(two)
    assert "deerlog[workbook]" in problem.how
    assert problem.must_mend
    assert seen(two) == []


def test_a_lock_file_is_no_workbook(two: Place) -> None:
    put(two, "a.xlsx", ["Seep", "DCIM/IMG_0001.JPG", None, 1, "Plow", None, None])
    two.write("tags/workbooks/~$a.xlsx", "lock")
    assert problems(two) == []


def test_a_visit_that_only_a_workbook_holds_gets_its_row_in_the_sheet(two: Place) -> None:
    put(two, "a.xlsx", ["Seep", "DCIM/IMG_0001.JPG", None, 1, "Plow", None, None])
    (two.folder / "tags" / "Seep.csv").unlink()
    two.ingest()
    assert len(two.sheet("Seep").splitlines()) == 3


def test_ingest_sees_that_a_workbook_was_filled_in(two: Place) -> None:
    path = put(two, "a.xlsx", ["Seep", "DCIM/IMG_0001.JPG", None, 1, None, None, None])
    assert two.ingest().to_tag == {"Gate": 2, "Seep": 2}
    state = workbook_state(path)
    put(two, "a.xlsx", ["Seep", "DCIM/IMG_0001.JPG", None, 1, "Plow", None, None])
    assert workbook_state(path) != state
    assert two.ingest().to_tag == {"Gate": 2, "Seep": 1}


def test_ingest_writes_nothing_to_a_workbook_and_nothing_twice(two: Place) -> None:
    put(two, "a.xlsx", ["Seep", "DCIM/IMG_0001.JPG", None, 1, "Plow", None, None])
    two.ingest()
    before = two.everything()
    two.ingest()
    assert two.everything() == before


def save_as(two: Place, ending: str) -> Path:
    """What a spreadsheet program's 'Save as' makes of Seep's tag sheet, with a tag in it."""
    two.tag("Seep", "DCIM/IMG_0001.JPG", "Plow")
    book = openpyxl.Workbook()
    for line in two.sheet("Seep").splitlines():
        book.active.append([cell or None for cell in line.split(",")])
    path = two.folder / "tags" / f"Seep{ending}"
    book.save(two.folder / "book.xlsx")
    (two.folder / "book.xlsx").rename(path)
    (two.folder / "tags" / "Seep.csv").unlink()
    return path


def test_a_tag_sheet_saved_as_a_workbook_counts_and_is_told(two: Place) -> None:
    path = save_as(two, ".xlsx")
    summary = two.ingest()
    assert seen(two) == [("Old Plow", 12, False)]
    assert summary.to_tag == {"Gate": 2, "Seep": 1}
    (note,) = [p for p in summary.problems if p.file == "tags/Seep.xlsx"]
    assert not note.must_mend and "tags/Seep.csv" in note.how and "tags/workbooks/" in note.how
    (two.folder / "tags" / "workbooks").mkdir()
    path.rename(two.folder / "tags" / "workbooks" / path.name)
    assert seen(two) == [("Old Plow", 12, False)] and problems(two) == []


def test_one_that_cannot_be_read_must_be_mended(
    two: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    save_as(two, ".xlsx")
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    (problem,) = [p for p in two.ingest().problems if p.file == "tags/Seep.xlsx"]
    assert problem.must_mend and problem.harm == 2.0  # its rows
    assert "over tags/Seep.csv" in problem.how and "deerlog[workbook]" in problem.how
    assert problems(two) == [problem]


@pytest.mark.parametrize("ending", [".ods", ".numbers", ".xls", " (1).ods"])
def test_other_forms_are_named(two: Place, ending: str) -> None:
    save_as(two, ending)
    (problem,) = [p for p in two.ingest().problems if p.file == f"tags/Seep{ending}"]
    assert problem.must_mend and "over tags/Seep.csv" in problem.how
    assert problems(two) == [problem]


def test_files_of_the_person_s_own_are_left_in_peace(two: Place) -> None:
    book = openpyxl.Workbook()
    book.active.append(["feeder", "corn"])
    book.save(two.folder / "tags" / "shopping.xlsx")
    two.write("tags/Seep notes.txt", "look again\n")
    two.write("tags/to do.ods", "x")
    assert problems(two) == []
