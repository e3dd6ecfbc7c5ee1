"""Rows of clock.csv moment by moment: which applies, and which stand before a new one."""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest

from deerlog.ingest.clocks.clock_words import _add, clock_row, mend_run, minute_text
from deerlog.ingest.clocks.retime import (
    BEFORE_2005,
    IN_THE_FUTURE,
    clock_shift,
    corrected_times,
    excluded_times,
)

HOUR = np.timedelta64(3600, "s")
FIRST = np.datetime64("2024-07-01T00:00", "us")
NOT_PLACED = pd.DataFrame({"camera": [], "start": [], "end": [], "clock": []})


def at(hour: float | None) -> np.datetime64:
    """Some hours after the first of July; None for no bound."""
    return (
        np.datetime64("NaT", "us") if hour is None else FIRST + np.timedelta64(int(60 * hour), "m")
    )


def readings(rows: list[Row]) -> pd.DataFrame:
    """By hours: what the camera showed, minutes to add, from, to."""
    return pd.DataFrame(
        {
            "camera": "Seep",
            "shown": [at(shown) for shown, _, _, _ in rows],
            "actual": [at(shown + minutes / 60) for shown, minutes, _, _ in rows],
            "valid_from": [at(first) for _, _, first, _ in rows],
            "valid_to": [at(after) for _, _, _, after in rows],
            "row": range(2, len(rows) + 2),
        }
    )


Row = tuple[int, int, int | None, int | None]
BOUNDS = [(None, None), (None, 6), (4, None), (2, 5), (3, 7), (7, 12), (9, 11), (0, 6)]


def drawn_rows(seed: int) -> list[Row]:
    """Up to five rows; none with another's width but other bounds, which would have no order."""
    rng = np.random.default_rng(seed)
    kinds = [BOUNDS[i] for i in rng.choice(len(BOUNDS), rng.integers(1, 4), replace=False)]
    if (None, 6) in kinds and (4, None) in kinds:
        kinds.remove((4, None))
    hours = rng.permutation(13)[: rng.integers(1, 6)]  # each reading at an hour of its own
    picked = [kinds[i] for i in rng.integers(0, len(kinds), len(hours))]
    minutes = rng.choice([-60, 0, 30, 90], len(hours))
    return [(int(h), int(m), *b) for h, m, b in zip(hours, minutes, picked, strict=True)]


def wanted_minutes(hour: int, rows: list[Row]) -> float | None:
    """What the rule in words gives for one photo; None where no row applies."""
    low = [-1e6 if row[2] is None else row[2] for row in rows]
    high = [1e6 if row[3] is None else row[3] for row in rows]
    applying = [i for i in range(len(rows)) if low[i] <= hour < high[i]]
    if not applying:
        return None
    narrowest = min(applying, key=lambda i: (high[i] - low[i], i))
    same = [rows[i] for i in applying if (low[i], high[i]) == (low[narrowest], high[narrowest])]
    same.sort()
    for left, right in pairwise(same):
        if left[0] <= hour <= right[0]:
            share = (hour - left[0]) / (right[0] - left[0])
            return left[1] + share * (right[1] - left[1])
    return same[0][1] if hour < same[0][0] else same[-1][1]


@pytest.mark.parametrize("seeds", [range(40), range(40, 80)])
def test_of_rows_that_apply_the_narrowest_count_and_drift_between_readings(seeds: range) -> None:
    for rows in map(drawn_rows, seeds):
        hours = list(range(-1, 14))
        shown = np.array([at(hour) for hour in hours])
        shift, applies = clock_shift(shown, readings(rows), NOT_PLACED, "America/Chicago")
        wanted = [wanted_minutes(hour, rows) for hour in hours]
        assert applies.tolist() == [minutes is not None for minutes in wanted]
        got = shift / np.timedelta64(60_000_000, "us")
        np.testing.assert_allclose(got, [minutes or 0.0 for minutes in wanted], atol=1e-6)


def test_a_row_stands_before_a_new_one_where_it_rules_a_moment_of_it() -> None:
    def bounds(first: int | None, after: int | None) -> tuple[float, float]:
        return (-2e7 if first is None else first, 7e7 if after is None else after)  # by calendar

    moments = np.arange(-3, 16) + 0.5
    for seed in range(40):
        rows, new = drawn_rows(seed), BOUNDS[seed % len(BOUNDS)]
        low, high = bounds(*new)
        before = []
        for line, row in enumerate(rows, start=2):
            first, after = bounds(*row[2:])
            both = (moments >= first) & (moments < after) & (moments >= low) & (moments < high)
            if both.any() and after - first <= high - low:
                before.append(line)
        assert rows_in_place_of(_add(readings(rows), "Seep", at(new[0]), at(new[1]))) == before
    assert rows_in_place_of(_add(readings(rows), "Gate", at(None), at(None))) == []


def rows_in_place_of(words: str) -> list[int]:
    return [int(row) for row in re.findall(r"\d+", words.partition("in place of")[2])]


def test_the_bounds_of_a_run_and_who_else_lies_within() -> None:
    second = np.timedelta64(1, "s")
    shown = [at(5), at(3), at(7)]  # the run, in order of its numbers
    others = {
        "at the very start": ("Seep", at(3), False),
        "within the last second": ("Seep", at(7) + second // 2, False),
        "just before": ("Seep", at(3) - second, False),
        "a second after": ("Seep", at(7) + second, False),
        "a copy": ("Seep", at(4), True),
        "another camera": ("Gate", at(4), False),
    }
    photos = pd.DataFrame(
        [("Seep", time, False) for time in shown] + list(others.values()),
        columns=["camera", "shown", "copy"],
    )
    photos["path"] = [f"IMG_{i:04d}.JPG" for i in range(len(photos))]
    photos["same_as"] = pd.Series(pd.NA, index=photos.index, dtype="Int64").mask(photos["copy"], 0)
    rows = readings([(4, 0, None, None), (4, 0, 4, 6), (4, 0, 8, 9)])
    how, row = mend_run(photos.iloc[:3], photos, rows)
    assert "2 other photos of this camera show times between theirs" in how and row == ""
    alone = photos.drop([3, 4])
    how, row = mend_run(alone.iloc[:3], alone, rows)
    bounds = [minute_text(time) for time in (at(5), at(3), at(7) + second)]
    assert row == f"Seep,{bounds[0]},<real local time>,{bounds[1]},{bounds[2]}"
    assert rows_in_place_of(how.partition("Add to")[2].partition(":")[0]) == [3]


def test_a_row_is_written_with_seconds_only_where_there_are_any() -> None:
    assert minute_text(np.datetime64("2024-11-03T02:00")) == "2024-11-03 02:00"
    assert minute_text(np.datetime64("2024-11-03T02:00:07")) == "2024-11-03 02:00:07"
    assert minute_text(np.datetime64("NaT")) == minute_text(None) == ""
    assert clock_row("Seep", opens=at(3)) == (
        "Seep,<what it showed>,<real local time>,2024-07-01 03:00,"
    )
    assert clock_row("Seep", shown=at(1), actual=at(2), closes=at(4)) == (
        "Seep,2024-07-01 01:00,2024-07-01 02:00,,2024-07-01 04:00"
    )


@pytest.mark.parametrize(
    ("zone", "stated"),
    [
        # Turkey kept summer time all year from 2016 on (IANA, Europe/Istanbul).
        ("Europe/Istanbul", {(2015, 120): True, (2015, 180): True, (2018, 120): False,
                             (2018, 180): True, (2015, 60): False}),
        ("Asia/Kolkata", {(2024, 330): True, (2024, 300): False}),
    ],
)  # fmt: skip
def test_a_stated_offset_counts_in_a_year_in_which_the_zone_uses_it(
    zone: str, stated: dict[tuple[int, int], bool]
) -> None:
    shown = np.array([f"{year}-06-10T12:00" for year, _ in stated], dtype="datetime64[us]")
    minutes = np.array([float(m) for _, m in stated])
    camera = np.array(["Seep"] * len(shown), dtype=object)
    got = corrected_times(camera, shown, minutes, NOT_PLACED, readings([]), zone)
    used = np.array(list(stated.values()))
    assert got.foreign_offset.tolist() == (~used).tolist()
    moved = shown - minutes.astype("timedelta64[m]")
    assert (got.utc[used] == moved[used]).all()
    not_stated = corrected_times(camera, shown, minutes * np.nan, NOT_PLACED, readings([]), zone)
    assert not not_stated.foreign_offset.any()


def test_times_before_2005_and_two_days_after_they_were_read_cannot_be() -> None:
    wall = np.array(
        ["2004-12-31T23:59:59", "2005-01-01", "2024-03-02T23:59:59", "2024-03-03"],
        dtype="datetime64[us]",
    )
    read_on = pd.Series([pd.Timestamp("2024-03-01")] * 4)
    assert list(excluded_times(wall, read_on)) == [BEFORE_2005, "", "", IN_THE_FUTURE]
