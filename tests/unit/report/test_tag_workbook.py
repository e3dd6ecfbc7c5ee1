"""Workbooks: pictures in the rows, names to choose, text as text, never written twice."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from invented.card_photos import photo, put
from invented.invented_sheets import START, sheet, visit

from deerlog.errors import OutputError
from deerlog.ingest.tags.tag_workbooks import read_tag_workbooks
from deerlog.property import Property, open_property
from deerlog.report.page import tag_workbook
from deerlog.report.page.contact_sheet import TaggingPages
from deerlog.report.page.tag_workbook import write_workbook

openpyxl = pytest.importorskip("openpyxl", reason="the package openpyxl is not installed")

TODAY = date(2025, 11, 30)
SETTINGS = """\
name = "Alder Bottom"
latitude = 44.0
longitude = -91.0
timezone = "America/Chicago"
"""
CAMERAS = "camera,site,latitude,longitude,start\ncam-2,Alder bend,44.0,-91.0,2025-09-01\n"
FORMULA = '=HYPERLINK("x")'


@pytest.fixture
def place(tmp_path: Path) -> Property:
    (tmp_path / "property.toml").write_text(SETTINGS, encoding="utf-8")
    (tmp_path / "cameras.csv").write_text(CAMERAS, encoding="utf-8")
    quoted = FORMULA.replace('"', '""')
    (tmp_path / "bucks.csv").write_text(f'buck\nMud Lark\n"{quoted}"\n', encoding="utf-8")
    for number in range(2):
        for n in range(5):
            path = f"cards/cam-2/dump/100/V{number:03d}_{n}.JPG"
            put(tmp_path / path, photo(START, seed=10 * number + n))
    return open_property(tmp_path)


def test_rows_pictures_and_names(place: Property) -> None:
    written = write_workbook(place, [sheet(visit(1, 1), visit(0, 5))], today=TODAY)
    assert written == (place.folder / "tags" / "workbooks" / "2025-11-30.xlsx", 2)
    book = openpyxl.load_workbook(written[0])
    rows = list(book["To tag"].iter_rows(values_only=True, max_col=7))
    assert rows == [
        ("camera", "photo", "taken", "photos", "bucks", "others", "notes"),
        ("cam-2", "dump/100/V000_0.JPG", "2025-11-15 16:58:00", 5, None, None, None),
        ("cam-2", "dump/100/V001_0.JPG", "2025-11-15 23:58:00", 1, None, None, None),
    ]
    anchors = [(i.anchor._from.row, i.anchor._from.col) for i in book["To tag"]._images]
    assert sorted(anchors) == [(1, 7), (1, 8), (1, 9), (2, 7)]
    (choice,) = book["To tag"].data_validations.dataValidation
    assert (choice.type, choice.formula1, str(choice.sqref)) == ("list", "Names!$A$2:$A$4", "E2:E3")
    assert not choice.showErrorMessage, "two names, or a name with ?, may be written"
    names = [row[0].value for row in book["Names"].iter_rows(max_row=4, max_col=1)]
    assert names == ["bucks", "-", "Mud Lark", FORMULA]


def test_the_bucks_are_shown_by_up_to_four_pictures_that_open(place: Property) -> None:
    files = [f"cards/cam-2/dump/100/V000_{n}.JPG" for n in range(5)]
    (place.folder / files[1]).write_bytes(b"no picture")
    faces = {"Mud Lark": files, FORMULA: [files[0]], "Not Listed": files, "Gone": ["cards/x.JPG"]}
    shown = replace(sheet(visit(0, 1)), faces=faces)
    path, _ = write_workbook(place, [shown], today=TODAY) or (Path(), 0)
    book = openpyxl.load_workbook(path)
    assert [row[0].value for row in book["Faces"].iter_rows(max_col=1)] == ["Mud Lark", FORMULA]
    anchors = [(i.anchor._from.row, i.anchor._from.col) for i in book["Faces"]._images]
    assert sorted(anchors) == [(0, 1), (0, 2), (0, 3), (0, 4), (1, 1)]
    assert {cell.data_type for row in book["Faces"].iter_rows() for cell in row} <= {"s", "n"}


def test_no_cell_is_a_formula_or_turns_into_a_date(place: Property) -> None:
    path, _ = write_workbook(place, [sheet(visit(0, 5))], today=TODAY) or (Path(), 0)
    book = openpyxl.load_workbook(path)
    cells = [cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    bucks = book["To tag"]["E2"]
    assert bucks.number_format == "@"


def test_one_that_is_there_is_never_touched(place: Property) -> None:
    first, _ = write_workbook(place, [sheet(visit(0, 1))], today=TODAY) or (Path(), 0)
    before = first.read_bytes()
    second, _ = write_workbook(place, [sheet(visit(1, 1))], today=TODAY) or (Path(), 0)
    assert second.name == "2025-11-30-2.xlsx"
    assert first.read_bytes() == before


def test_a_visit_that_a_workbook_holds_comes_in_no_other(place: Property) -> None:
    shown = sheet(visit(0, 1, in_workbook=True), visit(1, 1))
    assert write_workbook(place, [shown], today=TODAY) is not None
    assert write_workbook(place, [sheet(visit(0, 1, in_workbook=True))], today=TODAY) is None
    assert len(list((place.folder / "tags" / "workbooks").iterdir())) == 1


def test_of_many_visits_the_newest(place: Property, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tag_workbook, "MOST_VISITS", 2)
    shown = sheet(*(visit(n, 1, on_disk=False) for n in range(5)))
    path, visits = write_workbook(place, [shown], today=TODAY) or (Path(), 0)
    assert visits == 2
    rows = list(openpyxl.load_workbook(path)["To tag"].iter_rows(values_only=True))
    assert [row[1][9:13] for row in rows[1:]] == ["V003", "V004"]


def test_a_picture_that_cannot_be_opened_costs_only_itself(place: Property) -> None:
    (place.folder / "cards/cam-2/dump/100/V000_0.JPG").write_bytes(b"\xff\xd8 no picture")
    path, _ = write_workbook(place, [sheet(visit(0, 2))], today=TODAY) or (Path(), 0)
    book = openpyxl.load_workbook(path)
    assert book["To tag"]["H2"].value == "This picture cannot be shown."
    assert len(book["To tag"]._images) == 1


def test_what_is_written_is_read_back(place: Property) -> None:
    path, _ = write_workbook(place, [sheet(visit(0, 1), visit(1, 1))], today=TODAY) or (Path(), 0)
    book = openpyxl.load_workbook(path)
    book["To tag"]["E3"] = "Mud Lark?"
    book.save(path)
    (read,) = read_tag_workbooks(place.folder, ["cam-2"])
    assert read.table is not None
    assert read.file == "tags/workbooks/2025-11-30.xlsx"
    assert read.table.frame[["photo", "taken", "bucks", "row"]].to_numpy().tolist() == [
        ["dump/100/V000_0.JPG", "2025-11-15 16:58:00", "", 2],
        ["dump/100/V001_0.JPG", "2025-11-15 23:58:00", "Mud Lark?", 3],
    ]


def test_without_the_package_it_says_how_to_get_it(
    place: Property, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "openpyxl", None)
    with pytest.raises(OutputError, match=r"deerlog\[workbook\]"):
        TaggingPages(place, workbook_of=TODAY)
    TaggingPages(place)


def test_pages_and_workbook_together(place: Property) -> None:
    pages = TaggingPages(place, workbook_of=TODAY)
    assert pages.write([sheet(visit(0, 1))]) == []
    assert pages.workbook == (place.folder / "tags" / "workbooks" / "2025-11-30.xlsx", 1)
    assert (place.folder / "tags" / "cam-2.html").is_file()
