"""The table of sunrises where the usual assumptions break."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd

from deerlog.timekeeping.sun import sun_height, sun_times


def test_shape_and_types_of_the_table() -> None:
    table = sun_times(40.0, -90.0, "America/Chicago", date(2024, 11, 1), date(2024, 11, 5))
    assert list(table.columns) == ["sunrise", "noon", "sunset"]
    assert table.index.name == "day"
    assert list(table.index) == list(pd.date_range("2024-11-01", "2024-11-05"))
    assert (table.dtypes == "datetime64[us, America/Chicago]").all()
    for name in table:
        assert list(table[name].dt.tz_localize(None).dt.normalize()) == list(table.index)


def test_no_days() -> None:
    table = sun_times(40.0, -90.0, "America/Chicago", date(2024, 11, 2), date(2024, 11, 1))
    assert table.empty
    assert (table.dtypes == "datetime64[us, America/Chicago]").all()


def test_a_sunset_after_midnight_ends_the_day_before() -> None:
    """In the far north the clock runs so far ahead of the sun that summer sunsets pass midnight."""
    table = sun_times(64.8, -147.7, "America/Anchorage", date(2024, 1, 1), date(2024, 12, 31))
    assert table.notna().all(axis=None)
    assert (table["sunrise"] < table["noon"]).all()
    assert (table["noon"] < table["sunset"]).all()
    # No evening is lost where sunset moves over midnight: it moves by minutes from day to day.
    steps = table["sunset"].diff().dropna() - pd.Timedelta(days=1)
    assert steps.abs().max() < pd.Timedelta(minutes=10)
    late = table["sunset"].dt.tz_localize(None) >= table.index.to_series() + pd.Timedelta(days=1)
    assert 30 < late.sum() < 60


def test_polar_night_and_midnight_sun_have_no_sunrise() -> None:
    table = sun_times(71.3, -156.8, "America/Anchorage", date(2024, 1, 1), date(2024, 12, 31))
    assert table.loc["2024-12-21", ["sunrise", "sunset"]].isna().all()
    assert table.loc["2024-06-21", ["sunrise", "sunset"]].isna().all()
    assert table["noon"].notna().all()
    assert table.loc["2024-03-20"].notna().all()


def test_a_zone_a_day_ahead_of_its_longitude() -> None:
    table = sun_times(1.9, -157.4, "Pacific/Kiritimati", date(2024, 5, 1), date(2024, 5, 3))
    for name in table:
        assert list(table[name].dt.tz_localize(None).dt.normalize()) == list(table.index)


def test_height_is_highest_at_noon_and_level_near_sunset() -> None:
    table = sun_times(40.0, -90.0, "America/Chicago", date(2024, 6, 1), date(2025, 5, 31))
    noon = np.asarray(table["noon"].dt.tz_convert("UTC").dt.tz_localize(None))
    minutes = np.array([-10, 0, 10], dtype="timedelta64[m]")
    height = sun_height(40.0, -90.0, noon[:, None] + minutes)
    assert height.shape == (365, 3)
    assert (height[:, 1] > height[:, 0]).all()
    assert (height[:, 1] > height[:, 2]).all()
    sunset = sun_height(40.0, -90.0, pd.DatetimeIndex(table["sunset"]))
    # Centre 50 minutes of arc below the horizon; a tenth of a degree is half a minute.
    assert np.abs(sunset + 50 / 60).max() < 0.1
