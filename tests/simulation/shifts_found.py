"""What the shift analysis makes of simulated bucks who change ground, beside the truth."""

from __future__ import annotations

import numpy as np
import pandas as pd

from deerlog.analysis.forecast.sighting_grid import sighting_grid
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.presence import around, past_seasons
from deerlog.analysis.shift.shift import FALL, shift

from .judged import visits_of
from .life import FALL_RANGE, SUMMER_RANGE
from .simulated_property import SimulatedProperty


def shifts_found(simulated: SimulatedProperty) -> pd.DataFrame:
    """Summer to fall of every year-round buck and season, as found and as it was.

    Columns of `deerlog.analysis.shift.shift.SHIFT_COLUMNS`, ``true_m`` (between the centres of his
    ranges, which may lie beyond the cameras) and ``true_day`` (first day on fall ground).
    """
    presence = Judgement()
    visits, effort, calendar = visits_of(simulated), simulated.effort, simulated.calendar
    truth, last_season = simulated.truth, simulated.seasons[-1]
    past = past_seasons(visits, effort, calendar, last_season, presence)
    here = around(past, visits, effort, truth.days[-1])
    grid = sighting_grid(visits, effort, truth.days[0], truth.days[-1])
    found = shift(grid, here, calendar, simulated.sites, grid.bucks)
    found = found[found["to_phase"] == FALL]
    patterns = truth.seasons.set_index(["buck", "season"])["pattern"]
    season_of_day = calendar.season_of(truth.days)
    rows = []
    for row in found.to_dict("records"):
        if patterns.get((row["buck"], row["season"])) != "year-round":
            continue
        b = truth.bucks.index(row["buck"])
        days = np.flatnonzero(season_of_day == row["season"])
        stage, centre = truth.stage[b, days], truth.range_centre_m[b, days]
        summer, fall = (np.flatnonzero(stage == kind) for kind in (SUMMER_RANGE, FALL_RANGE))
        if not len(summer) or not len(fall):
            continue
        moved = centre[fall[0]] - centre[summer[0]]
        true_day = truth.days[days[fall[0]]]
        rows.append({**row, "true_m": float(np.hypot(*moved)), "true_day": true_day})
    return pd.DataFrame(rows)
