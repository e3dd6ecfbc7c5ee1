"""Wall-clock readings around the nights the clocks change."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from deerlog.timekeeping.zones import localize

ZONES = [
    "America/New_York",
    "America/Chicago",
    "America/Denver",
    "America/Los_Angeles",
    "America/Phoenix",
    "Australia/Lord_Howe",
]


def one(shown: str, zone: str) -> tuple[str, str]:
    utc, fault = localize(pd.DatetimeIndex([shown]), zone)
    return utc[0].strftime("%Y-%m-%d %H:%M"), str(fault[0])


@pytest.mark.parametrize(
    ("zone", "hours"),
    [
        ("America/New_York", 4),
        ("America/Chicago", 5),
        ("America/Denver", 6),
        ("America/Los_Angeles", 7),
    ],
)
def test_doubled_hour_is_marked_and_read_as_the_first(zone: str, hours: int) -> None:
    # 3 November 2024: 01:00 to 01:59 happens twice.
    assert one("2024-11-03 00:59", zone) == (f"2024-11-03 {hours:02d}:59", "")
    assert one("2024-11-03 01:00", zone) == (f"2024-11-03 {hours + 1:02d}:00", "twice")
    assert one("2024-11-03 01:59", zone) == (f"2024-11-03 {hours + 1:02d}:59", "twice")
    assert one("2024-11-03 02:00", zone) == (f"2024-11-03 {hours + 3:02d}:00", "")


@pytest.mark.parametrize(
    ("zone", "hours"), [("America/New_York", 5), ("America/Chicago", 6), ("America/Denver", 7)]
)
def test_skipped_hour_is_marked_and_moved_forward(zone: str, hours: int) -> None:
    # 10 March 2024: 02:00 to 02:59 never happens.
    assert one("2024-03-10 01:59", zone) == (f"2024-03-10 {hours + 1:02d}:59", "")
    assert one("2024-03-10 02:00", zone) == (f"2024-03-10 {hours + 2:02d}:00", "never")
    assert one("2024-03-10 02:30", zone) == (f"2024-03-10 {hours + 2:02d}:30", "never")
    assert one("2024-03-10 03:00", zone) == (f"2024-03-10 {hours + 2:02d}:00", "")


def test_arizona_has_neither() -> None:
    for day in ("2024-11-03", "2024-03-10"):
        shown = pd.date_range(f"{day} 00:00", f"{day} 05:00", freq="10min")
        utc, fault = localize(shown, "America/Phoenix")
        assert not fault.astype(bool).any()
        assert (utc.tz_localize(None) == shown + pd.Timedelta(hours=7)).all()


def test_a_skip_of_half_an_hour_moves_by_half_an_hour() -> None:
    utc, fault = localize(pd.DatetimeIndex(["2024-10-06 02:10"]), "Australia/Lord_Howe")
    assert fault[0] == "never"
    assert str(utc[0].tz_convert("Australia/Lord_Howe")) == "2024-10-06 02:40:00+11:00"


def test_a_skipped_day_is_no_crash() -> None:
    # Samoa crossed the date line: 30 December 2011 never happened there.
    utc, fault = localize(pd.DatetimeIndex(["2011-12-30 12:10"]), "Pacific/Apia")
    assert fault[0] == "never"
    assert str(utc[0].tz_convert("Pacific/Apia")) == "2011-12-31 12:10:00+14:00"


def test_missing_readings_stay_missing_and_order_is_kept() -> None:
    shown = pd.Series(pd.DatetimeIndex(["2024-11-03 01:30", None, "2024-03-10 02:30"]))
    utc, fault = localize(shown, "America/Chicago")
    assert list(fault) == ["twice", "", "never"]
    assert list(utc.isna()) == [False, True, False]
    assert utc.dtype == "datetime64[us, UTC]"


def test_no_readings() -> None:
    utc, fault = localize(np.array([], dtype="datetime64[us]"), "America/Chicago")
    assert len(utc) == len(fault) == 0


readings = st.datetimes(min_value=datetime(2006, 1, 1), max_value=datetime(2035, 1, 1))  # noqa: DTZ001


@given(shown=st.lists(readings, max_size=20), zone=st.sampled_from(ZONES))
def test_readings_come_back_unless_they_never_happened(shown: list[datetime], zone: str) -> None:
    utc, fault = localize(np.array(shown, dtype="datetime64[us]"), zone)
    back = utc.tz_convert(zone).tz_localize(None)
    for reading, instant, local, doubt in zip(shown, utc, back, fault, strict=True):
        # Python's own reading of the earlier of two (PEP 495).
        aware = reading.replace(tzinfo=ZoneInfo(zone))
        assert instant == aware.astimezone(UTC)
        assert (local.to_pydatetime() == reading) == (doubt != "never")
        later = aware.replace(fold=1).astimezone(UTC)
        assert (later > instant) == (doubt == "twice")
