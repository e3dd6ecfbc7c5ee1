"""A buck's days, each by what was known of him: a season's row of his calendar."""

from __future__ import annotations

import numpy as np
import pandas as pd

from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.season.stays import watched_for
from deerlog.timekeeping.seasons import SeasonCalendar

DAY_STATES = (IN_LIGHT, IN_DARK, NOT_SEEN, NOT_WATCHED) = (
    "seen in light", "seen in the dark", "not seen", "not watched",
)  # fmt: skip


def day_states(grid: SightingGrid, calendar: SeasonCalendar, buck: str) -> pd.DataFrame:
    """``season, day, state`` of every day of the grid, for a buck that is in it.

    ``state`` is of `DAY_STATES`: with a visit in shooting light; with other visits only; without
    one, though watched for him (`deerlog.analysis.season.stays.watched_for`); not watched.
    """
    his = grid.bucks.index(buck)
    known = [
        grid.seen_in_light[:, his].any(axis=(1, 2)),
        grid.seen[:, his].any(axis=1),
        watched_for(grid, buck),
    ]
    state = np.select(known, DAY_STATES[:3], default=NOT_WATCHED)
    return pd.DataFrame(
        {"season": calendar.season_of(grid.days), "day": grid.days, "state": state}
    ).astype({"state": "str"})
