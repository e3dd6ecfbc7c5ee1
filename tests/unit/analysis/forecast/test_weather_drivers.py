"""Weather drivers from weather made by hand."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.forecast.weather import LEAST_DAYS, WeatherDrivers, weather_drivers
from deerlog.timekeeping.sun import sun_times

DAYS = pd.date_range("2023-01-01", "2024-12-31", unit="us")
SUN = sun_times(40.3, -92.4, "America/Chicago", date(2023, 1, 1), date(2024, 12, 31))
RNG = np.random.default_rng(8)


def normal(day: pd.DatetimeIndex) -> np.ndarray:
    return 10 - 14 * np.cos(2 * np.pi * (np.asarray(day.day_of_year) - 20) / 365.25)


def hourly(departure: np.ndarray | None = None, days: pd.DatetimeIndex = DAYS) -> pd.DataFrame:
    """Eight readings a day: normal for the day and hour, plus the day's departure."""
    departure = np.zeros(len(days)) if departure is None else departure
    time = days.repeat(8) + pd.to_timedelta(np.tile(np.arange(0, 24, 3), len(days)), unit="h")
    hour = np.asarray(time.hour, dtype=float)
    course = normal(days).repeat(8) - 5 * np.cos(2 * np.pi * (hour - 3) / 24)
    return pd.DataFrame(
        {
            "time": time,
            "temperature_c": course + departure.repeat(8),
            "wind_ms": 3.0 + (hour >= 12) + np.tile([0.0, 1.0], len(time) // 2),
            "pressure_hpa": 1015.0 + np.cumsum(np.where(hour == 0, 1.0, 0.0)) % 7,
        }
    )


def drivers(weather: pd.DataFrame, until: str = "2024-12-31") -> WeatherDrivers:
    return weather_drivers(weather, SUN, DAYS, pd.Timestamp(until))


def test_normal_weather_is_no_departure() -> None:
    departure = RNG.normal(0, 3, len(DAYS))
    got = drivers(hourly(departure))
    in_degrees = got.value[:, :, 0] * got.sd[0]
    # The time of sunrise decides which readings a morning has: a degree or two of its mean.
    for half in (0, 1):
        assert np.corrcoef(in_degrees[:, half], departure)[0, 1] > 0.95
        slope = np.polyfit(departure, in_degrees[:, half], 1)[0]
        assert slope == pytest.approx(1, abs=0.05)
    assert got.value[:, :, 0].std() == pytest.approx(1, abs=0.01)
    for month in range(1, 13):
        assert abs(in_degrees[DAYS.month == month].mean()) < 1.5, "no season is left in it"


def test_pressure_change_is_over_a_day() -> None:
    got = drivers(hourly())
    change = got.value[:, :, 2] * got.sd[2]
    assert np.isnan(change[0]).all()
    # One hPa more each day, and back every seventh.
    np.testing.assert_allclose(change[1:6], 1.0, atol=1e-9)
    np.testing.assert_allclose(np.sort(np.unique(change[1:].round(6))), [-6, 1])


def test_wind_is_from_its_mean_in_that_half() -> None:
    got = drivers(hourly())
    assert np.abs(got.value[:, :, 1].mean(axis=0)).max() < 0.2


def test_gaps_are_gaps() -> None:
    weather = hourly(RNG.normal(0, 3, len(DAYS)))
    day = weather["time"].dt.normalize()
    gone = (day >= "2023-05-01") & (day <= "2023-05-10")
    weather.loc[day == "2023-07-01", "temperature_c"] = np.nan
    got = drivers(weather[~gone].sample(frac=1, random_state=0))
    rows = (pd.Timestamp("2023-05-01") <= DAYS) & (pd.Timestamp("2023-05-10") >= DAYS)
    assert np.isnan(got.value[rows]).all()
    assert np.isnan(got.value[pd.Timestamp("2023-07-01") == DAYS, :, 0]).all()
    assert np.isfinite(got.value[pd.Timestamp("2023-07-01") == DAYS, :, 1]).all()
    assert np.isnan(got.value[pd.Timestamp("2023-05-11") == DAYS, :, 2]).all(), "no day before"


def test_daily_weather_stands_for_both_halves() -> None:
    daily = pd.DataFrame(
        {
            "time": DAYS + pd.Timedelta(hours=12),
            "temperature_c": normal(DAYS) + RNG.normal(0, 4, len(DAYS)),
        }
    )
    got = drivers(daily)
    np.testing.assert_allclose(got.value[:, 0, 0], got.value[:, 1, 0], atol=1e-6)
    assert np.isnan(got.sd[1:]).all() and np.isnan(got.value[:, :, 1:]).all()


def test_a_forecast_is_held_against_what_is_known() -> None:
    """Normals may not learn from days to come."""
    departure = RNG.normal(0, 3, len(DAYS))
    ahead = pd.Timestamp("2024-06-30") < DAYS
    warm = np.where(ahead, departure + 25, departure)
    usual, heat = (drivers(hourly(d), "2024-06-30") for d in (departure, warm))
    np.testing.assert_allclose(usual.value[~ahead, :, 0], heat.value[~ahead, :, 0])
    moved = (heat.value - usual.value)[ahead, :, 0] * usual.sd[0]
    np.testing.assert_allclose(moved, 25)


def test_too_little_to_tell_a_normal() -> None:
    few = DAYS[: LEAST_DAYS - 1]
    got = drivers(hourly(RNG.normal(0, 3, len(few)), few))
    assert np.isnan(got.sd).all() and np.isnan(got.value).all()
    none = drivers(hourly().iloc[:0])
    assert np.isnan(none.value).all()


def test_part_of_a_year_is_enough() -> None:
    """Cameras and weather from June to January only."""
    inside = DAYS[(DAYS.month >= 6) | (DAYS.month == 1)]
    departure = RNG.normal(0, 3, len(inside))
    got = drivers(hourly(departure, inside))
    rows = DAYS.isin(inside)
    assert np.corrcoef(got.value[rows, 1, 0], departure)[0, 1] > 0.9
