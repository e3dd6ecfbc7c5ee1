"""Rows of clock.csv moment by moment: which applies, and which stand before a new one."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from deerlog.ingest.clocks.clock_row import clock_row, minute_text, rows_before, run_bounds
from deerlog.ingest.clocks.excluded_times import BEFORE_2005, IN_THE_FUTURE, excluded_times
from deerlog.ingest.clocks.retime import clock_shift, corrected_times

HOUR = np.timedelta64(3600, "s")
FIRST = np.datetime64("2024-07-01T00:00", "us")
NOT_PLACED = pd.DataFrame({"camera": [], "start": [], "end": [], "clock": []})


def at(hour: float | None) -> np.datetime64:
    """Some hours after the first of July; None for no bound."""
    return (
        np.datetime64("NaT", "us") if hour is None else FIRST + np.timedelta64(int(60 * hour), "m")
    )


def readings(rows: list[tuple[int, int, int | None, int | None]]) -> pd.DataFrame:
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


BOUNDS = st.one_of(
    st.sampled_from([(None, None), (None, 6), (4, None)]),
    st.tuples(st.integers(0, 5), st.integers(6, 12)),
    st.tuples(st.integers(2, 4), st.integers(5, 8)),
)
ROWS = st.lists(
    st.tuples(st.integers(0, 12), st.sampled_from([-60, 0, 30, 90]), BOUNDS).map(
        lambda row: (*row[:2], *row[2])
    ),
    min_size=1,
    max_size=5,
    unique_by=lambda row: (row[0], row[2:]),
)


def wanted_minutes(hour: int, rows: list[tuple[int, int, int | None, int | None]]) -> float | None:
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


@settings(max_examples=25)
@given(ROWS)
def test_of_rows_that_apply_the_narrowest_count_and_drift_between_readings(rows: list[Any]) -> None:
    # Two rows of one width but other bounds have no order: leave such tables aside.
    widths = {(row[2], row[3]) for row in rows if None not in row[2:]}
    if len({after - first for first, after in widths}) < len(widths):
        return
    if (None, 6) in {row[2:] for row in rows} and (4, None) in {row[2:] for row in rows}:
        return
    hours = list(range(-1, 14))
    shown = np.array([at(hour) for hour in hours])
    shift, applies = clock_shift(shown, readings(rows), NOT_PLACED, "America/Chicago")
    wanted = [wanted_minutes(hour, rows) for hour in hours]
    assert applies.tolist() == [minutes is not None for minutes in wanted]
    got = shift / np.timedelta64(60_000_000, "us")
    np.testing.assert_allclose(got, [minutes or 0.0 for minutes in wanted], atol=1e-6)


@settings(max_examples=25)
@given(ROWS, BOUNDS)
def test_a_row_stands_before_a_new_one_where_it_rules_a_moment_of_it(
    rows: list[Any], new: tuple[int | None, int | None]
) -> None:
    def bounds(first: int | None, after: int | None) -> tuple[float, float]:
        return (-2e7 if first is None else first, 7e7 if after is None else after)  # by calendar

    low, high = bounds(*new)
    before = []
    for line, row in enumerate(rows, start=2):
        first, after = bounds(*row[2:])
        moments = np.arange(-3, 16) + 0.5
        both = ((moments >= first) & (moments < after) & (moments >= low) & (moments < high)).any()
        if both and after - first <= high - low:
            before.append(line)
    assert rows_before(readings(rows), "Seep", at(new[0]), at(new[1])) == tuple(before)
    assert rows_before(readings(rows), "Gate", at(new[0]), at(new[1])) == ()


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
    photos["same_as"] = pd.Series(pd.NA, index=photos.index, dtype="Int64").mask(photos["copy"], 0)
    rows = readings([(4, 0, None, None), (4, 0, 4, 6), (4, 0, 8, 9)])
    found = run_bounds(photos.iloc[:3], photos, rows)
    assert (found.shown, found.opens, found.closes) == (at(5), at(3), at(7) + second)
    assert found.n_others == 2
    assert found.instead_of == (3,)


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
    ("zone", "year", "minutes", "used"),
    [
        # Turkey kept summer time all year from 2016 on (IANA, Europe/Istanbul).
        ("Europe/Istanbul", 2015, 120, True),
        ("Europe/Istanbul", 2015, 180, True),
        ("Europe/Istanbul", 2018, 120, False),
        ("Europe/Istanbul", 2018, 180, True),
        ("Asia/Kolkata", 2024, 330, True),
        ("Asia/Kolkata", 2024, 300, False),
    ],
)
def test_a_stated_offset_counts_in_a_year_in_which_the_zone_uses_it(
    zone: str, year: int, minutes: int, used: bool
) -> None:
    shown = np.array([f"{year}-06-10T12:00"], dtype="datetime64[us]")
    camera = np.array(["Seep"], dtype=object)
    got = corrected_times(camera, shown, np.array([float(minutes)]), NOT_PLACED, readings([]), zone)
    assert got.foreign_offset.tolist() == [not used]
    if used:
        assert got.utc[0] == shown[0] - np.timedelta64(minutes, "m")


def test_times_before_2005_and_two_days_after_they_were_read_cannot_be() -> None:
    wall = np.array(
        ["2004-12-31T23:59:59", "2005-01-01", "2024-03-02T23:59:59", "2024-03-03"],
        dtype="datetime64[us]",
    )
    read_on = pd.Series([pd.Timestamp("2024-03-01")] * 4)
    assert list(excluded_times(wall, read_on)) == [BEFORE_2005, "", "", IN_THE_FUTURE]
