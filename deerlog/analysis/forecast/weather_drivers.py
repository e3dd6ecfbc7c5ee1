"""Weather as what may move deer: departures from normal, half-day by half-day."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.visits import HALVES

Floats = npt.NDArray[np.float64]

DRIVERS = ("temperature", "wind", "pressure_change")
UNITS = {
    "temperature": "°C above normal",
    "wind": "m/s above mean",
    "pressure_change": "hPa in 24 h",
}
_COLUMNS = {"temperature": "temperature_c", "wind": "wind_ms", "pressure_change": "pressure_hpa"}

EDGE_HOURS = 1.0
"""Readings up to an hour before sunrise and after sunset count for the half-day (our choice)."""
LEAST_DAYS = 30
"""Days of weather below which no normal can be told, and so no departure (our choice)."""
NORMAL_SD = (30.0, 30.0, 15.0, 15.0, 4.0, 4.0)
RESIDUAL_SD = 5.0
"""°C: priors of the yearly course (mean, half, first and second harmonic) and the spread of days
about it. They matter only where the weather covers part of a year (our choice)."""


@dataclass(frozen=True, kw_only=True)
class WeatherDrivers:
    """Drivers by day and half.

    Attributes
    ----------
    days
        Naive midnights, length D.
    value
        Shape (D, 2, 3): each of `DRIVERS` in its own standard deviations from its normal; NaN where
        not measured.
    sd
        Shape (3,): those standard deviations, in `UNITS`; NaN for a driver never measured.
    """

    days: pd.DatetimeIndex
    value: Floats
    sd: Floats


def weather_drivers(
    weather: pd.DataFrame, sun: pd.DataFrame, days: pd.DatetimeIndex, known_until: pd.Timestamp
) -> WeatherDrivers:
    """Drivers of some days, against normals of the days known.

    Parameters
    ----------
    weather
        ``time`` (naive local), ``temperature_c``, ``wind_ms``, ``pressure_hpa``, hourly to daily,
        in any order, gaps allowed. A forecast of coming days is part of it.
    sun
        Of `deerlog.timekeeping.sun.sun_times`, covering ``days``.
    days
        Days wanted, without gaps.
    known_until
        Last day that the normals may learn from.

    Notes
    -----
    Temperature: departure from a yearly course (two harmonics) through the weather's own days,
    apart for each half. Wind: from its mean in that half. Pressure: change over 24 hours.
    """
    raw = _half_day_means(weather, sun, days)
    known = np.asarray(days <= known_until)
    angle = 2 * np.pi * np.asarray(days.day_of_year, dtype=float) / 365.25
    value = np.full((len(days), len(HALVES), len(DRIVERS)), np.nan)
    value[:, :, 0] = raw[:, :, 0] - _yearly_course(raw[:, :, 0], angle, known)
    value[:, :, 1] = raw[:, :, 1] - _mean(raw[known, :, 1], axis=0)
    value[1:, :, 2] = raw[1:, :, 2] - raw[:-1, :, 2]
    sd = np.full(len(DRIVERS), np.nan)
    for i in range(len(DRIVERS)):
        told = value[known, :, i]
        told = told[np.isfinite(told)]
        if len(told) >= 2 * LEAST_DAYS and told.std() > 0:
            sd[i] = told.std()
    return WeatherDrivers(days=days, value=value / sd, sd=sd)


def _half_day_means(weather: pd.DataFrame, sun: pd.DataFrame, days: pd.DatetimeIndex) -> Floats:
    """Mean of the readings in each half of the day's light, shape (D, 2, 3)."""
    table = weather.dropna(subset=["time"])
    table = table.assign(day=table["time"].dt.normalize())
    table = table[table["day"].isin(days)]
    raw = np.full((len(days), len(HALVES), len(DRIVERS)), np.nan)
    if table.empty:
        return raw
    row = days.get_indexer(pd.DatetimeIndex(table["day"]))
    if table.groupby("day").size().median() <= 1:
        # One reading a day stands for the whole day.
        halves = [np.ones(len(table), dtype=bool)] * len(HALVES)
    else:
        light = sun.reindex(days)
        naive = {c: light[c].dt.tz_localize(None).to_numpy()[row] for c in light.columns}
        edge = pd.Timedelta(hours=EDGE_HOURS).to_timedelta64()
        time = table["time"].to_numpy()
        morning = (time >= naive["sunrise"] - edge) & (time < naive["noon"])
        evening = (time >= naive["noon"]) & (time <= naive["sunset"] + edge)
        halves = [morning, evening]
    for h, inside in enumerate(halves):
        for i, driver in enumerate(DRIVERS):
            if _COLUMNS[driver] not in table:
                continue
            reading = table[_COLUMNS[driver]].to_numpy(dtype=float)
            good = inside & np.isfinite(reading)
            n = np.bincount(row[good], minlength=len(days))
            total = np.bincount(row[good], reading[good], minlength=len(days))
            raw[:, h, i] = np.where(n > 0, total / np.maximum(n, 1), np.nan)
    return raw


def _yearly_course(temperature: Floats, angle: Floats, known: npt.NDArray[np.bool_]) -> Floats:
    """What is normal on each day and half, shape (D, 2); NaN where too little is known."""
    n = len(angle)
    design = np.stack(
        [
            np.ones((n, 2)),
            np.broadcast_to([-0.5, 0.5], (n, 2)),
            *(np.broadcast_to(f(k * angle)[:, None], (n, 2)) for k in (1, 2) for f in _WAVES),
        ],
        axis=-1,
    )
    told = known[:, None] & np.isfinite(temperature)
    if told.any(axis=1).sum() < LEAST_DAYS:
        return np.full((n, 2), np.nan)
    x, y = design[told], temperature[told]
    prior = np.diag((RESIDUAL_SD / np.array(NORMAL_SD)) ** 2)
    return np.asarray(design @ np.linalg.solve(x.T @ x + prior, x.T @ y))


_WAVES = (np.sin, np.cos)


def _mean(values: Floats, axis: int) -> Floats:
    n = np.isfinite(values).sum(axis=axis)
    return np.where(n > 0, np.nansum(values, axis=axis) / np.maximum(n, 1), np.nan)
