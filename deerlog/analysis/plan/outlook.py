"""When each buck is worth hunting, as far ahead as is known, in one line a buck."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd

from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.timekeeping.seasons import SeasonCalendar

EITHER_SIDE_DAYS = 4
"""A buck who comes a few days early or late in another season still keeps his dates (our
choice)."""
WATCHED = 0.5
"""Share of those days that at least one camera ran, for the season to count as watched (our
choice)."""


@dataclass(frozen=True, kw_only=True)
class BestWindow:
    """One row of the windows table, or of that of whole stretches."""

    site: str
    half: str
    opens: date
    closes: date
    chance: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """The best window that is still to come for one buck.

    Attributes
    ----------
    window
        None where no run of days stands out.
    whole
        His best site and half over all the days ahead; None where no site was watched for long
        enough, or no day is left.
    even
        Of ``whole``: the chance there is much the same on all of its days.
    seasons_seen, seasons_watched
        Past seasons in which he was seen around the days of the window, at any hour and site, of
        those in which cameras ran then.
    """

    buck: str
    window: BestWindow | None
    whole: BestWindow | None = None
    even: bool = False
    seasons_seen: int = 0
    seasons_watched: int = 0


def outlooks(
    windows: pd.DataFrame,
    whole: pd.DataFrame,
    grid: SightingGrid,
    bucks: Sequence[str],
    calendar: SeasonCalendar,
) -> tuple[Outlook, ...]:
    """The best coming window of each buck: that whose interval begins highest.

    Parameters
    ----------
    windows
        Of `forecast.windows.windows`; all still to come.
    whole
        Of `forecast.windows.whole_stretch`.
    grid
        Everything known.
    """
    return tuple(
        _outlook(
            windows[windows["buck"] == buck], whole[whole["buck"] == buck], grid, buck, calendar
        )
        for buck in bucks
    )


def _outlook(
    windows: pd.DataFrame,
    whole: pd.DataFrame,
    grid: SightingGrid,
    buck: str,
    calendar: SeasonCalendar,
) -> Outlook:
    all_days = None if whole.empty else _best_window(whole.iloc[0])
    even = not whole.empty and bool(whole.iloc[0]["even"])
    if windows.empty:
        return Outlook(buck=buck, window=None, whole=all_days, even=even)
    # The one that is surest to be good: what rests on little reaches far down.
    best = windows.sort_values(["low", "opens"], ascending=[False, True], kind="stable").iloc[0]
    window = _best_window(best)
    days = calendar.season_day(pd.DatetimeIndex([window.opens, window.closes]))
    season_now = int(calendar.season_of(pd.DatetimeIndex([window.opens]))[0])
    number = grid.bucks.index(buck) if buck in grid.bucks else None
    seen = watched = 0
    for season in sorted(set(calendar.season_of(grid.days).tolist()) - {season_now}):
        start = calendar.bounds(season)[0]
        first = pd.Timestamp(start + timedelta(days=int(days[0]) - EITHER_SIDE_DAYS))
        last = pd.Timestamp(start + timedelta(days=int(days[1]) + EITHER_SIDE_DAYS))
        inside = np.asarray((grid.days >= first) & (grid.days <= last))
        came = number is not None and bool(grid.seen[inside][:, number].any())
        length = (last - first).days + 1
        ran = (grid.running[inside] > 0).any(axis=1).sum() / length >= WATCHED
        if ran or came:
            watched += 1
            seen += came
    return Outlook(
        buck=buck,
        window=window,
        whole=all_days,
        even=even,
        seasons_seen=seen,
        seasons_watched=watched,
    )


def _best_window(row: pd.Series) -> BestWindow:
    return BestWindow(
        site=str(row["site"]),
        half=str(row["half"]),
        opens=row["opens"].date(),
        closes=row["closes"].date(),
        chance=float(row["chance"]),
        low=float(row["low"]),
        high=float(row["high"]),
    )
