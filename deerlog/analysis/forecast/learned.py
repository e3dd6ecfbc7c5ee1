"""What the record teaches of the use of sites and of shooting light, for any day to come."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from deerlog.analysis.forecast.forecast_judgement import ForecastJudgement
from deerlog.analysis.forecast.light_shares import LightShares, light_shares
from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.forecast.site_use import LearnedUse, learn_site_use
from deerlog.one_thread import one_thread
from deerlog.timekeeping.seasons import SeasonCalendar


@dataclass(frozen=True, kw_only=True)
class Learned:
    """How each buck uses each site, and which share of it falls in shooting light."""

    use: LearnedUse
    light: LightShares


def learn(
    grid: SightingGrid,
    visits: pd.DataFrame,
    around: pd.DataFrame,
    calendar: SeasonCalendar,
    sites: pd.DataFrame,
    judgement: ForecastJudgement | None = None,
    *,
    before: Learned | None = None,
) -> Learned:
    """Learn from all that is known; the slow part of a forecast, whatever the days.

    Parameters
    ----------
    grid, visits, around, calendar, sites
        As for `chances.forecast`.
    before
        What had been learned on an earlier day; it makes this quicker and no different.

    Raises
    ------
    ValueError
        When a visit is later than the last day of ``grid``.
    """
    judgement = judgement or ForecastJudgement()
    if len(visits) and visits["day"].max() > grid.days[-1]:
        raise ValueError("a forecast may not know visits after the day it is made")
    so_far = np.nan_to_num(
        around.reindex(index=grid.days, columns=list(grid.bucks)).to_numpy(dtype=float)
    )
    place = sites.drop_duplicates("site").set_index("site").reindex(list(grid.sites))
    setting = tuple(place["setting"].fillna("other").astype(str))
    position = place[["x_m", "y_m"]].to_numpy(dtype=float)
    with one_thread():
        return Learned(
            use=learn_site_use(
                grid,
                so_far,
                calendar,
                position,
                judgement,
                before=None if before is None else before.use,
            ),
            light=light_shares(visits, grid.bucks, grid.sites, setting, judgement),
        )
