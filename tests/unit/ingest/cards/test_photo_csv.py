"""CSV photo logs on the cards."""

from __future__ import annotations

from pathlib import Path

import pytest

from deerlog.errors import PropertyError
from deerlog.ingest.cards.photo_csv import read_photo_csv


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
