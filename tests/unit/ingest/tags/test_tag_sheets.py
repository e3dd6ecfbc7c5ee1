"""Tag sheets: appended in their own form, read in any, and never changed."""

from __future__ import annotations

import csv
import io
import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from invented.card_photos import photo
from invented.windows_files import read_only_as_on_windows

from deerlog.errors import Problem

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
PlaceAt = Callable[[Path], "Place"]
HOUR = timedelta(hours=1)


@pytest.fixture(scope="module")
def tagged_once(place_at: PlaceAt, at: At, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four visits at Seep, of which two are tagged. To be copied."""
    place = place_at(tmp_path_factory.mktemp("tagged") / "alder")
    place.photos("Seep/DCIM", at(10, 5), 4, every=HOUR)
    place.ingest()
    place.tag("Seep", "DCIM/IMG_0001.JPG", "Plow")
    place.tag("Seep", "DCIM/IMG_0003.JPG", "Splitbrow?; Newcomer")
    return place.folder


@pytest.fixture
def tagged(tagged_once: Path, place_at: PlaceAt, tmp_path: Path) -> Place:
    """Four visits at Seep, of which two are tagged."""
    return place_at(shutil.copytree(tagged_once, tmp_path / "alder"))


def more(place: Place, at: At) -> None:
    """One more visit, an hour after the others."""
    place.card("Seep/DCIM/IMG_0005.JPG", photo(at(10, 5, 16), seed=99))


def seen(place: Place) -> list[tuple[str, str, bool]]:
    found = place.log().sightings
    return [
        (buck, local.strftime("%H:%M"), unsure)
        for buck, local, unsure in zip(found["buck"], found["local"], found["unsure"], strict=True)
    ]


SEEN = [
    ("Newcomer", "14:00", False),
    ("Old Plow", "12:00", False),
    ("Splitbrow", "14:00", True),
]


def problems(place: Place, kind: str) -> list[Problem]:
    return [p for p in place.log().problems if p.kind == kind]


def test_a_new_sheet(place: Place, at: At) -> None:
    place.photos("Seep/DCIM", at(10, 5), 3, every=timedelta(minutes=20))
    place.card("Seep/other.jpg", photo(at(10, 6, 9), seed=50))
    place.ingest()
    assert (place.folder / "tags" / "Seep.csv").read_bytes() == (
        b"photo,taken,photos,bucks,others,notes\n"
        b"DCIM/IMG_0001.JPG,2024-10-05 12:00:00,3,,,\n"
        b"other.jpg,2024-10-06 09:00:00,1,,,\n"
    )


def test_tags_are_read(tagged: Place) -> None:
    assert seen(tagged) == SEEN
    visits = tagged.log().visits
    assert visits["tagged"].tolist() == [True, False, True, False]
    assert visits["file"].tolist() == ["tags/Seep.csv"] * 4
    assert visits["row"].tolist() == [2, 3, 4, 5]


def test_what_a_person_typed_is_a_prefix_of_the_extended_sheet(tagged: Place, at: At) -> None:
    before = (tagged.folder / "tags" / "Seep.csv").read_bytes()
    more(tagged, at)
    tagged.ingest()
    after = (tagged.folder / "tags" / "Seep.csv").read_bytes()
    assert after == before + b"DCIM/IMG_0005.JPG,2024-10-05 16:00:00,1,,,\n"
    assert seen(tagged) == SEEN


def resave(place: Place, *, encoding: str, delimiter: str, newline: str, bom: bytes) -> None:
    """Sort the sheet backwards, add columns, and save it another way."""
    path = place.folder / "tags" / "Seep.csv"
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
    header, body = rows[0], sorted(rows[1:], reverse=True)
    header = ["wind", *reversed(header), "Älter?"]
    body = [["NW", *reversed(row), "ja"] for row in body]
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter, lineterminator=newline).writerows([header, *body])
    path.write_bytes(bom + out.getvalue().removesuffix(newline).encode(encoding))


@pytest.mark.parametrize(
    ("encoding", "delimiter", "newline", "bom"),
    [
        ("utf-8", ";", "\r\n", b"\xef\xbb\xbf"),
        ("utf-16-le", "\t", "\r\n", b"\xff\xfe"),
        ("utf-16-be", ",", "\n", b"\xfe\xff"),
        ("cp1252", ";", "\r\n", b""),
        ("utf-8", ",", "\n", b""),
        ("utf-8", "\t", "\r", b""),
    ],
)
def test_a_sheet_saved_another_way_is_read_and_extended_in_that_way(
    tagged: Place, at: At, encoding: str, delimiter: str, newline: str, bom: bytes
) -> None:
    resave(tagged, encoding=encoding, delimiter=delimiter, newline=newline, bom=bom)
    path = tagged.folder / "tags" / "Seep.csv"
    before = path.read_bytes()
    assert seen(tagged) == SEEN
    tagged.ingest()
    assert path.read_bytes() == before
    more(tagged, at)
    tagged.ingest()
    after = path.read_bytes()
    added = newline + delimiter.join(
        ["", "", "", "", "1", "2024-10-05 16:00:00", "DCIM/IMG_0005.JPG", ""]
    )
    assert after == before + (added + newline).encode(encoding)
    assert seen(tagged) == SEEN
    tagged.ingest()
    assert path.read_bytes() == after


def test_a_row_for_any_other_photo_tags_the_visit_that_holds_it(place: Place, at: At) -> None:
    place.photos("Seep", at(10, 5), 3, every=timedelta(minutes=10))
    place.ingest()
    text = place.sheet("Seep") + ".\\IMG_0003.JPG,,,Old Plow,2 does,\nIMG_0002.JPG,,,Plow?,fawn,\n"
    place.write("tags/Seep.csv", text)
    found = place.log().sightings
    assert seen(place) == [("Old Plow", "12:10", False)]
    assert found["photos"].tolist() == [2]
    assert found["others"].tolist() == ["fawn; 2 does"]
    place.ingest()
    assert place.sheet("Seep") == text


def test_tags_stay_with_their_photos_when_the_dump_moves(tagged: Place) -> None:
    old = tagged.folder / "cards" / "Seep" / "DCIM"
    old.rename(old.with_name("2024-10 dump"))
    tagged.ingest()
    assert seen(tagged) == SEEN
    assert tagged.sheet("Seep").count("\n") == 5
    # The log, too, may be built anew from the moved files: then name and time find them.
    (tagged.folder / "deerlog.sqlite").unlink()
    text = tagged.sheet("Seep").replace("2024-10-05 12:00:00", "10/5/2024 12:00")
    text = text.replace("2024-10-05 14:00:00", "2024-10-05 14:00")
    tagged.write("tags/Seep.csv", text)
    tagged.ingest()
    assert seen(tagged) == SEEN
    tagged.write("tags/Seep.csv", text.replace("10/5/2024 12:00", "10/6/2024 12:00"))
    assert seen(tagged) == [row for row in SEEN if row[0] != "Old Plow"]
    (lost,) = problems(tagged, "tag-photo-unknown")
    assert (lost.row, lost.value) == (2, "DCIM/IMG_0001.JPG")


def test_tags_stay_with_their_photos_when_the_clock_is_mended(tagged: Place) -> None:
    tagged.write("clock.csv", "camera,shown,actual\nSeep,2024-10-05 12:00,2024-10-05 11:00\n")
    text = tagged.sheet("Seep")
    tagged.ingest()
    assert tagged.sheet("Seep") == text
    assert seen(tagged) == [
        ("Newcomer", "13:00", False),
        ("Old Plow", "11:00", False),
        ("Splitbrow", "13:00", True),
    ]


def test_a_tag_on_a_copy_is_a_tag_on_the_picture(tagged: Place) -> None:
    copy = (tagged.folder / "cards/Seep/DCIM/IMG_0002.JPG").read_bytes()
    tagged.card("Seep/ZZ/IMG_0002.JPG", copy)
    tagged.ingest()
    assert tagged.sheet("Seep").count("\n") == 5
    tagged.write("tags/Seep.csv", tagged.sheet("Seep") + "ZZ/IMG_0002.JPG,,,Old Plow,,\n")
    assert ("Old Plow", "13:00", False) in seen(tagged)


def test_typos_and_what_spreadsheets_do_are_told_with_the_row(tagged: Place) -> None:
    tagged.tag("Seep", "DCIM/IMG_0001.JPG", "old plow")
    tagged.tag("Seep", "DCIM/IMG_0002.JPG", "Spiltbrow")
    tagged.tag("Seep", "DCIM/IMG_0003.JPG", "10-Aug")
    tagged.tag("Seep", "DCIM/IMG_0004.JPG", "Plow / Splitbrow")
    tagged.write(
        "tags/Seep.csv", tagged.sheet("Seep") + "nowhere.jpg,,,Old Plow,,\n,,,Old Plow,,\n"
    )
    found = {p.kind: p for p in tagged.log().problems}
    assert {kind: (p.row, p.value, p.must_mend) for kind, p in found.items()} == {
        "tag-photo-unknown": (6, "nowhere.jpg", True),
        "tag-spelling": (2, "old plow", False),
        "tag-typo": (3, "Spiltbrow", True),
        "tag-turned": (4, "10-Aug", True),
        "tag-separator": (5, "Plow / Splitbrow", True),
    }
    assert found["tag-typo"].bucks == ("Splitbrow",)
    assert "rows 6 and 7" in found["tag-photo-unknown"].why
    assert [row[0] for row in seen(tagged)] == ["Old Plow", "Plow / Splitbrow", "Spiltbrow"]
    assert tagged.log().visits["tagged"].all()


@pytest.mark.parametrize("name", [".~lock.Seep.csv#", "~$Seep.csv"])
def test_a_sheet_open_in_a_spreadsheet_is_left_alone(tagged: Place, at: At, name: str) -> None:
    lock = tagged.folder / "tags" / name
    lock.write_bytes(b"someone")
    before = tagged.sheet("Seep")
    more(tagged, at)
    for _ in range(2):
        summary = tagged.ingest()
        assert [p.kind for p in summary.problems] == ["tag-sheet-left-alone"]
        assert "1 new visit is not in it yet" in summary.problems[0].why
        assert tagged.sheet("Seep") == before
    lock.unlink()
    assert tagged.ingest().problems == ()
    assert "IMG_0005.JPG" in tagged.sheet("Seep")


def test_a_sheet_changed_meanwhile_is_left_alone(
    tagged: Place, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    more(tagged, at)
    path = tagged.folder / "tags" / "Seep.csv"
    typed = path.read_bytes().replace(b"Plow", b"Old Plow")
    copy = "deerlog.ingest.tags.tag_sheets.shutil.copymode"
    monkeypatch.setattr(copy, lambda *paths: path.write_bytes(typed))
    (problem,) = tagged.ingest().problems
    assert problem.kind == "tag-sheet-left-alone"
    assert path.read_bytes() == typed
    assert [p.name for p in path.parent.iterdir()] == ["Seep.csv"]
    monkeypatch.undo()
    tagged.ingest()
    assert path.read_bytes().startswith(typed)
    assert b"IMG_0005.JPG" in path.read_bytes()


def test_a_sheet_that_may_not_be_written_is_left_alone(
    tagged: Place, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    more(tagged, at)

    def refuse(self: Path, target: Path) -> None:
        raise PermissionError(13, "in use")

    before = tagged.sheet("Seep")
    with monkeypatch.context() as patch:
        patch.setattr(Path, "replace", refuse)
        (problem,) = tagged.ingest().problems
    assert "open in another program" in problem.why
    assert tagged.sheet("Seep") == before
    assert len(list((tagged.folder / "tags").iterdir())) == 1


def test_a_read_only_sheet_is_left_alone_until_it_may_be_written(
    tagged: Place, at: At, monkeypatch: pytest.MonkeyPatch
) -> None:
    read_only_as_on_windows(monkeypatch)
    more(tagged, at)
    sheet = tagged.folder / "tags/Seep.csv"
    sheet.chmod(0o444)
    left = sheet.with_name(".deerlog-new-Gone.csv")
    left.write_bytes(b"half")
    left.chmod(0o444)
    for _ in range(2):
        (problem,) = tagged.ingest().problems
        assert problem.kind == "tag-sheet-left-alone"
        assert [p.name for p in sheet.parent.iterdir()] == ["Seep.csv"]
    sheet.chmod(0o644)
    assert tagged.ingest().problems == ()
    assert "IMG_0005.JPG" in tagged.sheet("Seep")


@pytest.mark.parametrize(
    "content", [b"\x89PNG\r\n\x1a\n\x00\x00", b"PK\x03\x04rest", b"just words\nand more\n", b""]
)
def test_a_sheet_that_is_no_csv_is_told_and_left_alone(
    tagged: Place, at: At, content: bytes
) -> None:
    path = tagged.folder / "tags" / "Seep.csv"
    path.write_bytes(content)
    more(tagged, at)
    summary = tagged.ingest()
    assert [p.kind for p in summary.problems] == ["tag-sheet", "tag-sheet-left-alone"]
    assert path.read_bytes() == content


def test_letters_the_encoding_cannot_write_leave_the_sheet_alone(tagged: Place, at: At) -> None:
    path = tagged.folder / "tags" / "Seep.csv"
    before = path.read_text().replace("Newcomer", "Bräu").encode("cp1252")
    path.write_bytes(before)
    tagged.card("Seep/олень.jpg", photo(at(10, 7), seed=8))
    (problem,) = tagged.ingest().problems
    assert problem.kind == "tag-sheet-left-alone"
    assert "cp1252" in problem.why
    assert path.read_bytes() == before


def test_an_open_quotation_mark_leaves_the_sheet_alone(tagged: Place, at: At) -> None:
    before = tagged.sheet("Seep").replace("Plow", '"Plow')
    tagged.write("tags/Seep.csv", before)
    more(tagged, at)
    found = [p.kind for p in tagged.ingest().problems]
    assert "tag-sheet-left-alone" in found
    assert tagged.sheet("Seep") == before


ODD_NAMES = (
    "=1+1.jpg", "+x.jpg", "-x.jpg", "@sum.jpg", " lead.jpg", "trail .jpg", "a,b.jpg", 'q"q.jpg',
    "semi;colon.jpg", "олень.jpg", "<script>.jpg", "'x.jpg", "два\u2028строки.jpg",
)  # fmt: skip


def test_odd_file_names_are_found_again_and_run_nothing(place: Place, at: At) -> None:
    taken = []
    for hour, name in enumerate(ODD_NAMES):
        try:
            place.card(f"Seep/{name}", photo(at(10, 5, hour), seed=hour))
        except OSError:
            continue  # this system refuses the name
        taken.append(f"{hour:02d}:00")
    assert len(taken) > len(ODD_NAMES) / 2
    place.ingest()
    text = place.sheet("Seep")
    for row in csv.reader(io.StringIO(text)):
        assert not any(cell.startswith(("=", "+", "-", "@")) for cell in row)
    assert place.ingest().problems == ()
    assert place.sheet("Seep") == text
    assert place.log().visits["file"].tolist() == ["tags/Seep.csv"] * len(taken)
    place.write("tags/Seep.csv", text.replace("1,,,", "1,Old Plow,,"))
    assert seen(place) == [("Old Plow", time, False) for time in taken]


def test_a_path_that_no_cell_can_hold_is_told_not_repeated(place: Place, at: At) -> None:
    try:
        place.card("Seep/two\r\nlines ,,,,,.jpg", photo(at(10, 5)))
    except OSError:
        pytest.skip("this system refuses the name")
    place.card("Seep/good.jpg", photo(at(10, 8), seed=4))
    place.ingest()
    text = place.sheet("Seep")
    assert "good.jpg" in text
    place.ingest()
    assert place.sheet("Seep") == text


def test_left_over_partial_files_are_cleared(tagged: Place) -> None:
    left = tagged.folder / "tags" / ".deerlog-new-Seep.csv"
    left.write_bytes(b"half")
    tagged.ingest()
    assert not left.exists()


def test_others_without_bucks_is_not_looked_at_and_told(tagged: Place) -> None:
    text = tagged.sheet("Seep").replace("13:00:00,1,,,", "13:00:00,1,,doe,")
    tagged.write("tags/Seep.csv", text)
    (problem,) = problems(tagged, "tag-half-filled")
    assert problem.row == 3
    assert not problem.must_mend
    assert tagged.log().visits["tagged"].tolist() == [True, False, True, False]


def test_a_tag_outside_any_placement_is_told(tagged: Place) -> None:
    tagged.write(
        "cameras.csv", "camera,site,latitude,longitude,start\nSeep,Seep,44,-91,2024-10-06\n"
    )
    (problem,) = problems(tagged, "tag-outside-placement")
    assert "rows 2 and 4" in problem.why
    assert len(problems(tagged, "outside-placement")) == 1
    assert seen(tagged) == []


def test_a_row_too_damaged_to_read_still_stands_for_its_visit(tagged: Place) -> None:
    text = tagged.sheet("Seep").replace(",Plow,,", ",Plow,2 does, a fawn, and more,")
    tagged.write("tags/Seep.csv", text)
    assert [p.kind for p in tagged.ingest().problems] == ["ragged-row"]
    assert tagged.sheet("Seep") == text
