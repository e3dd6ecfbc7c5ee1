"""From when to when a sit lasts, in shooting light; the wind during it, and whether it suits a
stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from deerlog.analysis.arrays import Bools, Floats
from deerlog.analysis.visits import HALVES


def sit_times(
    sun: pd.DataFrame,
    days: pd.DatetimeIndex,
    *,
    light_before_sunrise_minutes: float,
    light_after_sunset_minutes: float,
    sit_hours: float,
) -> pd.DataFrame:
    """First and last minute of a morning and an evening sit on each day: ``day, half, starts,
    ends``, two rows a day, aware, in the zone of ``sun``, whole minutes; NaT on a day without a
    sunrise or sunset.

    A morning sit begins with shooting light, an evening sit ends with it; neither crosses solar
    noon, where the halves of a day meet.
    """
    of_day = sun.reindex(days)
    longest = pd.Timedelta(hours=sit_hours)
    # To the whole minute, inwards.
    first = (of_day["sunrise"] - pd.Timedelta(minutes=light_before_sunrise_minutes)).dt.ceil("min")
    last = (of_day["sunset"] + pd.Timedelta(minutes=light_after_sunset_minutes)).dt.floor("min")
    noon = of_day["noon"].dt.floor("min")
    morning = pd.DataFrame({"starts": first, "ends": (first + longest).clip(upper=noon)})
    evening = pd.DataFrame({"starts": (last - longest).clip(lower=noon), "ends": last})
    both = pd.concat(
        [
            part.assign(day=days, half=half).reset_index(drop=True)
            for half, part in zip(HALVES, (morning, evening), strict=True)
        ],
        ignore_index=True,
    )
    # A sit that shooting light leaves no minute for is none.
    both.loc[~(both["starts"] < both["ends"]), ["starts", "ends"]] = pd.NaT
    both = both.sort_values(["day", "half"], kind="stable").reset_index(drop=True)
    return both[["day", "half", "starts", "ends"]]


SUITS_WITHIN_DEGREES = 22.5
"""A wind suits a stand within so much of one of its winds: half the gap between the eight chief
points (our choice)."""
WRONG_SHARE = 0.25
"""A sit whose wind is wrong for more than this share of the time is on a wrong wind (our
choice)."""
STILL_MS = 0.9
"""Slower air has no direction to hunt by, m/s: 2 mph, the foot of light air on the Beaufort scale
(our choice)."""
WARMER_C, WINDIER_MS = 50 / 9, 4.4704
"""Ten degrees Fahrenheit warmer weigh as much as ten miles an hour more wind (our choice)."""
HALF_A_DAY = pd.Timedelta(hours=12)
REACH = pd.Timedelta(minutes=90)
"""A forecast for a moment holds so long before and after it: half of the usual three hours."""


@dataclass(frozen=True)
class SitWind:
    """The wind during one sit: directions it blows from at the moments forecast, degrees clockwise
    from north, shape (n,); empty where nothing is known. ``unrest``: warmth and wind together, what
    the cooler, calmer of two sits has less of; NaN where either is not known."""

    degrees: Floats
    unrest: float = float("nan")

    def wrong(self, wanted_degrees: Sequence[float]) -> Floats:
        """Those directions on which a stand with these winds cannot be hunted, shape (m,)."""
        if not len(wanted_degrees):
            return np.empty(0)
        gap = np.abs(self.degrees[:, None] - np.asarray(wanted_degrees)[None, :]) % 360
        off = np.minimum(gap, 360 - gap).min(axis=1)
        return np.asarray(self.degrees[off > SUITS_WITHIN_DEGREES + 1e-9])

    def suits(self, wanted_degrees: Sequence[float]) -> bool | None:
        """Whether a stand with these winds (none means any) can be hunted; None where the wind is
        not known."""
        if not len(wanted_degrees):
            return True
        if not len(self.degrees):
            return None
        return len(self.wrong(wanted_degrees)) <= WRONG_SHARE * len(self.degrees)


def mean_direction(degrees: Floats) -> float:
    """Mean of some directions, 0 to 360; NaN of none."""
    if not len(degrees):
        return float("nan")
    turn = np.exp(1j * np.radians(degrees)).mean()
    return float(np.degrees(np.angle(turn)) % 360)


def sit_winds(weather: pd.DataFrame, times: pd.DataFrame) -> list[SitWind]:
    """The wind of each sit of `sit_times`.

    ``weather`` is ``time`` (naive local), ``wind_from_deg``, ``wind_ms``, ``temperature_c`` (NaN
    where not given). A row more than half a day from any other, as in a forecast by the day, holds
    for its whole day.
    """
    when = pd.DatetimeIndex(weather["time"])
    unrest = (weather["temperature_c"] / WARMER_C + weather["wind_ms"] / WINDIER_MS).to_numpy()
    ordered = pd.Series(when.sort_values())
    after_long = ~(ordered.diff() <= HALF_A_DAY)
    alone = after_long & after_long.shift(-1, fill_value=True)
    by_the_day = pd.DatetimeIndex(ordered[alone]).normalize()
    moving = ~(weather["wind_ms"] < STILL_MS)
    known = weather[weather["wind_from_deg"].notna() & moving]
    at = pd.DatetimeIndex(known["time"])
    degrees = known["wind_from_deg"].to_numpy(dtype=float)
    winds = []
    for day, starts, ends in zip(times["day"], times["starts"], times["ends"], strict=True):
        if pd.isna(starts):
            winds.append(SitWind(np.empty(0)))
            continue
        begin, end = starts.tz_localize(None) - REACH, ends.tz_localize(None) + REACH

        def during(
            moments: pd.DatetimeIndex, day: pd.Timestamp = day, begin: pd.Timestamp = begin,
            end: pd.Timestamp = end,
        ) -> Bools:  # fmt: skip
            if day in by_the_day:
                return np.asarray(moments.normalize() == day)
            return np.asarray((moments >= begin) & (moments <= end))

        told = unrest[during(when)]
        told = told[~np.isnan(told)]
        winds.append(SitWind(degrees[during(at)], float(told.mean()) if len(told) else np.nan))
    return winds
