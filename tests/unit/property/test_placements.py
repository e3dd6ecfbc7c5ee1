"""Where a camera stood."""

from __future__ import annotations

import numpy as np
import pandas as pd

from deerlog.property.placements import nearest_placement, placement_rows

WHERE = pd.DataFrame(
    {
        "camera": ["B", "A", "A"],
        "site": ["b", "a2", "a1"],
        "start": np.array(["2024-01-01", "2024-06-01 12:00", "2024-01-01"], dtype="datetime64[us]"),
        "end": np.array(["2024-02-01", "NaT", "2024-05-20"], dtype="datetime64[us]"),
    }
)


def times(*texts: str) -> np.ndarray:
    return np.array(texts, dtype="datetime64[us]")


def test_start_is_inside_and_end_is_not() -> None:
    camera = np.array(["A", "A", "A", "A", "B", "B", "C"], dtype=object)
    local = times(
        "2024-01-01", "2024-05-19 23:59:59", "2024-05-20", "2024-06-01 12:00", "2023-12-31",
        "2024-01-31 23:59", "2024-01-15",
    )  # fmt: skip
    assert placement_rows(camera, local, WHERE).tolist() == [2, 2, -1, 1, -1, 0, -1]


def test_no_placements() -> None:
    rows = placement_rows(np.array(["A"], dtype=object), times("2024-01-01"), WHERE.iloc[:0])
    assert rows.tolist() == [-1]


def test_nearest_in_a_gap_before_and_after() -> None:
    mine = WHERE[WHERE["camera"] == "A"].reset_index(drop=True)
    local = times("2020-01-01", "2024-05-21", "2024-05-31", "2024-07-01")
    assert nearest_placement(local, mine).tolist() == [1, 1, 0, 0]
