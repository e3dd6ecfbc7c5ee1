"""Tables as people and their programs save them."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import settings as budget
from hypothesis import strategies as st

from deerlog.errors import DeerlogError, PropertyError
from deerlog.property.table_reader import SheetTable, read_table, read_table_bytes

KNOWN = ("photo", "taken", "bucks", "notes")
Write = Callable[[str, str], Path]


def read(text: str, encoding: str = "utf-8", **options: object) -> SheetTable:
    return read_table_bytes(text.encode(encoding), KNOWN, file="tags/Seep.csv", **options)  # type: ignore[arg-type]


PLAIN = "photo,taken,bucks\na.jpg,2025-08-01 06:00,Comet\nb.jpg,2025-08-02 19:30,José\n"


@pytest.mark.parametrize(
    ("raw", "encoding", "bom"),
    [
        (PLAIN.encode(), "utf-8", b""),
        (b"\xef\xbb\xbf" + PLAIN.encode(), "utf-8", b"\xef\xbb\xbf"),
        (b"\xff\xfe" + PLAIN.encode("utf-16-le"), "utf-16-le", b"\xff\xfe"),
        (b"\xfe\xff" + PLAIN.encode("utf-16-be"), "utf-16-be", b"\xfe\xff"),
        (PLAIN.encode("utf-16-le"), "utf-16-le", b""),
        (PLAIN.encode("utf-16-be"), "utf-16-be", b""),
        (PLAIN.encode("cp1252"), "cp1252", b""),
        (b"\xef\xbb\xbf\xef\xbb\xbf" + PLAIN.encode(), "utf-8", b"\xef\xbb\xbf"),
    ],
)
def test_every_encoding_reads_the_same_and_is_remembered(
    raw: bytes, encoding: str, bom: bytes
) -> None:
    sheet = read_table_bytes(raw, KNOWN, required=("photo",), file="t.csv")
    assert sheet.frame["bucks"].tolist() == ["Comet", "José"]
    assert (sheet.encoding, sheet.bom) == (encoding, bom)
    # More rows in the stated encoding go straight behind the file's bytes.
    more = read_table_bytes(raw + "c.jpg,,Büchse\n".encode(encoding), KNOWN, file="t.csv")
    assert more.frame["bucks"].tolist() == ["Comet", "José", "Büchse"]


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_delimiter_and_newline_are_found_and_remembered(delimiter: str, newline: str) -> None:
    sheet = read(PLAIN.replace(",", delimiter).replace("\n", newline))
    assert sheet.frame["photo"].tolist() == ["a.jpg", "b.jpg"]
    assert (sheet.delimiter, sheet.newline) == (delimiter, newline)


def test_columns_in_any_order_and_case_and_extras_kept() -> None:
    sheet = read("My Rank,BUCKS, Photo ,,row,my rank\n1,Comet,a.jpg,x,7,2\n")
    assert list(sheet.frame.columns) == [
        "bucks",
        "photo",
        "My Rank",
        "column 4",
        "row (2)",
        "my rank",
        "row",
    ]
    assert sheet.frame.iloc[0].tolist() == ["Comet", "a.jpg", "1", "x", "7", "2", 2]
    assert sheet.columns == ("My Rank", "BUCKS", "Photo ", "", "row", "my rank")


def test_rows_keep_the_numbers_a_spreadsheet_shows() -> None:
    sheet = read('\nphoto,notes\n\na.jpg,"two\nlines"\n,\nb.jpg,\n')
    assert sheet.frame["row"].tolist() == [4, 6]
    assert sheet.frame["notes"].tolist() == ["two\nlines", ""]


def test_a_line_that_names_the_delimiter_is_obeyed() -> None:
    sheet = read('sep=;\r\nphoto;notes\r\na.jpg;"x, y"\r\n')
    assert sheet.delimiter == ";"
    assert sheet.frame["row"].tolist() == [3]


def test_short_rows_and_trailing_blank_cells_are_no_fault() -> None:
    sheet = read("photo,taken,bucks\na.jpg\nb.jpg,2025-08-02,Comet,,\n")
    assert sheet.problems == ()
    assert sheet.frame["bucks"].tolist() == ["", "Comet"]


def test_a_row_with_too_many_cells_is_named_and_set_aside() -> None:
    sheet = read("photo,notes\na.jpg,big, wide\nb.jpg,\n")
    assert sheet.frame["photo"].tolist() == ["b.jpg"]
    (problem,) = sheet.problems
    assert (problem.kind, problem.row, problem.file) == ("ragged-row", 2, "tags/Seep.csv")
    assert "3 cells" in problem.why and "2" in problem.why
    assert sheet.set_aside == ((2, ("a.jpg", "big", "wide")),)


@pytest.mark.parametrize(
    ("text", "good", "set_aside"),
    [
        # Never closed.
        ('photo,notes\na,"18 inch\nb,x\nc,y\n', [3, 4], [2]),
        # Closed by an opening quotation mark further down.
        ('photo,notes\na,"18 inch\nb,x\nc,"p, q"\n', [3, 4], [2]),
        # Closed by an inch mark at the end of a cell further down.
        ('photo,taken,notes\na,"18 inch,x\nb,1,2\nc,14",y\n', [3, 4], [2]),
        ('photo,taken,notes\na,"18 inch,x\nc,14",y\n', [3], [2]),
        # Text after a closing quotation mark.
        ('photo,notes\na,"big" one\nb,x\n', [3], [2]),
    ],
)
def test_a_stray_quotation_mark_swallows_no_row(
    text: str, good: list[int], set_aside: list[int]
) -> None:
    sheet = read(text)
    assert sheet.frame["row"].tolist() == good
    assert [row for row, _ in sheet.set_aside] == set_aside
    assert [problem.kind for problem in sheet.problems] == ["open-quote"]


def test_an_inch_mark_inside_a_cell_is_text() -> None:
    assert read('photo,notes\na,18" spread\n').frame["notes"].tolist() == ['18" spread']


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "is empty"),
        (b"\n\n  \n", "is empty"),
        (b"PK\x03\x04\x14\x00", "workbook"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1", "workbook"),
        (b"\xff\xd8\xff\xe1\x00\x10Exif", "JPEG"),
        (b"photo,notes\na,b\x00\x00\x00\n", "not plain text"),
        (b"photo,notes\na,\x81\xff\n", "not plain text"),
        (b"a.jpg,2025-08-01,Comet\n", "no header row"),
        (b"photo,Photo\n", "twice"),
        (b"taken,notes\n", "photo is missing"),
        (b"Photos,notes\n", "'photos' looks like photo: rename it"),
    ],
)
def test_what_is_no_table_is_refused_in_words(raw: bytes, words: str) -> None:
    with pytest.raises(PropertyError) as caught:
        read_table_bytes(raw, KNOWN, required=("photo",), file="t.csv")
    assert words in str(caught.value)
    assert str(caught.value).startswith("t.csv")
    assert caught.value.how


def test_a_misspelt_optional_column_is_a_problem() -> None:
    (problem,) = read("photo,buck\na,Comet\n").problems
    assert (problem.kind, problem.column, problem.row) == ("column-name", "buck", 1)
    assert "bucks" in problem.how


def test_an_extra_column_like_one_already_there_is_no_slip() -> None:
    assert read("photo,bucks,buck\na,Comet,1\n").problems == ()
    known = ("time", "temperature_f", "temperature_c")
    raw = b"time,temperature_f,temperature_max\n"
    assert read_table_bytes(raw, known, file="weather.csv").problems == ()


def test_a_missing_file_and_a_folder_in_its_place_are_refused(tmp_path: Path) -> None:
    with pytest.raises(PropertyError, match="not there"):
        read_table(tmp_path / "bucks.csv", KNOWN)
    (tmp_path / "bucks.csv").mkdir()
    with pytest.raises(PropertyError, match="cannot be read"):
        read_table(tmp_path / "bucks.csv", KNOWN)


CELL = st.text(
    st.characters(exclude_categories=["Cs"], exclude_characters="\0\r\n,;\t"), max_size=8
)
ROW = st.lists(CELL, min_size=3, max_size=3)


@budget(max_examples=60, deadline=None)
@given(
    rows=st.lists(ROW, max_size=6),
    delimiter=st.sampled_from([",", ";", "\t"]),
    newline=st.sampled_from(["\n", "\r\n"]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    quoting=st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
)
def test_what_a_program_writes_is_read_back(
    rows: list[list[str]], delimiter: str, newline: str, encoding: str, quoting: int
) -> None:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator=newline, quoting=quoting)
    writer.writerow(["photo", "Mine", "notes"])
    writer.writerows(rows)
    sheet = read_table_bytes(out.getvalue().encode(encoding), KNOWN, file="t.csv")
    expected = [
        [cell.strip() for cell in row] + [number]
        for number, row in enumerate(rows, start=2)
        if any(cell.strip() for cell in row)
    ]
    assert sheet.frame[["photo", "Mine", "notes", "row"]].to_numpy().tolist() == expected
    assert sheet.problems == ()


@budget(max_examples=150, deadline=None)
@given(st.binary(max_size=80), st.booleans())
@example(b"\xff\xfe", False)
@example(b'photo,"', False)
@example(b"sep=,\n", False)
def test_no_bytes_lead_to_a_traceback(raw: bytes, with_header: bool) -> None:
    try:
        read_table_bytes((b"photo,notes\n" if with_header else b"") + raw, KNOWN, file="t.csv")
    except DeerlogError as error:
        assert error.how


@budget(max_examples=150, deadline=None)
@given(
    st.lists(
        st.text(st.sampled_from('ab,;" \té'), max_size=10),
        max_size=12,
    )
)
def test_no_row_is_lost_in_silence(lines: list[str]) -> None:
    # However quotation marks pair up across lines, every line's letters are in a good row or in
    # one that was set aside.
    marked = [f"{line}k{number:02d}" for number, line in enumerate(lines)]
    sheet = read("photo,notes,Mine\n" + "".join(f"{line}\n" for line in marked))
    found = " ".join(sheet.frame.drop(columns="row").to_numpy().ravel().tolist())
    found += " ".join(cell for _, cells in sheet.set_aside for cell in cells)
    assert [n for n in range(len(lines)) if f"k{n:02d}" not in found] == []
    rows = sheet.frame["row"].tolist() + [row for row, _ in sheet.set_aside]
    assert len(set(rows)) == len(rows)
    assert len(sheet.problems) == len(sheet.set_aside)


@budget(max_examples=100, deadline=None)
@given(st.lists(st.text(st.sampled_from("ab,é "), max_size=10), max_size=12))
def test_data_rows_are_good_or_reported(lines: list[str]) -> None:
    sheet = read("photo,notes,Mine\n" + "".join(f"{line}\n" for line in lines))
    not_blank = sum(1 for line in lines if line.strip(", "))
    assert len(sheet.frame) + len(sheet.set_aside) == not_blank
    assert len(sheet.problems) == len(sheet.set_aside)
