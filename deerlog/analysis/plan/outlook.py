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
    """One row of the windows table."""

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
    seasons_seen, seasons_watched
        Past seasons in which he was seen around the days of the window, at any hour and site, of
        those in which cameras ran then.
    """

    buck: str
    window: BestWindow | None
    seasons_seen: int = 0
    seasons_watched: int = 0


def outlooks(
    windows: pd.DataFrame, grid: SightingGrid, bucks: Sequence[str], calendar: SeasonCalendar
) -> tuple[Outlook, ...]:
    """The best coming window of each buck.

    Parameters
    ----------
    windows
        Of `forecast.windows.windows`; all still to come. One with no camera-days behind it
        rests on other bucks and sites alone, and is nobody's best.
    grid
        Everything known.
    """
    watched = windows[windows["camera_days_behind"] > 0]
    return tuple(_outlook(watched[watched["buck"] == buck], grid, buck, calendar) for buck in bucks)


def _outlook(
    windows: pd.DataFrame, grid: SightingGrid, buck: str, calendar: SeasonCalendar
) -> Outlook:
    if windows.empty:
        return Outlook(buck=buck, window=None)
    best = windows.sort_values(["chance", "opens"], ascending=[False, True], kind="stable").iloc[0]
    window = BestWindow(
        site=str(best["site"]),
        half=str(best["half"]),
        opens=best["opens"].date(),
        closes=best["closes"].date(),
        chance=float(best["chance"]),
        low=float(best["low"]),
        high=float(best["high"]),
    )
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
    return Outlook(buck=buck, window=window, seasons_seen=seen, seasons_watched=watched)
