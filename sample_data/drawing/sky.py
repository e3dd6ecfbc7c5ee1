"""The sun over the farm (by deerlog's own timekeeping) and its invented weather."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from deerlog.timekeeping.sun import sun_times
from drawing.ground import FIRST_DAY, LAST_DAY, LATITUDE, LONGITUDE, ZONE

HOUR = np.timedelta64(3600, "s")
COMPASS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
STEP_HOURS = 3


@dataclass(frozen=True)
class Sun:
    """Sunrise, noon and sunset of each day as UTC ``datetime64[s]``."""

    times: dict[date, tuple[np.datetime64, np.datetime64, np.datetime64]]

    def at(self, day: date) -> tuple[np.datetime64, np.datetime64, np.datetime64]:
        """Sunrise, noon and sunset of a day."""
        return self.times[day]


def farm_sun() -> Sun:
    """The sun at the farm over all the days drawn, a day to spare at each end."""
    spare = timedelta(days=2)
    table = sun_times(LATITUDE, LONGITUDE, ZONE, FIRST_DAY - spare, LAST_DAY + spare)
    columns = [
        np.asarray(table[c].dt.tz_convert("UTC").dt.tz_localize(None), dtype="datetime64[s]")
        for c in ("sunrise", "noon", "sunset")
    ]
    days = [stamp.date() for stamp in table.index]
    return Sun({day: (columns[0][i], columns[1][i], columns[2][i]) for i, day in enumerate(days)})


@dataclass(frozen=True)
class Weather:
    """Three-hourly weather, local wall-clock, and each day's departure from its normal (F)."""

    time: npt.NDArray[np.datetime64]
    temperature_f: npt.NDArray[np.float64]
    wind_mph: npt.NDArray[np.float64]
    wind_from: list[str]
    pressure_inhg: npt.NDArray[np.float64]
    departure_f: dict[date, float]

    def wind_at(self, day: date, hour: int) -> str:
        """The direction the wind blows from at a local hour of a day."""
        moment = np.datetime64(day, "s") + (hour - hour % STEP_HOURS) * HOUR
        return self.wind_from[int(np.searchsorted(self.time, moment))]


def farm_weather(rng: np.random.Generator) -> Weather:
    """Weather with a yearly and daily round and fronts passing every four to seven days.

    A front: falling pressure on warm wind from the south, then rising pressure on cold wind from
    the northwest. All of it invented; none of it is a record of any place.
    """
    first = np.datetime64(FIRST_DAY, "s")
    n = ((LAST_DAY - FIRST_DAY).days + 1) * 24 // STEP_HOURS
    time = first + np.arange(n) * STEP_HOURS * HOUR
    day_number = np.arange(n) * STEP_HOURS / 24.0
    day_of_year = (day_number + (FIRST_DAY - date(2024, 1, 1)).days) % 365.25
    hour = (np.arange(n) * STEP_HOURS) % 24

    normal = 52.0 - 26.0 * np.cos(2 * np.pi * (day_of_year - 20) / 365.25)
    daily = 9.5 * np.sin(2 * np.pi * (hour - 9) / 24)

    pace = np.repeat(rng.uniform(4.0, 7.0, n // 40 + 1), 40)[:n]
    phase = np.cumsum(2 * np.pi * STEP_HOURS / 24.0 / pace)
    strength = np.clip(_wander(rng, n, 0.985, 0.35) + 1.0, 0.2, 1.9)
    strength *= 0.75 + 0.35 * np.cos(2 * np.pi * (day_of_year - 20) / 365.25)
    departure = 8.5 * strength * np.cos(phase - 0.8 * np.pi) + _wander(rng, n, 0.96, 3.5)
    pressure = 30.02 + 0.24 * strength * np.cos(phase) + _wander(rng, n, 0.9, 0.04)
    wind = 4.0 + 4.5 * strength * np.abs(np.sin(phase)) + 2.0 * np.sin(2 * np.pi * (hour - 9) / 24)
    wind = np.clip(wind + rng.normal(0, 1.8, n), 0, None)
    angle = 45.0 + np.degrees(phase) + rng.normal(0, 25.0, n)
    point = np.round(angle / 45.0).astype(int) % 8

    temperature = normal + daily + departure
    days = [FIRST_DAY + timedelta(days=i) for i in range(n * STEP_HOURS // 24)]
    mean = departure.reshape(-1, 24 // STEP_HOURS).mean(axis=1)
    return Weather(
        time=time,
        temperature_f=np.round(temperature),
        wind_mph=np.round(wind),
        wind_from=[COMPASS[p] for p in point],
        pressure_inhg=np.round(pressure, 2),
        departure_f=dict(zip(days, mean.tolist(), strict=True)),
    )


def _wander(
    rng: np.random.Generator, n: int, keep: float, spread: float
) -> npt.NDArray[np.float64]:
    """An order-one autoregressive walk with a standard deviation of ``spread``."""
    kick = rng.normal(0, spread * np.sqrt(1 - keep**2), n)
    out = np.empty(n)
    level = rng.normal(0, spread)
    for i in range(n):
        level = keep * level + kick[i]
        out[i] = level
    return out
