"""From when to when a sit lasts, in shooting light."""

from __future__ import annotations

import pandas as pd

from deerlog.analysis.visits import HALVES


def sit_times(
    sun: pd.DataFrame,
    days: pd.DatetimeIndex,
    *,
    light_before_sunrise_minutes: float,
    light_after_sunset_minutes: float,
    sit_hours: float,
) -> pd.DataFrame:
    """First and last minute of a morning and an evening sit on each day.

    Parameters
    ----------
    sun
        Of `deerlog.timekeeping.sun.sun_times`, covering ``days``.
    days
        Naive midnights.
    sit_hours
        Longest sit. A morning sit begins with shooting light, an evening sit ends with it; neither
        crosses solar noon, where the halves of a day meet.

    Returns
    -------
    DataFrame
        ``day, half, starts, ends`` (aware, in the zone of ``sun``, whole minutes); NaT on a day
        without a sunrise or sunset. Two rows a day, in order.
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
