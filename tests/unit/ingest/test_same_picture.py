"""One picture counts once, however often it was copied."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from deerlog.ingest.copies import same_pictures


def table(*rows: dict[str, Any]) -> pd.DataFrame:
    usual = {
        "camera": "Seep", "path": "a.jpg", "listed_in": "", "size": 100, "gone": False,
        "shown": "2024-10-05 06:07:08", "head": 1, "copies_before": 0,
    }  # fmt: skip
    frame = pd.DataFrame([usual | row for row in rows])
    frame["seconds"] = [len(text) == 19 for text in frame["shown"]]
    frame["shown"] = np.array(frame["shown"].tolist(), dtype="datetime64[us]")
    return frame


def same(*rows: dict[str, Any]) -> list[int]:
    return same_pictures(table(*rows)).tolist()


def test_copies_count_once_and_the_first_path_counts() -> None:
    assert same({}, {"path": "b/a.jpg"}, {"camera": "Zig", "path": "a.jpg"}) == [-1, 0, 0]


def test_size_time_and_bytes_must_all_agree() -> None:
    assert same(
        {},
        {"path": "b", "size": 101},
        {"path": "c", "shown": "2024-10-05 06:07:09"},
        {"path": "d", "head": 2},
    ) == [-1, -1, -1, -1]


def test_what_is_on_disk_counts_before_what_is_gone() -> None:
    assert same({"gone": True}, {"path": "b"}, {"path": "c", "gone": True}) == [1, -1, 1]


def test_numbering_that_rolls_over_gives_two_pictures() -> None:
    assert same(
        {"path": "100/IMG_0001.JPG"},
        {"path": "101/IMG_0001.JPG", "shown": "2024-11-05 06:07:08", "head": 7},
    ) == [-1, -1]


LISTED = {"listed_in": "log.csv", "size": 0, "head": 0}


def test_a_listed_picture_that_is_there_counts_once() -> None:
    by_path = {"path": "x.jpg", "shown": "2024-10-05 09:00:00"}
    by_name = {"path": "old/x.jpg", "shown": "2024-10-05 09:00:00"}
    assert same(by_path, LISTED | by_path | {"shown": "2024-10-05 08:00:00"}) == [-1, 0]
    assert same(LISTED | by_name, by_path) == [1, -1]
    assert same(LISTED | by_name | {"shown": "2024-10-05 09:00"}, by_path) == [1, -1]
    assert same(LISTED | by_name | {"shown": "2024-10-05 09:01"}, by_path) == [-1, -1]
    assert same(LISTED | by_name | {"camera": "Gate"}, by_path) == [-1, -1]


def test_a_listed_copy_of_a_copy_names_the_one_that_counts() -> None:
    assert same({}, {"path": "b/a.jpg"}, LISTED | {"path": "b/a.jpg"}) == [-1, 0, 0]


def test_overlapping_lists_count_once() -> None:
    a = LISTED | {"path": "1/x.jpg", "listed_in": "1/log.csv"}
    b = LISTED | {"path": "2/x.jpg", "listed_in": "2/log.csv"}
    assert same(a, b) == [-1, 0]
    assert same(a, b | {"shown": "2024-10-05 06:07"}) == [-1, 0]
    assert same(a, b | {"shown": "2024-10-05 06:07:09"}) == [-1, -1]


def test_none_gives_none() -> None:
    assert same_pictures(table({}).iloc[:0]).tolist() == []


def test_which_copy_counts_is_decided_step_by_step() -> None:
    """Each step decides only where those before leave it open."""
    rows = [{"camera": "A"}, {"camera": "B"}]
    flags = [{"gone": True, "copies_before": 1}, {}]
    table_ = table(*({**row, **flag} for row, flag in zip(rows, flags, strict=True)))
    listed = np.array([True, False])
    assert same_pictures(table_, listed_camera=listed).tolist() == [-1, 0]
    assert same_pictures(table_).tolist() == [1, -1]  # on disk
    table_ = table(rows[0], rows[1] | {"copies_before": 1})
    assert same_pictures(table_, has_tag_row=np.array([False, True])).tolist() == [1, -1]
    assert same({"camera": "A", "copies_before": 1}, {"camera": "B"}) == [1, -1]
    assert same({"path": "card copy/a.jpg"}, {"path": "card/a.jpg"}) == [1, -1]
