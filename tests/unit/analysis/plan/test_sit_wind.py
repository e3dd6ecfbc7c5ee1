"""The wind during a sit."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.plan.half_days import SitWind, mean_direction, sit_times, sit_winds
from deerlog.timekeeping.sun import sun_times

N, NE, E, S, NW, NNW = 0.0, 45.0, 90.0, 180.0, 315.0, 337.5
DAY = date(2025, 11, 8)


@pytest.fixture(scope="module")
def times() -> pd.DataFrame:
    """First light 06:13, last light 17:26 on the wall clock."""
    sun = sun_times(40.3, -92.4, "America/Chicago", DAY, DAY)
    return sit_times(
        sun, sun.index, light_before_sunrise_minutes=30, light_after_sunset_minutes=30, sit_hours=4
    )


def weather(rows: list[tuple[str, float, float]]) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "time": pd.to_datetime([f"{DAY} {at}" for at, _, _ in rows]),
            "wind_from_deg": [degrees for _, degrees, _ in rows],
            "wind_ms": [speed for _, _, speed in rows],
            "temperature_c": [0.0] * len(rows),
        }
    )


@pytest.mark.parametrize(
    ("degrees", "wanted", "suits"),
    [
        ([NNW], (N, NW), True),
        ([NE], (N, NW), False),
        ([22.5], (N,), True),
        ([22.6], (N,), False),
        ([350.0], (10.0,), True),
        ([N, N, N, S], (N,), True),
        ([N, N, S], (N,), False),
        ([S], (), True),
        ([], (N,), None),
        ([], (), True),
    ],
)
def test_what_suits(degrees: list[float], wanted: tuple[float, ...], suits: bool | None) -> None:
    assert SitWind(np.array(degrees)).suits(wanted) is suits


def test_mean_direction_goes_round_north() -> None:
    assert mean_direction(np.array([350.0, 20.0])) == pytest.approx(5.0)
    assert math.isnan(mean_direction(np.empty(0)))


def test_the_wrong_part_is_told_from_the_right_one() -> None:
    wind = SitWind(np.array([E, E, S, S]))
    assert wind.suits((NE, E)) is False
    assert list(wind.wrong((NE, E))) == [S, S]
    assert not len(wind.wrong(()))


def test_each_sit_has_its_own_hours(times: pd.DataFrame) -> None:
    hourly = weather([(f"{h:02d}:00", N if h < 12 else S, 3.0) for h in range(24)])
    morning, evening = sit_winds(hourly, times)
    assert set(morning.degrees) == {N} and set(evening.degrees) == {S}


def test_three_hours_between_rows_still_reach_every_sit(times: pd.DataFrame) -> None:
    rows = weather([(f"{h:02d}:00", float(h), 3.0) for h in range(0, 24, 3)])
    morning, evening = sit_winds(rows, times)
    assert list(morning.degrees) == [6.0, 9.0]
    assert list(evening.degrees) == [12.0, 15.0, 18.0]


def test_a_row_for_the_day_holds_all_day(times: pd.DataFrame) -> None:
    morning, evening = sit_winds(weather([("12:00", E, 3.0)]), times)
    assert list(morning.degrees) == list(evening.degrees) == [E]


def test_still_air_and_rows_without_direction_say_nothing(times: pd.DataFrame) -> None:
    rows = weather([("06:00", N, 0.4), ("07:00", math.nan, 3.0), ("12:00", S, 5.0)])
    morning, _ = sit_winds(rows, times)
    assert not len(morning.degrees)
    # Without a speed the direction stands.
    morning, _ = sit_winds(weather([("07:00", N, math.nan), ("16:00", S, 2.0)]), times)
    assert list(morning.degrees) == [N]


def test_another_day_is_not_known(times: pd.DataFrame) -> None:
    rows = weather([("07:00", N, 3.0), ("08:00", N, 3.0)])
    rows["time"] += pd.Timedelta(days=1)
    assert [len(w.degrees) for w in sit_winds(rows, times)] == [0, 0]


def test_the_cooler_and_calmer_half_has_less_unrest(times: pd.DataFrame) -> None:
    """Ten degrees Fahrenheit weigh as ten miles an hour; what is not known weighs nothing."""
    table = weather([("07:00", N, 4.4704), ("09:00", N, 4.4704), ("16:00", N, 0.0)])
    morning, evening = sit_winds(table, times)
    assert (morning.unrest, evening.unrest) == pytest.approx((1.0, 0.0))
    warmer = sit_winds(table.assign(temperature_c=[50 / 9, 50 / 9, 0.0]), times)
    assert warmer[0].unrest == pytest.approx(2.0)
    unknown = sit_winds(table.assign(temperature_c=[math.nan, math.nan, 0.0]), times)
    assert math.isnan(unknown[0].unrest) and unknown[1].unrest == 0.0


def test_the_last_hour_of_an_hourly_forecast_does_not_hold_for_its_day(
    times: pd.DataFrame,
) -> None:
    """Hourly up to midnight: the lone row of the new day is an hour from the one before it."""
    hours = pd.date_range(f"{DAY - pd.Timedelta(days=1)} 13:00", f"{DAY} 00:00", freq="h")
    hourly = pd.DataFrame({"time": hours, "wind_from_deg": N, "wind_ms": 4.0, "temperature_c": 1.0})
    assert [len(wind.degrees) for wind in sit_winds(hourly, times)] == [0, 0]
    by_the_day = hourly.iloc[[0, -1]].assign(time=pd.to_datetime([f"{DAY} 12:00", f"{DAY} 23:00"]))
    assert [len(wind.degrees) for wind in sit_winds(by_the_day.iloc[:1], times)] == [1, 1]
    assert sit_winds(by_the_day.iloc[:0], times)[0].degrees.size == 0
