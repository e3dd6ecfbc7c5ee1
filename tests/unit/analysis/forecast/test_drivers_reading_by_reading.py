"""Weather drivers reading by reading, and their yearly course as a ridge regression."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.forecast.weather import WeatherDrivers, weather_drivers
from deerlog.timekeeping.sun import sun_times

DAYS = pd.date_range("2024-08-20", "2025-01-10", unit="us")
SUN = sun_times(40.3, -92.4, "America/Chicago", date(2024, 8, 1), date(2025, 1, 31))
UNTIL = pd.Timestamp("2024-12-20")


def readings(every_minutes: int = 50, seed: int = 2) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    n = len(DAYS) * 1440 // every_minutes
    time = DAYS[0] + pd.to_timedelta(np.arange(n) * every_minutes, unit="min")
    day = (time - DAYS[0]) / pd.Timedelta(days=1)
    table = pd.DataFrame(
        {
            "time": time,
            "temperature_c": 25 - 0.2 * day + rng.normal(0, 3, n),
            "wind_ms": rng.gamma(2, 1.5, n),
            "pressure_hpa": 1015 + np.cumsum(rng.normal(0, 0.5, n)),
        }
    )
    table.loc[rng.random(n) < 0.1, "wind_ms"] = np.nan
    table.loc[table["time"].dt.normalize() == "2024-10-05", "temperature_c"] = np.nan
    table.loc[3, "time"] = pd.NaT
    outside = table.iloc[:5].assign(time=DAYS[0] - pd.Timedelta(days=2))
    return pd.concat([table, outside]).sample(frac=1.0, random_state=1)


def half_means(table: pd.DataFrame) -> np.ndarray:
    """Mean of the readings from an hour before sunrise to noon, and on to an hour after sunset."""
    raw = np.full((len(DAYS), 2, 3), np.nan)
    hour = pd.Timedelta(hours=1)
    known = table.dropna(subset=["time"])
    for d, day in enumerate(DAYS):
        sun = {name: SUN.at[day, name].tz_localize(None) for name in SUN}
        here = known[known["time"].dt.normalize() == day]
        bounds = ((sun["sunrise"] - hour, sun["noon"]), (sun["noon"], sun["sunset"] + hour))
        for h, (first, last) in enumerate(bounds):
            inside = (here["time"] >= first) & (here["time"] <= last)
            if h == 0:
                inside &= here["time"] < last
            columns = ["temperature_c", "wind_ms", "pressure_hpa"]
            raw[d, h] = here.loc[inside, columns].mean().to_numpy()
    return raw


def course(temperature: np.ndarray, known: np.ndarray) -> np.ndarray:
    """What is normal: mean, half, and two waves a year, held back by their spreads."""
    year = 2 * np.pi * DAYS.day_of_year.to_numpy() / 365.25

    def row(d: int, h: int) -> list[float]:
        waves = [f(k * year[d]) for k in (1, 2) for f in (np.sin, np.cos)]
        return [1.0, h - 0.5, *waves]

    told = [(d, h) for d in range(len(DAYS)) for h in (0, 1)
            if known[d] and np.isfinite(temperature[d, h])]  # fmt: skip
    design = np.array([row(d, h) for d, h in told]) / 5.0  # days spread by 5 degrees
    wanted = np.array([temperature[d, h] for d, h in told]) / 5.0
    held_back = np.diag(1 / np.array([30, 30, 15, 15, 4, 4]))
    fit, *_ = np.linalg.lstsq(
        np.vstack([design, held_back]), np.concatenate([wanted, np.zeros(6)]), rcond=None
    )
    return np.array([[row(d, h) @ fit for h in (0, 1)] for d in range(len(DAYS))])


@pytest.fixture(scope="module")
def table() -> pd.DataFrame:
    return readings()


def made(table: pd.DataFrame) -> WeatherDrivers:
    return weather_drivers(table, SUN, DAYS, UNTIL)


def test_all_three_drivers(table: pd.DataFrame) -> None:
    raw = half_means(table)
    known = np.asarray(DAYS <= UNTIL)
    wanted = np.full(raw.shape, np.nan)
    wanted[..., 0] = raw[..., 0] - course(raw[..., 0], known)
    for h in (0, 1):
        wanted[:, h, 1] = raw[:, h, 1] - np.nanmean(raw[known, h, 1])
        for d in range(1, len(DAYS)):
            wanted[d, h, 2] = raw[d, h, 2] - raw[d - 1, h, 2]
    sd = np.array([np.nanstd(wanted[known, :, i]) for i in range(3)])
    got = made(table)
    np.testing.assert_allclose(got.sd, sd, rtol=1e-6)
    np.testing.assert_allclose(got.value, wanted / sd, rtol=1e-5, atol=1e-9)
    assert np.isnan(got.value[DAYS == "2024-10-05", :, 0]).all()


def test_the_edges_of_a_half() -> None:
    """Single readings at the ends of a day's halves, on top of hourly weather of no wind at all."""
    sun = {name: SUN.at[DAYS[9], name].tz_localize(None) for name in SUN}
    hour, tick = pd.Timedelta(hours=1), pd.Timedelta(microseconds=1)
    base = readings().dropna(subset=["time"])
    base = base.assign(wind_ms=0.01 * base["time"].dt.day)
    base = base[base["time"].dt.normalize() != DAYS[9]]
    for moment, half in (
        (sun["sunrise"] - hour - tick, None), (sun["sunrise"] - hour, 0), (sun["noon"] - tick, 0),
        (sun["noon"], 1), (sun["sunset"] + hour, 1), (sun["sunset"] + hour + tick, None),
    ):  # fmt: skip
        one = pd.DataFrame({"time": [moment], "temperature_c": [5.0], "wind_ms": [30.0],
                            "pressure_hpa": [1000.0]})  # fmt: skip
        got = made(pd.concat([base, one])).value[9, :, 1]
        assert [bool(np.isfinite(v)) for v in got] == [half == 0, half == 1]


@pytest.mark.parametrize(("n_days", "told"), [(30, True), (29, False)])
def test_thirty_days_are_enough_to_tell_a_normal(n_days: int, told: bool) -> None:
    some = readings().dropna(subset=["time"])
    some = some[some["time"].dt.normalize().isin(DAYS[:n_days])].dropna()
    some = some[some["time"].dt.normalize() >= DAYS[0]]
    got = made(some)
    assert np.isfinite(got.value[:n_days, :, :2]).any() == told
    assert np.isfinite(got.sd[:2]).all() == told
    still = made(some.assign(wind_ms=2.0))
    assert np.isnan(still.sd[1]), "what never changes has no spread to be measured in"


def test_one_reading_a_day_stands_for_both_halves() -> None:
    """At midnight, outside of any light; a day with two readings has their mean."""
    rng = np.random.default_rng(5)
    daily = pd.DataFrame({"time": DAYS, "wind_ms": rng.gamma(2, 1.5, len(DAYS))})
    twice = pd.concat([daily, daily.iloc[:3].assign(wind_ms=daily["wind_ms"] + 1)])
    got = made(twice)
    wind = daily["wind_ms"].to_numpy().copy()
    wind[:3] += 0.5
    known = np.asarray(DAYS <= UNTIL)
    wanted = (wind - wind[known].mean()) / wind[known].std()
    np.testing.assert_allclose(got.value[:, 0, 1], wanted)
    np.testing.assert_allclose(got.value[:, 1, 1], wanted)
    assert np.isnan(got.sd[[0, 2]]).all()
