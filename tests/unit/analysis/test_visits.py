"""Visits and the light they fell in."""

from __future__ import annotations

from datetime import date
from typing import Any

import pandas as pd
import pytest

from deerlog.analysis.visits import buck_visits
from deerlog.timekeeping.seasons import SeasonCalendar
from deerlog.timekeeping.sun import sun_times

ZONE = "America/Chicago"
PLACE = (40.0, -90.5)
MICROSECOND = pd.Timedelta(microseconds=1)


@pytest.fixture(scope="module")
def sun() -> pd.DataFrame:
    return sun_times(*PLACE, ZONE, date(2024, 6, 1), date(2025, 5, 31))


def sightings(*local: pd.Timestamp | str, buck: str = "Forkhorn") -> pd.DataFrame:
    stamps = [pd.Timestamp(t) for t in local]
    aware = [t.tz_localize(ZONE) if t.tz is None else t.tz_convert(ZONE) for t in stamps]
    at = pd.DatetimeIndex(aware, dtype=f"datetime64[us, {ZONE}]")
    return pd.DataFrame({"buck": buck, "site": "Alder", "local": at, "photos": range(len(at))})


def judged(sun: pd.DataFrame, *local: pd.Timestamp | str, **light: Any) -> pd.DataFrame:
    return buck_visits(sightings(*local), sun, SeasonCalendar(), **light)


def test_both_edges_of_shooting_light_count(sun: pd.DataFrame) -> None:
    opens = sun.loc["2024-11-20", "sunrise"] - pd.Timedelta(minutes=30)
    closes = sun.loc["2024-11-20", "sunset"] + pd.Timedelta(minutes=30)
    got = judged(sun, opens - MICROSECOND, opens, closes, closes + MICROSECOND)
    assert list(got["in_light"]) == [False, True, True, False]
    assert list(got["half"]) == ["AM", "AM", "PM", "PM"]


@pytest.mark.parametrize(("before", "after"), [(30, 0), (0, 30), (0, 0), (60, 15)])
def test_light_by_the_users_own_minutes(sun: pd.DataFrame, before: int, after: int) -> None:
    opens = sun.loc["2024-10-05", "sunrise"] - pd.Timedelta(minutes=before)
    closes = sun.loc["2024-10-05", "sunset"] + pd.Timedelta(minutes=after)
    light = {"light_before_sunrise_minutes": before, "light_after_sunset_minutes": after}
    got = judged(sun, opens - MICROSECOND, opens, closes, closes + MICROSECOND, **light)
    assert list(got["in_light"]) == [False, True, True, False]


def test_halves_part_at_solar_noon_not_at_twelve(sun: pd.DataFrame) -> None:
    noon = sun.loc["2024-07-04", "noon"]
    assert noon.hour == 13  # summer time, west of the zone's middle
    got = judged(sun, "2024-07-04 12:30", noon - MICROSECOND, noon)
    assert list(got["half"]) == ["AM", "AM", "PM"]


def test_an_hour_wrong_at_dusk_moves_a_visit_into_the_light(sun: pd.DataFrame) -> None:
    """A clock left on summer time after the change, once put right, or not (derived)."""
    true = sun.loc["2024-11-10", "sunset"] + pd.Timedelta(minutes=45)
    got = judged(sun, true - pd.Timedelta(hours=1), true)
    assert list(got["in_light"]) == [True, False]


def test_the_hour_that_happens_twice_is_told_apart(sun: pd.DataFrame) -> None:
    first = pd.Timestamp("2024-11-03 06:30", tz="UTC")  # 01:30 summer time
    second = pd.Timestamp("2024-11-03 07:30", tz="UTC")  # 01:30 again
    got = judged(sun, second, first)
    assert list(got["local"].dt.tz_convert("UTC")) == [first, second]
    assert list(got["day"]) == [pd.Timestamp("2024-11-03")] * 2


@pytest.mark.parametrize("day", ["2024-11-03", "2025-03-09"])
def test_light_on_the_days_the_clocks_change(sun: pd.DataFrame, day: str) -> None:
    opens = sun.loc[day, "sunrise"] - pd.Timedelta(minutes=30)
    closes = sun.loc[day, "sunset"] + pd.Timedelta(minutes=30)
    got = judged(sun, opens - MICROSECOND, opens, closes, closes + MICROSECOND)
    assert list(got["in_light"]) == [False, True, True, False]
    assert set(got["day"]) == {pd.Timestamp(day)}


def test_day_season_and_phase_are_the_local_ones(sun: pd.DataFrame) -> None:
    # 20:00 local on 31 October is 1 November in UTC.
    got = judged(sun, "2024-10-31 20:00", "2024-06-01 00:00")
    assert list(got["day"]) == [pd.Timestamp("2024-06-01"), pd.Timestamp("2024-10-31")]
    assert list(got["season"]) == [2024, 2024]
    assert list(got["phase"]) == ["summer", "pre-rut"]


def test_light_past_midnight_belongs_to_the_day_before() -> None:
    north = sun_times(64.8, -147.7, "America/Anchorage", date(2024, 6, 1), date(2024, 6, 30))
    sunset = north.loc["2024-06-10", "sunset"]
    assert sunset.date() == date(2024, 6, 11)
    table = sightings(sunset, sunset + pd.Timedelta(minutes=31))
    table["local"] = table["local"].dt.tz_convert("America/Anchorage")
    got = buck_visits(table, north, SeasonCalendar())
    assert list(got["in_light"]) == [True, False]


def test_no_sunrise_no_light() -> None:
    night = sun_times(71.3, -156.8, "America/Anchorage", date(2024, 12, 1), date(2024, 12, 31))
    table = sightings("2024-12-21 14:00")
    table["local"] = table["local"].dt.tz_convert("America/Anchorage")
    assert not buck_visits(table, night, SeasonCalendar())["in_light"].any()


def test_order_and_other_columns_are_kept(sun: pd.DataFrame) -> None:
    table = pd.concat(
        [sightings("2024-11-02 07:00", buck="Tall"), sightings("2024-11-05 07:00", buck="Crab")]
    )
    table["camera"] = ["x", "y"]
    got = buck_visits(table, sun, SeasonCalendar())
    assert list(got["buck"]) == ["Crab", "Tall"]
    assert list(got["camera"]) == ["y", "x"]
    assert list(got.index) == [0, 1]


def test_a_day_without_sun_is_said(sun: pd.DataFrame) -> None:
    with pytest.raises(ValueError, match="no sun for 2025-06-02"):
        judged(sun, "2025-06-02 06:00")


def test_no_sightings(sun: pd.DataFrame) -> None:
    got = buck_visits(sightings().astype({"buck": "str"}), sun, SeasonCalendar())
    assert got.empty
    assert {"day", "season", "phase", "half", "in_light"} <= set(got.columns)
    assert got["in_light"].dtype == bool
