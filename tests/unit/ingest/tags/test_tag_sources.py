"""Tags that stop counting are named with how many there are; what is read is never named."""

from __future__ import annotations

import os
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
PlaceAt = Callable[[Path], "Place"]
HOUR = timedelta(hours=1)
TAGS = "photo,taken,photos,bucks,others,notes\nDCIM/IMG_0002.JPG,,1,Splitbrow,,\nx.JPG,,1,,,\n"


@pytest.fixture(scope="module")
def tagged_once(place_at: PlaceAt, at: At, tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = place_at(tmp_path_factory.mktemp("sources") / "alder")
    place.photos("Seep/DCIM", at(10, 5), 4, every=HOUR)
    place.ingest()
    for number in (1, 3, 4):
        place.tag("Seep", f"DCIM/IMG_000{number}.JPG", "Plow")
    place.ingest()
    return place.folder


@pytest.fixture
def tagged(tagged_once: Path, place_at: PlaceAt, tmp_path: Path) -> Place:
    """Four visits at Seep, of which three are tagged."""
    return place_at(shutil.copytree(tagged_once, tmp_path / "alder"))


def mended(place: Place) -> list[Problem]:
    """What is to be mended, the same of ``check`` and of an ingest."""
    found = [p for p in place.log().problems if p.must_mend]
    assert [p for p in place.ingest().problems if p.must_mend] == found
    return found


@pytest.mark.parametrize(
    ("name", "how"),
    [
        ("tags/2024/Seep.csv", "Move what is new in it into tags/Seep.csv"),
        ("tags/a/b/Gate.csv", "Save it as tags/Gate.csv"),
        ("tags/Seep.csv.txt", "Move what is new in it into tags/Seep.csv"),
        ("tags/Gate.csv.bak", "Save it as tags/Gate.csv"),
        ("tags/.Seep.csv", "Move what is new in it into tags/Seep.csv"),
        ("Tags/Seep.csv", "Move what is new in it into tags/Seep.csv"),
        ("Seep.csv", "Move what is new in it into tags/Seep.csv"),
    ],
)
def test_a_sheet_that_is_not_read_is_named_with_its_tags(
    tagged: Place, name: str, how: str
) -> None:
    assert mended(tagged) == []
    tagged.write(name, TAGS)
    (problem,) = mended(tagged)
    assert (problem.kind, problem.file, problem.harm) == ("tags-not-read", name, 1.0)
    assert problem.why.startswith("1 tag in this file does not count") and how in problem.how


def test_a_copy_of_what_counts_already_is_not_named(tagged: Place) -> None:
    (tagged.folder / "tags/old").mkdir()
    shutil.copy(tagged.folder / "tags/Seep.csv", tagged.folder / "tags/old/Seep.csv")
    tagged.write("tags/old/notes.txt", "bucks seen: none\nphoto of one\n")
    assert mended(tagged) == []


@pytest.mark.parametrize("name", ["Seep 2", "Seep edited", "Seep.csv", "Seep (1)", "copy of Seep"])
def test_a_copy_of_a_sheet_is_said_to_be_one_and_once(tagged: Place, name: str) -> None:
    shutil.copy(tagged.folder / "tags/Seep.csv", tagged.folder / f"tags/{name}.csv")
    (problem,) = mended(tagged)
    assert problem.file == f"tags/{name}.csv"
    assert problem.why.startswith("This looks like a copy of Seep.csv")


def workbook(path: Path, *sheets: tuple[str, list[list[Any]]]) -> None:
    openpyxl = pytest.importorskip("openpyxl", reason="the package openpyxl is not installed")
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in sheets:
        sheet = book.create_sheet(title)
        for row in (["camera", "photo", "taken", "bucks"], *rows):
            sheet.append(row)
    path.parent.mkdir(parents=True, exist_ok=True)
    book.save(path)


def row(number: int, bucks: Any) -> list[Any]:
    return ["Seep", f"DCIM/IMG_000{number}.JPG", None, bucks]


def test_a_second_worksheet_is_named(tagged: Place) -> None:
    path = tagged.folder / "tags/workbooks/a.xlsx"
    workbook(path, ("First", [row(1, "Plow")]), ("Other", [row(2, "Splitbrow"), row(3, None)]))
    (problem,) = mended(tagged)
    assert (problem.kind, problem.harm) == ("tag-second-worksheet", 1.0)
    assert "1 tag in worksheet 'Other' does not count" in problem.why


def test_formulas_of_which_no_value_was_stored_are_named(tagged: Place) -> None:
    path = tagged.folder / "tags/workbooks/a.xlsx"
    workbook(path, ("First", [row(1, "Plow"), row(2, '="Split"&"brow"'), row(3, None)]))
    (problem,) = mended(tagged)
    assert (problem.kind, problem.row, problem.harm) == ("tag-formula", 3, 1.0)


@pytest.mark.parametrize("name", ["names.xlsx", "tags/deep/a.xlsx"])
def test_a_workbook_elsewhere_is_named(tagged: Place, name: str) -> None:
    workbook(tagged.folder / name, ("First", [row(2, "Splitbrow"), row(4, "-")]))
    (problem,) = mended(tagged)
    assert (problem.kind, problem.file, problem.harm) == ("tags-not-read", name, 2.0)
    assert "tags/workbooks/" in problem.how


def test_a_sheet_that_is_gone_is_said_until_its_tags_are_there_again(tagged: Place) -> None:
    sheet = tagged.folder / "tags/Seep.csv"
    kept = sheet.read_bytes()
    sheet.unlink()
    (gone,) = [p for p in tagged.log().problems if p.kind == "tags-gone"]
    assert (gone.file, gone.harm, gone.must_mend) == ("tags/Seep.csv", 3.0, True)
    assert "3 tags" in gone.why
    for _ in range(2):  # the sheet is made anew without them, and still they are missed
        tagged.ingest()
        (fewer,) = [p for p in tagged.log().problems if p.kind == "tags-gone"]
        assert "now 3 are missing" in fewer.why and not fewer.must_mend
    sheet.write_bytes(kept)
    assert not [p for p in tagged.log().problems if p.kind == "tags-gone"]


def test_tags_that_were_moved_are_not_missed(tagged: Place) -> None:
    workbook(tagged.folder / "tags/workbooks/a.xlsx", ("A", [row(i, "Plow") for i in (1, 3, 4)]))
    (tagged.folder / "tags/Seep.csv").unlink()
    assert not [p for p in tagged.log().problems if p.kind == "tags-gone"]


def test_a_sheet_that_is_a_link_is_written_through(tagged: Place, at: At, tmp_path: Path) -> None:
    sheet, elsewhere = tagged.folder / "tags/Seep.csv", tmp_path / "synced.csv"
    sheet.rename(elsewhere)
    sheet.symlink_to(elsewhere)
    tagged.card("Seep/DCIM/IMG_0005.JPG", photo(at(10, 7), seed=99))
    tagged.ingest()
    assert sheet.is_symlink() and "IMG_0005.JPG" in elsewhere.read_text(encoding="utf-8")
    elsewhere.unlink()
    (problem,) = [p for p in tagged.log().problems if p.kind == "tag-sheet"]
    assert f"a link to {elsewhere}, which is not there" in problem.why
    tagged.ingest()
    assert sheet.is_symlink() and not elsewhere.exists()


def test_a_sheet_set_read_only_is_left_alone(tagged: Place, at: At) -> None:
    sheet = tagged.folder / "tags/Seep.csv"
    before = sheet.read_bytes()
    sheet.chmod(0o444)
    tagged.card("Seep/DCIM/IMG_0005.JPG", photo(at(10, 7), seed=99))
    (problem,) = tagged.ingest().problems
    assert problem.kind == "tag-sheet-left-alone" and "set read-only" in problem.why
    assert sheet.read_bytes() == before
    sheet.chmod(0o644)
    assert tagged.ingest().problems == () and sheet.read_bytes().startswith(before)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no named pipes")
def test_what_is_no_file_is_not_opened(tagged: Place) -> None:
    os.mkfifo(tagged.folder / "tags/Gate.csv")
    os.mkfifo(tagged.folder / "tags/Pond.xlsx")
    found = {problem.file for problem in mended(tagged)}
    assert found == {"tags/Gate.csv"}
