"""From when to when a sit lasts."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from deerlog.analysis.plan.half_days import sit_times
from deerlog.timekeeping.sun import sun_times

ZONE = "America/Chicago"


def times(first: date, last: date, *, latitude: float = 40.3, **changes: float) -> pd.DataFrame:
    sun = sun_times(latitude, -92.4, ZONE, first, last)
    chosen = {
        "light_before_sunrise_minutes": 30.0,
        "light_after_sunset_minutes": 30.0,
        "sit_hours": 4.0,
    } | changes
    return sit_times(sun, sun.index, **chosen)


def test_mornings_begin_and_evenings_end_with_the_light() -> None:
    first = date(2025, 11, 8)
    sun = sun_times(40.3, -92.4, ZONE, first, first).iloc[0]
    morning, evening = times(first, first).to_dict("records")
    assert (morning["half"], evening["half"]) == ("AM", "PM")
    light = sun["sunrise"] - pd.Timedelta(minutes=30), sun["sunset"] + pd.Timedelta(minutes=30)
    minute = pd.Timedelta(minutes=1)
    assert light[0] <= morning["starts"] < light[0] + minute
    assert light[1] - minute < evening["ends"] <= light[1]
    assert morning["starts"].second == evening["ends"].second == 0
    assert morning["ends"] - morning["starts"] == pd.Timedelta(hours=4)
    assert evening["ends"] - evening["starts"] == pd.Timedelta(hours=4)


def test_no_sit_crosses_noon() -> None:
    day = date(2025, 12, 21)
    noon = sun_times(40.3, -92.4, ZONE, day, day)["noon"].iloc[0]
    morning, evening = times(day, day, sit_hours=8.0).to_dict("records")
    assert morning["ends"] == noon.floor("min") == evening["starts"]


def test_the_night_the_clocks_go_back_moves_the_wall_clock_by_an_hour() -> None:
    table = times(date(2025, 11, 1), date(2025, 11, 2))
    before, after = table.loc[table["half"] == "AM", "starts"]
    wall = (after.tz_localize(None) - before.tz_localize(None)) / pd.Timedelta(minutes=1)
    assert wall == pytest.approx(24 * 60 - 59, abs=1.5)


def test_where_the_sun_does_not_rise_there_is_no_sit() -> None:
    table = times(date(2025, 12, 21), date(2025, 12, 21), latitude=75.0)
    assert table[["starts", "ends"]].isna().all(axis=None)
    assert list(table["half"]) == ["AM", "PM"]
