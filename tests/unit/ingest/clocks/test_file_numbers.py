"""The order that file names stand for."""

from __future__ import annotations

import pandas as pd
import pytest

from deerlog.ingest.clocks.clock_order import numbered_series


def ordered(paths: list[str]) -> list[str]:
    """The paths in the order their names stand for."""
    table = numbered_series(pd.Series(paths)).assign(path=paths)
    return list(table.sort_values(["series", "folder_number", "number"])["path"])


def test_numbered_folders_side_by_side_are_one_card() -> None:
    paths = ["pull 1/DCIM/101ABCDE/IMG_0001.JPG", "pull 1/DCIM/100ABCDE/IMG_9999.JPG"]
    table = numbered_series(pd.Series(paths))
    assert table["series"].nunique() == 1
    assert table["series"].str.startswith("pull 1/DCIM/").all()
    assert ordered(paths) == paths[::-1]


def test_two_dumps_are_two_cards() -> None:
    paths = ["a/DCIM/100ABCDE/IMG_0001.JPG", "b/DCIM/100ABCDE/IMG_0002.JPG"]
    assert numbered_series(pd.Series(paths))["series"].nunique() == 2


def test_a_roll_over_within_one_folder_goes_on() -> None:
    paths = ["d/IMG_0002.JPG", "d/IMG_9998.JPG", "d/IMG_0001.JPG", "d/IMG_9999.JPG"]
    assert [p[-8:-4] for p in ordered(paths)] == ["9998", "9999", "0001", "0002"]


def test_a_full_folder_is_no_roll_over() -> None:
    paths = [f"d/IMG_{n:04d}.JPG" for n in range(1, 10_000, 50)] + ["d/IMG_9999.JPG"]
    assert ordered(paths[::-1]) == paths


def test_pictures_and_videos_share_one_counter() -> None:
    paths = ["d/IMG_0001.JPG", "d/VID_0002.MP4", "d/IMG_0003.JPG"]
    assert numbered_series(pd.Series(paths))["series"].nunique() == 1
    assert ordered(paths[::-1]) == paths


@pytest.mark.parametrize(
    "name", ["20231105_170012.jpg", "2023-11-05 17-00-123.jpg", "buck.jpg", "12.jpg", "no.ext.jpg"]
)
def test_dates_and_words_are_no_numbers(name: str) -> None:
    assert list(numbered_series(pd.Series([f"d/{name}"]))["number"]) == [-1]


def test_other_prefixes_are_counted_by_themselves() -> None:
    paths = ["d/Ridge 001.jpg", "d/Creek 001.jpg", "d/Ridge 002.jpg"]
    table = numbered_series(pd.Series(paths))
    assert list(table["number"]) == [1, 1, 2]
    assert table["series"].nunique() == 2


def test_a_photo_at_the_top_of_the_cameras_folder_has_a_card_too() -> None:
    table = numbered_series(pd.Series(["IMG_0007.JPG"]))
    assert list(table["number"]) == [7]
    assert list(table["series"]) == ["/"]


def test_no_photos_give_an_empty_table() -> None:
    assert len(numbered_series(pd.Series([], dtype=str))) == 0
