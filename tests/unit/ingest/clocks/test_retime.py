"""Shown times to instants: every rule, and which goes before which."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from hypothesis import given
from hypothesis import strategies as st

from deerlog.ingest.clocks.retime import CorrectedTimes, corrected_times

ZONE = "America/Chicago"


def placed(*rows: tuple[str, str | None, str]) -> pd.DataFrame:
    starts, ends, clocks = zip(*rows, strict=True)
    return pd.DataFrame(
        {
            "camera": ["Seep"] * len(rows),
            "site": [f"site {i}" for i in range(len(rows))],
            "start": np.array(starts, dtype="datetime64[us]"),
            "end": np.array([end or "NaT" for end in ends], dtype="datetime64[us]"),
            "clock": clocks,
        }
    )


LOCAL = placed(("2024-01-01", None, "local"))
FIXED = placed(("2024-01-01", None, "UTC-6"))


def readings(*rows: tuple[str, str, str | None, str | None]) -> pd.DataFrame:
    columns: list[Any] = list(zip(*rows, strict=True)) if rows else [(), (), (), ()]
    names = ("shown", "actual", "valid_from", "valid_to")
    frame = pd.DataFrame(
        {
            name: np.array([v or "NaT" for v in values], dtype="datetime64[us]")
            for name, values in zip(names, columns, strict=True)
        }
    )
    frame.insert(0, "camera", "Seep")
    return frame


def correct(
    *shown: str,
    where: pd.DataFrame = LOCAL,
    rows: pd.DataFrame | None = None,
    offset: float = np.nan,
) -> CorrectedTimes:
    return corrected_times(
        np.array(["Seep"] * len(shown), dtype=object),
        np.array(shown, dtype="datetime64[us]"),
        np.full(len(shown), offset),
        where,
        readings() if rows is None else rows,
        ZONE,
    )


def utc(result: CorrectedTimes) -> list[str]:
    return [str(t)[:19] for t in result.utc]


def test_local_time_with_its_clock_changes() -> None:
    result = correct("2024-07-01 12:00", "2024-12-01 12:00")
    assert utc(result) == ["2024-07-01T17:00:00", "2024-12-01T18:00:00"]


def test_the_doubled_and_the_skipped_hour_are_marked() -> None:
    result = correct("2024-11-03 01:30", "2024-03-10 02:30", "2024-11-03 02:30")
    assert result.fault.tolist() == ["twice", "never", ""]
    assert utc(result)[0] == "2024-11-03T06:30:00"


def test_a_fixed_clock_never_changes_and_doubts_nothing() -> None:
    result = correct("2024-07-01 12:00", "2024-11-03 01:30", where=FIXED)
    assert utc(result) == ["2024-07-01T18:00:00", "2024-11-03T07:30:00"]
    assert result.fault.tolist() == ["", ""]


def test_each_placement_has_its_own_clock() -> None:
    where = placed(("2024-01-01", "2024-06-01", "UTC-6"), ("2024-06-01", None, "local"))
    result = correct("2024-05-01 12:00", "2024-07-01 12:00", "2023-07-01 12:00", where=where)
    assert utc(result) == ["2024-05-01T18:00:00", "2024-07-01T17:00:00", "2023-07-01T18:00:00"]


def test_a_stated_offset_decides_the_doubled_hour() -> None:
    result = correct("2024-11-03 01:30", offset=-360)
    assert utc(result) == ["2024-11-03T07:30:00"]
    assert result.fault.tolist() == [""]


def test_an_offset_of_another_zone_is_marked_and_not_used() -> None:
    result = correct("2024-07-01 12:00", offset=480)
    assert utc(result) == ["2024-07-01T17:00:00"]
    assert result.foreign_offset.tolist() == [True]


def test_the_users_clock_goes_before_a_stated_offset() -> None:
    assert utc(correct("2024-07-01 12:00", where=FIXED, offset=-300)) == ["2024-07-01T18:00:00"]
    rows = readings(("2024-07-01 12:00", "2024-07-01 11:00", None, None))
    result = correct("2024-07-01 12:00", rows=rows, offset=-360)
    assert utc(result) == ["2024-07-01T16:00:00"]
    assert result.by_row.tolist() == [True]
    assert result.foreign_offset.tolist() == [False]


def test_one_row_shifts_everything_it_bounds() -> None:
    rows = readings(("2024-11-10 18:00", "2024-11-10 17:00", "2024-11-03 02:00", "2025-03-09"))
    result = correct("2024-11-02 18:00", "2024-11-03 02:00", "2024-12-24 09:00", rows=rows)
    assert utc(result) == ["2024-11-02T23:00:00", "2024-11-03T06:00:00", "2024-12-24T14:00:00"]
    assert result.by_row.tolist() == [False, True, True]
    assert result.fault.tolist() == ["", "twice", ""]


def test_two_rows_give_a_drift_between_them_and_none_beyond() -> None:
    rows = readings(
        ("2024-06-01 12:00", "2024-06-01 12:00", None, None),
        ("2024-08-01 12:00", "2024-08-01 12:10", None, None),
    )
    middle = np.datetime64("2024-06-01 12:00", "m") + np.timedelta64(61 * 24 * 60 // 2, "m")
    result = correct("2024-05-01 12:00", str(middle), "2024-09-01 12:00", rows=rows)
    shift = result.utc - np.array(
        ["2024-05-01 17:00", str(middle + np.timedelta64(5, "h")), "2024-09-01 17:00"],
        dtype="datetime64[us]",
    )
    assert shift.astype("timedelta64[s]").astype(int).tolist() == [0, 300, 600]


def test_rows_bounded_apart_do_not_mix() -> None:
    rows = readings(
        ("2024-06-01 12:00", "2024-06-01 13:00", None, "2024-07-01"),
        ("2014-01-01 00:10", "2024-08-01 12:10", "2014-01-01", "2015-01-01"),
    )
    result = correct("2024-06-20 12:00", "2014-01-01 06:00", "2024-07-02 12:00", rows=rows)
    assert utc(result) == ["2024-06-20T18:00:00", "2024-08-01T23:00:00", "2024-07-02T17:00:00"]


def test_a_reading_on_a_fixed_clock_is_put_into_that_clocks_time() -> None:
    """In July local time is an hour ahead of UTC-6: showing 11:00 at local noon is right."""
    rows = readings(("2024-07-01 11:00", "2024-07-01 12:00", None, None))
    result = correct("2024-07-01 11:00", "2024-12-01 12:00", where=FIXED, rows=rows)
    assert utc(result) == ["2024-07-01T17:00:00", "2024-12-01T18:00:00"]


def test_times_no_clock_should_show_do_not_raise() -> None:
    result = correct("1970-01-01 00:00", "2100-12-31 23:59:59")
    assert utc(result) == ["1970-01-01T06:00:00", "2101-01-01T05:59:59"]


@given(
    minutes=st.integers(-12 * 60, 12 * 60),
    at=st.datetimes(
        min_value=pd.Timestamp("2024-04-01").to_pydatetime(),
        max_value=pd.Timestamp("2024-10-30").to_pydatetime(),
    ),
)
def test_a_wrong_clock_with_its_row_is_a_right_clock(minutes: int, at: Any) -> None:
    true = np.datetime64(at, "us")
    shown = true + np.timedelta64(minutes, "m")
    rows = readings((str(shown), str(true), None, None))
    assert (correct(str(shown), rows=rows).utc == correct(str(true)).utc).all()


def test_the_order_of_cameras_and_photos_does_not_matter() -> None:
    names = np.array(["B", "Seep", "B", "A", "Seep"], dtype=object)
    shown = np.array([f"2024-07-01 12:0{i}" for i in range(5)], dtype="datetime64[us]")
    result = corrected_times(names, shown, np.full(5, np.nan), FIXED, readings(), ZONE)
    assert utc(result) == [
        "2024-07-01T17:00:00",
        "2024-07-01T18:01:00",
        "2024-07-01T17:02:00",
        "2024-07-01T17:03:00",
        "2024-07-01T18:04:00",
    ]
