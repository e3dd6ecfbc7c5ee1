"""From a card to a name, by pages, by workbook and by sheet, as a person would go about it."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import pytest
from end_to_end.conftest import run

START = ("--latitude", "40.3", "--longitude", "-92.3", "--timezone", "America/Chicago")
CAMERAS = "camera,site,latitude,longitude,start\ncam-07,Willow Seep,40.3,-92.3,2026-11-01\n"
CARDS = Path(__file__).parents[2] / "sample_data" / "property" / "cards" / "cam-07"


@pytest.fixture
def ground(tmp_path: Path) -> Path:
    """A property with one card of one camera, in a folder whose name is no plain text."""
    folder = tmp_path / "my ground"
    assert run("new", folder, "--name", "Ground", *START).exit_code == 0
    (folder / "cameras.csv").write_text(CAMERAS, encoding="utf-8")
    card = folder / "cards" / "cam-07" / "pulled #1 (50%)"
    card.mkdir(parents=True)
    for picture in sorted((CARDS / "2026-11-22").rglob("*.JPG"))[:12]:
        shutil.copyfile(picture, card / picture.name)
    return folder


def everything(folder: Path) -> dict[Path, tuple[bytes, int]]:
    return {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in folder.rglob("*") if p.is_file()}


def sheet_rows(folder: Path) -> list[str]:
    return (folder / "tags" / "cam-07.csv").read_text(encoding="utf-8").splitlines()


def on_page(folder: Path) -> list[dict[str, Any]]:
    """The visits that the page to tag on holds."""
    text = (folder / "tags" / "cam-07.html").read_text(encoding="utf-8")
    (found,) = re.findall(r'id="data">(.*?)</script>', text)
    visits: list[dict[str, Any]] = json.loads(found)["visits"]
    return visits


def test_the_contact_sheet_shows_what_waits_with_its_row(ground: Path) -> None:
    result = run("--property", ground, "ingest")
    rows = sheet_rows(ground)
    assert f"{len(rows) - 1} visits to tag" in " ".join(result.output.split())
    page = ground / "tags" / "cam-07.html"
    shown = on_page(ground)
    assert [visit["row"] for visit in shown] == list(range(2, len(rows) + 1))
    assert [visit["photo"] for visit in shown] == [row.split(",")[0] for row in rows[1:]]
    pictures = [frame[0] for visit in shown for frame in visit["frames"]]
    assert len(pictures) == 12
    assert all((page.parent / unquote(address)).resolve().is_file() for address in pictures)


def test_nothing_new_writes_nothing_and_a_lost_page_comes_back(ground: Path) -> None:
    run("--property", ground, "ingest")
    before = everything(ground)
    run("--property", ground, "ingest")
    assert everything(ground) == before
    page = ground / "tags" / "cam-07.html"
    text = page.read_bytes()
    page.unlink()
    run("--property", ground, "ingest")
    assert page.read_bytes() == text


def test_a_tag_takes_its_visit_off_the_page(ground: Path) -> None:
    run("--property", ground, "ingest")
    rows = sheet_rows(ground)
    rows[1:] = [",".join([*row.split(",")[:3], "Ladle", "", ""]) for row in rows[1:]]
    sheet = ground / "tags" / "cam-07.csv"
    sheet.write_text("\n".join([rows[0], *rows[2:], ""]), encoding="utf-8")
    run("--property", ground, "ingest")
    assert [visit["row"] for visit in on_page(ground)] == [len(rows)], "the row that came anew"
    sheet.write_text("\n".join([*rows, ""]), encoding="utf-8")
    run("--property", ground, "ingest")
    text = (ground / "tags" / "cam-07.html").read_text(encoding="utf-8")
    assert "Nothing is left to tag" in text and "<img" not in text


def test_a_workbook_is_made_once_filled_in_and_counts(ground: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl", reason="the package openpyxl is not installed")
    result = run("--property", ground, "ingest", "--workbook")
    assert "Workbook with" in result.output
    (path,) = (ground / "tags" / "workbooks").iterdir()
    made = path.read_bytes()
    result = run("--property", ground, "ingest", "--workbook")
    assert "No new workbook" in result.output
    assert path.read_bytes() == made
    book = openpyxl.load_workbook(path)
    sheet = book["To tag"]
    header = [cell.value for cell in sheet[1]]
    for row in range(2, sheet.max_row + 1):
        sheet.cell(row, header.index("bucks") + 1).value = "Ladle" if row == 2 else "-"
    book.save(path)
    run("--property", ground, "ingest")
    text = (ground / "tags" / "cam-07.html").read_text(encoding="utf-8")
    assert "Nothing is left to tag" in text
    assert all(row.split(",")[3] == "" for row in sheet_rows(ground)[1:]), "the sheet is as it was"
    table = json.loads(run("--property", ground, "residency", "--json").output)["residency"]
    assert {(row["buck"], row["visits"]) for row in table} == {("Ladle", 1)}
    result = run("--property", ground, "ingest", "--workbook")
    assert "all is tagged" in result.output


def test_two_reports_tell_what_changed_between(ground: Path) -> None:
    run("--property", ground, "ingest")
    rows = sheet_rows(ground)
    days = [row.split(",")[1][:10] for row in rows[1:]]
    rows[1:] = [",".join([*row.split(",")[:3], "Ladle", "", ""]) for row in rows[1:]]
    (ground / "tags" / "cam-07.csv").write_text("\n".join([*rows, ""]), encoding="utf-8")
    first, last = min(days), max(days)
    assert first < last
    assert run("--property", ground, "report", "--as-of", first).exit_code == 0
    alone = (ground / "reports" / first / "report.html").read_text(encoding="utf-8")
    assert "Since the last report" not in alone
    assert run("--property", ground, "report", "--as-of", last).exit_code == 0
    page = (ground / "reports" / last / "report.html").read_text(encoding="utf-8")
    n_new = sum(day > first for day in days)
    assert f"Ladle: {n_new} new visit" in page
    run("--property", ground, "report", "--as-of", last)
    assert (ground / "reports" / last / "report.html").read_text(encoding="utf-8") == page
    run("--property", ground, "report", "--as-of", first)
    again = (ground / "reports" / first / "report.html").read_text(encoding="utf-8")
    assert again == alone, "a later report is nothing to an earlier one"
