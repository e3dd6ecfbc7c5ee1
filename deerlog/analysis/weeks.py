"""Each buck's weeks: seen, not seen, or not watched."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.timekeeping.seasons import SeasonCalendar, week_start

SEEN, NOT_SEEN, NOT_WATCHED = "seen", "not seen", "not watched"


def season_weeks(
    calendar: SeasonCalendar, season: int, last: pd.Timestamp, week_starts: str
) -> tuple[pd.DatetimeIndex, pd.DatetimeIndex]:
    """Days of a season up to ``last``, and the week each belongs to.

    A week that straddles two seasons is cut: each season has its own part.
    """
    first, after = calendar.bounds(season)
    end = min(pd.Timestamp(after) - pd.Timedelta(days=1), last)
    days = pd.date_range(first, end, freq="D", unit="us")
    return days, week_start(days, week_starts)


def week_table(
    *,
    day: pd.DatetimeIndex,
    week: pd.DatetimeIndex,
    share: npt.NDArray[np.float64],
    camera_days: npt.NDArray[np.float64],
    visits: npt.NDArray[np.int64],
    light_visits: npt.NDArray[np.int64],
    least_watched_share: float,
    **daily: Any,
) -> pd.DataFrame:
    """The weeks of one buck and season.

    Parameters
    ----------
    day, week
        Of `season_weeks`, length n.
    share
        Shape (n,): share of his cameras that ran on each day.
    camera_days, visits, light_visits
        Shape (n,): what ran and what came, by day.
    least_watched_share
        A week whose mean share is lower was not watched, unless he was seen.
    daily
        Further columns by day to average over the week.

    Returns
    -------
    DataFrame
        ``week_start, camera_days, days_seen, visits, shooting_light_visits, state`` and the
        averages, one row a week.
    """
    table = pd.DataFrame(
        {
            "week_start": week,
            "share": np.minimum(share, 1.0),
            "camera_days": camera_days,
            "days_seen": visits > 0,
            "visits": visits,
            "shooting_light_visits": light_visits,
            **daily,
        },
        index=day,
    )
    how = dict.fromkeys(table.columns[1:], "sum") | dict.fromkeys(("share", *daily), "mean")
    weeks = table.groupby("week_start", sort=True).agg(how).reset_index()
    weeks["days_seen"] = weeks["days_seen"].astype(int)
    watched = np.where(weeks["share"] < least_watched_share, NOT_WATCHED, NOT_SEEN)
    weeks["state"] = np.where(weeks["days_seen"] > 0, SEEN, watched)
    return weeks.drop(columns="share")
