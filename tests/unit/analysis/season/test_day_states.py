"""A buck's days by state, and that they agree with his stays."""

from __future__ import annotations

import numpy as np
import pandas as pd
from invented.buck_record import CALENDAR

from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.season.day_states import DAY_STATES, day_states
from deerlog.analysis.season.stays import stays


def grid_of(first: str, n_days: int) -> SightingGrid:
    """Ash at the first of two sites, Elm at the second; both cameras ran."""
    days = pd.date_range(first, periods=n_days, freq="D", unit="us")
    return SightingGrid(
        days=days, bucks=("Ash", "Elm"), sites=("Beans", "Bench"),
        running=np.ones((n_days, 2)), seen=np.zeros((n_days, 2, 2), dtype=bool),
        seen_in_light=np.zeros((n_days, 2, 2, 2), dtype=bool),
        unsure=np.zeros((n_days, 2, 2), dtype=bool),
    )  # fmt: skip


def test_each_day_has_one_state() -> None:
    grid = grid_of("2024-02-26", 6)
    grid.seen[:, 1, 1] = True  # another buck's days are not his
    grid.seen[[0, 1, 3], 0, 0] = True
    grid.seen_in_light[0, 0, 0, 1] = True
    grid.running[3:5, 0] = 0.0  # a card that came without a proof of life: seen all the same
    table = day_states(grid, CALENDAR, "Ash")
    light, dark, not_seen, not_watched = DAY_STATES
    assert table["state"].tolist() == [light, dark, not_seen, dark, not_watched, not_seen]
    assert table["day"].tolist() == list(grid.days)
    assert set(day_states(grid, CALENDAR, "Elm")["state"]) == {dark}


def test_a_camera_where_he_never_goes_watches_nothing_for_him() -> None:
    grid = grid_of("2024-10-01", 4)
    grid.seen[0, 0, 0] = True
    grid.running[1, 0] = 0.0  # only the other site's ran
    grid.running[2, 1] = 0.0
    states = day_states(grid, CALENDAR, "Ash")["state"].tolist()
    assert states[1:] == ["not watched", "not seen", "not seen"]


def test_the_days_of_a_season_add_up_to_those_of_its_stays() -> None:
    grid = grid_of("2023-06-01", 800)
    random = np.random.default_rng(3)
    grid.seen[:, 0, 0] = random.random(800) < 0.2
    grid.seen_in_light[:, 0, 0, 0] = grid.seen[:, 0, 0] & (random.random(800) < 0.4)
    around = pd.DataFrame({"Ash": np.ones(800)}, index=grid.days)
    told = stays(around, grid, CALENDAR, ["Ash"]).groupby("season")[["days_seen", "light_days"]]
    counted = day_states(grid, CALENDAR, "Ash").groupby(["season", "state"]).size().unstack()
    light, dark = counted["seen in light"], counted["seen in the dark"]
    assert told.sum()["light_days"].tolist() == light.tolist()
    assert told.sum()["days_seen"].tolist() == (light + dark).tolist()
    assert counted.sum(axis=1).sum() == 800
