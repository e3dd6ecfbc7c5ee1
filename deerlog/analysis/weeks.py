"""Each buck's weeks: seen, not seen, or not watched."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.arrays import Floats, Ints
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


def week_ends(week: pd.DatetimeIndex) -> Ints:
    """Place of the last day of each week among the days, for the weeks of `season_weeks`."""
    return np.flatnonzero(np.append(np.asarray(week[1:] != week[:-1]), True))


def week_table(
    bucks: Sequence[str],
    *,
    week: pd.DatetimeIndex,
    share: Floats,
    camera_days: Floats,
    visits: Ints,
    light_visits: Ints,
    around: Floats,
    least_watched_share: float,
) -> pd.DataFrame:
    """The weeks of B bucks in one season of T days, in order of buck and week.

    ``week``, of `season_weeks`, is each day's; ``share``, ``visits``, ``light_visits`` and
    ``around`` are (T, B). A week whose mean share is below ``least_watched_share`` was not watched,
    unless he was seen: its three counts are missing (``Int64``), as no data is not zero. ``around``
    is the mean over the week.
    """
    ends = week_ends(week)
    starts = np.append(0, ends[:-1] + 1)
    days = (ends - starts + 1)[:, None]
    seen = np.add.reduceat((visits > 0).astype(np.int64), starts, axis=0)
    watched = np.add.reduceat(np.minimum(share, 1.0), starts, axis=0) / days >= least_watched_share
    state = np.where(seen > 0, SEEN, np.where(watched, NOT_SEEN, NOT_WATCHED))

    def by_buck(weekly: npt.NDArray[Any]) -> npt.NDArray[Any]:
        return weekly.T.ravel()

    def counted(weekly: Ints) -> pd.arrays.IntegerArray:
        return pd.arrays.IntegerArray(by_buck(weekly).copy(), by_buck(state) == NOT_WATCHED)

    n_bucks = len(bucks)
    return pd.DataFrame(
        {
            "buck": np.repeat(np.array(bucks, dtype=object), len(ends)),
            "week_start": pd.DatetimeIndex(np.tile(np.asarray(week[ends]), n_bucks)),
            "camera_days": np.tile(np.add.reduceat(camera_days, starts), n_bucks),
            "days_seen": counted(seen),
            "visits": counted(np.add.reduceat(visits, starts, axis=0)),
            "shooting_light_visits": counted(np.add.reduceat(light_visits, starts, axis=0)),
            "state": by_buck(state),
            "around": by_buck(np.add.reduceat(around, starts, axis=0) / days),
        }
    )
