"""Weather on the simulated property, and what it does to bucks in shooting light.

No claim about real deer: published evidence is weak and mixed (Webb et al. 2010, International
Journal of Ecology 459610). A simulated effect is there to be found, or its absence to be admitted.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.signal import lfilter

EFFECTS: dict[str, dict[str, float]] = {
    "none": {},
    "weak": {"temperature": -0.12, "wind": -0.06},
    "strong": {"temperature": -0.40, "wind": -0.25, "pressure_change": 0.15},
}
"""Change in the log rate of passings in shooting light per SD of each driver."""

DRIVERS = ("temperature", "wind", "pressure_change")

HALF_HOURS = (8, 16)
"""Local hour at which a half-day's weather is written down: morning, then afternoon."""


def draw_weather(rng: np.random.Generator, days: pd.DatetimeIndex) -> pd.DataFrame:
    """Weather of two instants a day: ``time`` (naive local), ``temperature_c``, ``wind_ms``,
    ``wind_from`` (degrees), ``pressure_hpa``.

    Fronts pass every few days: temperature departure and pressure are autocorrelated and oppose
    each other.
    """
    n = 2 * len(days)
    time = np.asarray(days, dtype="datetime64[us]").repeat(2)
    hours = np.tile(np.array(HALF_HOURS), len(days))
    time = time + hours.astype("timedelta64[h]")
    front = _autocorrelated(rng, n, 0.85)
    pressure = 1016 - 5 * front + 3 * _autocorrelated(rng, n, 0.8)
    day_of_year = np.asarray(days.day_of_year, dtype=float).repeat(2)
    normal = 11 + 14 * np.sin(2 * np.pi * (day_of_year - 110) / 365.25)
    temperature = normal + np.where(hours == HALF_HOURS[1], 4.0, -3.0) + 4.5 * front
    wind = np.exp(1.0 + 0.45 * _autocorrelated(rng, n, 0.6))
    wind_from = np.round((290 + 70 * _autocorrelated(rng, n, 0.8)) % 360)
    return pd.DataFrame(
        {
            "time": time,
            "temperature_c": temperature.round(1),
            "wind_ms": wind.round(1),
            "wind_from": wind_from,
            "pressure_hpa": pressure.round(1),
        }
    )


def weather_drivers(weather: pd.DataFrame, days: pd.DatetimeIndex) -> npt.NDArray[np.float64]:
    """Each driver in SDs from its own normal, shape (days, 2 halves, len(`DRIVERS`)).

    Temperature is taken as departure from a yearly sine fitted to the table, wind as its
    logarithm, pressure as change over 24 hours. Half-days without weather are 0 (the normal).
    """
    table = weather.dropna(subset=["time"]).assign(
        day=lambda t: t["time"].dt.normalize(), half=lambda t: (t["time"].dt.hour >= 12).astype(int)
    )
    half_days = table.groupby(["day", "half"])[["temperature_c", "wind_ms", "pressure_hpa"]].mean()
    wanted = pd.MultiIndex.from_product([days, [0, 1]], names=["day", "half"])
    half_days = half_days.reindex(wanted)
    angle = 2 * np.pi * np.asarray(days.day_of_year, dtype=float).repeat(2) / 365.25
    half = np.tile([0.0, 1.0], len(days))
    design = np.column_stack([np.ones_like(angle), half, np.sin(angle), np.cos(angle)])
    temperature = np.asarray(half_days["temperature_c"], dtype=float)
    known = np.isfinite(temperature)
    fit = np.linalg.lstsq(design[known], temperature[known], rcond=None)[0]
    pressure = np.asarray(half_days["pressure_hpa"], dtype=float)
    change = np.full(len(pressure), np.nan)
    change[2:] = pressure[2:] - pressure[:-2]
    drivers = np.column_stack(
        [
            temperature - design @ fit,
            np.log(np.asarray(half_days["wind_ms"], dtype=float) + 0.5),
            change,
        ]
    )
    drivers = (drivers - np.nanmean(drivers, axis=0)) / np.nanstd(drivers, axis=0)
    return np.asarray(np.nan_to_num(drivers).reshape(len(days), 2, len(DRIVERS)))


def weather_factor(
    drivers: npt.NDArray[np.float64], effects: dict[str, float]
) -> npt.NDArray[np.float64]:
    """Factor on the rate of passings in shooting light, shape (days, 2 halves)."""
    slope = np.array([effects.get(name, 0.0) for name in DRIVERS])
    return np.asarray(np.exp(drivers @ slope - 0.5 * (slope**2).sum()))


def _autocorrelated(rng: np.random.Generator, n: int, keep: float) -> npt.NDArray[np.float64]:
    noise = rng.normal(0, np.sqrt(1 - keep**2), n)
    return np.asarray(lfilter([1.0], [1.0, -keep], noise))
