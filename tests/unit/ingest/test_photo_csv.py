"""CSV photo logs on the cards."""

from __future__ import annotations

import posixpath
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from deerlog.errors import PropertyError
from deerlog.ingest.photo_csv import read_photo_csv


def read(folder: Path, text: str | bytes, path: str = "old/log.csv") -> tuple:  # type: ignore[type-arg]
    place = folder / "log.csv"
    place.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_photo_csv(place, "Seep", path)


def test_rows_are_photos_with_paths_below_the_camera(tmp_path: Path) -> None:
    rows, problems = read(
        tmp_path,
        "Taken;FILE;look;kind;weather\r\n"
        "2024-10-05 06:07:08;IMG_0001.JPG;grey;;cold\r\n"
        "2024-10-05 06:09;sub\\IMG_0002.JPG;colour;photo;\r\n"
        "2024-10-05 06:10:00;../IMG_0003.MP4;;Video;\r\n",
    )
    assert problems == []
    assert [(r.path, r.shown, r.kind, r.look) for r in rows] == [
        ("old/IMG_0001.JPG", "2024-10-05 06:07:08", "log", 0.0),
        ("old/sub/IMG_0002.JPG", "2024-10-05 06:09", "log", 1.0),
        ("IMG_0003.MP4", "2024-10-05 06:10:00", "video", None),
    ]


def test_bad_rows_are_told_and_the_rest_goes_on(tmp_path: Path) -> None:
    rows, problems = read(
        tmp_path,
        "file,taken,look\n"
        "a.jpg,03/04/2025 10:00,\n"
        ",2024-10-05 06:07,\n"
        "../../out.jpg,2024-10-05 06:07,\n"
        "/etc/b.jpg,2024-10-05 06:07,\n"
        "c.jpg,2024-10-05,\n"
        "d.jpg,2024-10-05 06:07,blue\n"
        "good.jpg,2024-10-05 06:07,\n"
        "good.jpg,2024-10-05 07:07,\n"
        "good.jpg,2024-10-05 06:07,\n",
        "log.csv",
    )
    assert [r.path for r in rows] == ["good.jpg"]
    assert [(p.row, p.column, p.kind) for p in problems] == [
        (2, "taken", "bad-cell"),
        (3, "file", "bad-cell"),
        (4, "file", "bad-cell"),
        (5, "file", "bad-cell"),
        (6, "taken", "bad-cell"),
        (7, "look", "bad-cell"),
        (9, "file", "photo-listed-twice"),
    ]
    assert all(p.file == "cards/Seep/log.csv" for p in problems)


def test_a_csv_without_the_columns_is_refused(tmp_path: Path) -> None:
    with pytest.raises(PropertyError, match="taken"):
        read(tmp_path, "file,when\na.jpg,2024-10-05 06:07\n")


LINES = [f"IMG_{i}.JPG,2024-10-05 06:{i:02d}" for i in range(9)]


@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_each_line_is_a_photo_or_a_problem(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    lines = list(LINES)
    plain = st.text(st.characters(min_codepoint=32, max_codepoint=126, exclude_characters='"'))
    for _ in range(data.draw(st.integers(1, 5))):
        row, start = data.draw(st.integers(0, 8)), data.draw(st.integers(0, 30))
        end = start + data.draw(st.integers(0, 5))
        lines[row] = lines[row][:start] + data.draw(plain) + lines[row][end:]
    path = tmp_path_factory.getbasetemp() / "lines.csv"
    path.write_text("\n".join(["file,taken", *lines, ""]))
    rows, problems = read_photo_csv(path, "Seep", "lines.csv")
    paths = {record.path for record in rows}
    told = {problem.row for problem in problems}
    for number, line in enumerate(lines, start=2):
        if number not in told and line.strip(" ,"):
            file = line.split(",")[0].strip().replace("\\", "/")
            assert posixpath.normpath(file) in paths, line
    assert len(paths) == len(rows)


@settings(max_examples=400, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_mangled_csv_gives_rows_and_problems_or_a_clear_refusal(
    data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    base = "\n".join(["file,taken", *LINES, ""])
    mangled = bytearray(base.encode(data.draw(st.sampled_from(["utf-8", "utf-16"]))))
    for _ in range(data.draw(st.integers(1, 5))):
        place = data.draw(st.integers(0, len(mangled)))
        mangled[place : place + data.draw(st.integers(0, 4))] = data.draw(st.binary(max_size=4))
    path = tmp_path_factory.getbasetemp() / "mangled.csv"
    path.write_bytes(mangled)
    try:
        rows, problems = read_photo_csv(path, "Seep", "mangled.csv")
    except PropertyError as error:
        assert error.what
        assert error.how
        return
    assert all(record.shown and record.path for record in rows)
    assert all(problem.row and problem.why and problem.how for problem in problems)
