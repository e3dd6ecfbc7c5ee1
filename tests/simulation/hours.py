"""At what hour a buck is on the move: by light, phase, setting and his own way.

Twilight peaks are clear in summer and before the rut, and not in the rut (Demarais et al. 1989).
The size of each effect is our choice.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.timekeeping.sun import sun_times

PARTS = ("AM light", "PM light", "AM dark", "PM dark")
"""Parts of a day: shooting light and the rest, split at solar noon."""

# Log odds that a deer passing by does so in shooting light, by phase and by setting.
LIGHT_BY_PHASE = {
    "summer": -0.1,
    "early season": -0.8,
    "pre-rut": -0.5,
    "rut": 0.2,
    "late season": -0.7,
}
LIGHT_BY_SETTING = {
    "food": -0.35,
    "travel": 0.15,
    "scrape": -0.2,
    "bed": 0.6,
    "water": 0.2,
    "other": 0.0,
}
# Log odds that a passing in shooting light falls before solar noon.
MORNING_BY_SETTING = {
    "food": -1.1,
    "travel": 0.1,
    "scrape": -0.1,
    "bed": 0.5,
    "water": -0.5,
    "other": 0.0,
}
MIDDAY_BY_PHASE = {
    "summer": 0.1,
    "early season": 0.12,
    "pre-rut": 0.2,
    "rut": 0.45,
    "late season": 0.2,
}
"""Share of the passings in shooting light that are spread evenly rather than near twilight."""

LIGHT_MARGIN_S = 30 * 60


class Light(NamedTuple):
    """Instants of each day in seconds since 1970 UTC, each of shape (days,)."""

    midnight: npt.NDArray[np.float64]
    light_starts: npt.NDArray[np.float64]
    noon: npt.NDArray[np.float64]
    light_ends: npt.NDArray[np.float64]
    next_midnight: npt.NDArray[np.float64]


@lru_cache(maxsize=16)
def light_of_days(latitude: float, longitude: float, zone: str, first: date, last: date) -> Light:
    """Shooting light of each day from first to last, both included."""
    sun = sun_times(latitude, longitude, zone, first, last)
    midnights = pd.date_range(first, pd.Timestamp(last) + pd.Timedelta(days=1), freq="D", tz=zone)
    seconds = _seconds(midnights)
    return Light(
        midnight=seconds[:-1],
        light_starts=_seconds(pd.DatetimeIndex(sun["sunrise"])) - LIGHT_MARGIN_S,
        noon=_seconds(pd.DatetimeIndex(sun["noon"])),
        light_ends=_seconds(pd.DatetimeIndex(sun["sunset"])) + LIGHT_MARGIN_S,
        next_midnight=seconds[1:],
    )


def _seconds(instants: pd.DatetimeIndex) -> npt.NDArray[np.float64]:
    naive = instants.tz_convert("UTC").tz_localize(None)
    return np.asarray(naive, dtype="datetime64[s]").astype(np.int64).astype(float)


def draw_shares(
    rng: np.random.Generator,
    *,
    n_bucks: int,
    setting: npt.NDArray[np.str_],
    bait: npt.NDArray[np.bool_],
    phase: npt.NDArray[np.object_],
    buck: npt.NDArray[np.int64],
    day: npt.NDArray[np.int64],
) -> npt.NDArray[np.float64]:
    """How a buck's passings at a site divide over the parts of a day.

    Parameters
    ----------
    setting, bait
        Of each site, shape (sites,).
    phase
        Of each day, shape (days,).
    buck, day
        Of each buck-day wanted, shape (n,).

    Returns
    -------
    array
        Shares of `PARTS`, shape (sites, n, 4), summing to 1.
    """
    n_sites = len(setting)
    by_phase = np.array([LIGHT_BY_PHASE[p] for p in phase])
    by_site = np.array([LIGHT_BY_SETTING[s] for s in setting]) - 0.4 * bait
    by_site = by_site + rng.normal(0, 0.35, n_sites)
    pair = rng.normal(0, 0.3, (n_sites, n_bucks)) + rng.normal(-0.2, 0.6, n_bucks)
    odds = (by_site[:, None] + pair)[:, buck] + by_phase[day]
    light = 1 / (1 + np.exp(-odds))
    by_site = np.array([MORNING_BY_SETTING[s] for s in setting]) + rng.normal(0, 0.4, n_sites)
    pair = rng.normal(0, 0.3, (n_sites, n_bucks)) + rng.normal(0, 0.4, n_bucks)
    morning = 1 / (1 + np.exp(-(by_site[:, None] + pair)[:, buck]))
    dark = (1 - light) / 2
    return np.stack([light * morning, light * (1 - morning), dark, dark], axis=-1)


def draw_instants(
    rng: np.random.Generator,
    *,
    day: npt.NDArray[np.int64],
    part: npt.NDArray[np.int64],
    midday: npt.NDArray[np.float64],
    light: Light,
) -> npt.NDArray[np.float64]:
    """Instants of passings in seconds since 1970 UTC, shape (n,).

    Parameters
    ----------
    day, part
        Day index and index into `PARTS`, shape (n,).
    midday
        Share spread evenly over the light half, by day, shape (days,).
    """
    begins = np.stack([light.light_starts, light.noon, light.midnight, light.light_ends])
    ends = np.stack([light.noon, light.light_ends, light.light_starts, light.next_midnight])
    length = (ends - begins)[part, day]
    place = rng.random(len(day)) * length
    # Most passings in shooting light come soon after it starts or shortly before it ends.
    near_twilight = (part < 2) & (rng.random(len(day)) >= midday[day])
    from_dark = rng.gamma(1.6, 35 * 60, len(day)) % np.maximum(length, 1.0)
    place = np.where(near_twilight & (part == 0), from_dark, place)
    place = np.where(near_twilight & (part == 1), length - from_dark, place)
    return np.asarray(begins[part, day] + np.clip(place, 0.5, length - 0.5))
