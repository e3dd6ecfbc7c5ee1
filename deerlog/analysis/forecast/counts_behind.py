"""The counts that a chance rests on: his visits, and the camera-days they are held against."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.forecast.sighting_grid import SightingGrid, codes
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import PHASES, SeasonCalendar


@dataclass(frozen=True, kw_only=True)
class CountsBehind:
    """Counts by phase, over all seasons.

    Attributes
    ----------
    visits
        Shape (B, S, 2, phases): visits in shooting light.
    camera_days
        Shape (B, S, phases): camera-days at the site since his first season began; before it he
        may not have been born.
    """

    visits: npt.NDArray[np.int64]
    camera_days: npt.NDArray[np.float64]


def counts_behind(
    grid: SightingGrid, visits: pd.DataFrame, calendar: SeasonCalendar
) -> CountsBehind:
    """Count what is known.

    Parameters
    ----------
    grid, visits
        See `deerlog.analysis.forecast.chances.forecast`.
    """
    lit = visits[visits["in_light"].to_numpy(dtype=bool)]
    place = [
        codes(lit["buck"], grid.bucks),
        codes(lit["site"], grid.sites),
        codes(lit["half"], HALVES),
        codes(lit["phase"], PHASES),
    ]
    known = np.all([p >= 0 for p in place], axis=0)
    shape = (len(grid.bucks), len(grid.sites), len(HALVES), len(PHASES))
    counted = np.zeros(shape, dtype=np.int64)
    np.add.at(counted, tuple(p[known] for p in place), 1)
    season = calendar.season_of(grid.days)
    phase = codes(pd.Series(calendar.phase_of(grid.days)), PHASES)
    debut = visits.groupby("buck")["season"].min().reindex(list(grid.bucks)).to_numpy()
    camera_days = np.zeros((len(grid.bucks), len(grid.sites), len(PHASES)))
    for k in range(len(PHASES)):
        since = season[None, :] >= debut[:, None]
        camera_days[:, :, k] = (since & (phase == k)[None, :]) @ grid.running
    return CountsBehind(visits=counted, camera_days=camera_days)
