"""Sunrise, solar noon, sunset and the sun's height. The only module that knows astral."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import astral.sun
import numpy as np
import numpy.typing as npt
import pandas as pd
from astral import Observer


def sun_times(
    latitude: float, longitude: float, zone: str, first: date, last: date
) -> pd.DataFrame:
    """Sunrise, solar noon and sunset of each local day from ``first`` to ``last``, both included.

    Sunrise and sunset are for the upper edge of the disk on a level horizon with standard
    refraction (zenith 90 degrees 50 minutes; US Naval Observatory definition). Index ``day`` (naive
    midnights); columns ``sunrise``, ``noon``, ``sunset`` (``datetime64[us, zone]``), NaT on a day
    without a sunrise or sunset. Sunrise and sunset are those on either side of the day's solar
    noon; in a far northern summer the sunset that ends a day comes after midnight.

    Astral finds the event of a date in the zone it is asked with. In UTC, its default, that is the
    sunset of the wrong day over much of North America; in a zone that runs ahead of the sun it is
    the wrong one wherever the sun sets after midnight. It is asked in solar time here, in which no
    sunrise or sunset is near midnight.
    """
    here = Observer(latitude, longitude)
    days = pd.date_range(first, last, freq="D", unit="us")
    noons = [_noon(here, day.date(), ZoneInfo(zone)) for day in days]
    columns: dict[str, list[datetime | None]] = {
        "sunrise": [_on_noons_day(astral.sun.sunrise, here, noon) for noon in noons],
        "noon": list(noons),
        "sunset": [_on_noons_day(astral.sun.sunset, here, noon) for noon in noons],
    }
    index = pd.DatetimeIndex(days, name="day")
    return pd.DataFrame(
        {
            name: pd.DatetimeIndex(values, dtype="datetime64[us, UTC]").tz_convert(zone)
            for name, values in columns.items()
        },
        index=index,
    )


def _noon(here: Observer, day: date, tz: ZoneInfo) -> datetime:
    # Astral works per UTC day; where a zone runs a day ahead of its longitude that is another one.
    around = [astral.sun.noon(here, day + timedelta(days=k), tz) for k in (0, -1, 1)]
    return next((at for at in around if at.date() == day), around[0]).astimezone(UTC)


def _on_noons_day(
    event: Callable[..., datetime], here: Observer, noon: datetime
) -> datetime | None:
    solar = timezone(timedelta(minutes=round(4 * here.longitude)))
    try:
        return event(here, noon.astimezone(solar).date(), tzinfo=solar).astimezone(UTC)
    except ValueError:  # astral's word for "the sun does not do that on this day"
        return None


def sun_height(
    latitude: float, longitude: float, times_utc: npt.NDArray[np.datetime64] | pd.DatetimeIndex
) -> npt.NDArray[np.float64]:
    """Height of the sun's centre above the horizon in degrees, without refraction.

    Vectorised, for hundreds of thousands of photos at once (astral works on one instant at a
    time). The low-precision formulas of the Astronomical Almanac, good to 0.02 degrees between
    1950 and 2050 (Meeus, Astronomical Algorithms, 1998, chapter 25; from memory, checked in the
    tests against astral). The instants are UTC, of any shape, which is kept.
    """
    if isinstance(times_utc, pd.DatetimeIndex):
        index = times_utc.tz_convert("UTC").tz_localize(None) if times_utc.tz else times_utc
        instants = np.asarray(index, dtype="datetime64[us]")
    else:
        instants = np.asarray(times_utc, dtype="datetime64[us]")
    # Days since noon of 1 January 2000 UTC.
    days = (instants - np.datetime64("2000-01-01T12:00", "us")).astype(np.float64) / 86_400e6
    mean_longitude = np.radians((280.460 + 0.9856474 * days) % 360.0)
    anomaly = np.radians((357.528 + 0.9856003 * days) % 360.0)
    ecliptic = mean_longitude + np.radians(1.915) * np.sin(anomaly)
    ecliptic += np.radians(0.020) * np.sin(2 * anomaly)
    tilt = np.radians(23.439 - 4e-7 * days)
    right_ascension = np.arctan2(np.cos(tilt) * np.sin(ecliptic), np.cos(ecliptic))
    declination = np.arcsin(np.sin(tilt) * np.sin(ecliptic))
    sidereal = np.radians((280.46062 + 360.98564737 * days + longitude) % 360.0)
    hour_angle = sidereal - right_ascension
    phi = np.radians(latitude)
    sine = np.sin(phi) * np.sin(declination)
    sine = sine + np.cos(phi) * np.cos(declination) * np.cos(hour_angle)
    return np.asarray(np.degrees(np.arcsin(np.clip(sine, -1.0, 1.0))))
