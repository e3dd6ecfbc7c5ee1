"""How a buck uses the sites: effort, neighbours, and last month against this."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR, days, effort, visits

from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.sighting_grid import SightingGrid, sighting_grid
from deerlog.analysis.forecast.site_use import LearnedUse, Periods, learn_site_use

FAR_APART = np.array([[0.0, 0.0], [5000.0, 0.0], [0.0, 5000.0]])
"""Alder, Birch, Cedar."""


def grid_of(
    seen: dict[str, list[pd.Timestamp]], ran: pd.DataFrame, first: str, last: str
) -> SightingGrid:
    """``seen`` by site."""
    tables = [visits({"Ash": on}, site=site) for site, on in seen.items()]
    return sighting_grid(pd.concat(tables), ran, pd.Timestamp(first), pd.Timestamp(last))


def use_on(
    grid: SightingGrid, around: np.ndarray, position: np.ndarray, days: pd.DatetimeIndex
) -> tuple[Periods, np.ndarray, np.ndarray]:
    return learn_site_use(grid, around, CALENDAR, position, ForecastJudgement()).on(days)


def rate(
    grid: SightingGrid,
    position: np.ndarray = FAR_APART,
    around: float = 1.0,
    ahead: str = "2024-11-01",
) -> tuple[np.ndarray, np.ndarray]:
    """Odds of a visit at each site on a day ahead, and the spread of their logarithm."""
    here = np.full((len(grid.days), 1), around)
    _, log_odds, sd = use_on(grid, here, position, pd.DatetimeIndex([ahead]))
    return np.exp(log_odds[0, :, 0]), sd[0, :, 0]


def test_effort_is_what_visits_are_held_against() -> None:
    """20 visits at two sites, one of which ran a third of the time."""
    when = days("2024-09-01", "2024-10-30", 3)
    ran = effort("2024-09-01", "2024-10-31")
    birch = (ran["site"] != "Birch") | ran["day"].isin(when)
    grid = grid_of({"Alder": when, "Birch": when}, ran[birch], "2024-09-01", "2024-10-31")
    got, _ = rate(grid)
    assert got[0] == pytest.approx(0.5, rel=0.25), "a day in three: odds 1 to 2"
    assert got[1] > 3 * got[0]
    assert got[2] < got[0] / 5


def test_days_he_was_gone_say_nothing() -> None:
    when = days("2024-09-01", "2024-10-30", 6)
    grid = grid_of({"Alder": when}, effort("2024-09-01", "2024-10-31"), "2024-09-01", "2024-10-31")
    always, _ = rate(grid)
    half, _ = rate(grid, around=0.5)
    assert half[0] > 1.5 * always[0]


def test_a_site_never_watched_is_like_its_neighbour() -> None:
    """Cedar has just been put out, 100 m from Alder or from Birch."""
    ran = effort("2024-09-01", "2024-10-31", sites=("Alder", "Birch"))
    new = effort("2024-10-31", "2024-10-31", sites=("Cedar",))
    grid = grid_of(
        {"Alder": days("2024-09-01", "2024-10-30", 2)}, pd.concat([ran, new]),
        "2024-09-01", "2024-10-31",
    )  # fmt: skip
    apart = np.array([[0.0, 0.0], [1500.0, 0.0]])
    by_alder, near_sd = rate(grid, np.vstack([apart, [100.0, 0.0]]))
    by_birch, _ = rate(grid, np.vstack([apart, [1400.0, 0.0]]))
    nowhere, unknown_sd = rate(grid, np.vstack([apart, [np.nan, np.nan]]))
    assert by_alder[2] > 2 * nowhere[2] > 2 * by_birch[2]
    assert near_sd[2] < unknown_sd[2], "a place that is not known is like no other"


def test_last_months_hot_camera_can_be_dead_today() -> None:
    ran = effort("2024-08-01", "2024-11-10")
    moved = {"Alder": days("2024-09-01", "2024-10-10"), "Birch": days("2024-10-11", "2024-11-10")}
    stayed = {
        "Alder": days("2024-09-01", "2024-11-10", 2),
        "Birch": days("2024-09-01", "2024-11-10", 2),
    }
    got, _ = rate(grid_of(moved, ran, "2024-08-01", "2024-11-10"), ahead="2024-11-11")
    even, _ = rate(grid_of(stayed, ran, "2024-08-01", "2024-11-10"), ahead="2024-11-11")
    assert got[1] > 8 * got[0]
    assert even[1] == pytest.approx(even[0], rel=0.02)


def test_little_is_known_of_days_far_off() -> None:
    grid = grid_of(
        {"Alder": days("2024-06-05", "2024-08-30", 2)}, effort("2024-06-01", "2024-08-31"),
        "2024-06-01", "2024-08-31",
    )  # fmt: skip
    _, next_week = rate(grid, ahead="2024-08-31")
    _, on_fall_ground = rate(grid, ahead="2024-11-20")
    assert on_fall_ground[0] > 1.5 * next_week[0]


def test_without_bucks_or_days() -> None:
    grid = sighting_grid(
        visits({}), effort("2024-09-01", "2024-09-30"),
        pd.Timestamp("2024-09-01"), pd.Timestamp("2024-09-30"),
    )  # fmt: skip
    none = np.zeros((len(grid.days), 0))
    _, log_odds, _ = use_on(grid, none, FAR_APART, pd.DatetimeIndex(["2024-10-01"]))
    assert log_odds.shape == (0, 3, 1)
    seen = grid_of({"Alder": days("2024-09-01", "2024-09-30")}, effort("2024-09-01", "2024-09-30"),
                   "2024-09-01", "2024-09-30")  # fmt: skip
    periods, log_odds, _ = use_on(seen, np.ones((30, 1)), FAR_APART, pd.DatetimeIndex([]))
    assert log_odds.shape == (1, 3, 0) and periods.days.shape == (0, 0)


def test_what_was_learned_before_is_a_start_and_no_more() -> None:
    ran = effort("2024-08-01", "2024-11-10")
    seen = {"Alder": days("2024-09-01", "2024-10-10"), "Birch": days("2024-10-11", "2024-11-10", 2)}
    late = grid_of(seen, ran, "2024-08-01", "2024-11-10")
    early = late.until(pd.Timestamp("2024-10-13"))
    ahead = pd.DatetimeIndex(["2024-11-11", "2024-12-20"])

    def learned(grid: SightingGrid, before: LearnedUse | None = None) -> LearnedUse:
        here = np.full((len(grid.days), 1), 0.9)
        judgement = ForecastJudgement()
        return learn_site_use(grid, here, CALENDAR, FAR_APART, judgement, before=before)

    afresh, begun = learned(late).on(ahead), learned(late, learned(early)).on(ahead)
    old = learned(early).on(ahead)
    assert begun[1] == pytest.approx(afresh[1], abs=6e-2)
    assert begun[2] == pytest.approx(afresh[2], abs=6e-2)
    assert np.abs(old[1] - afresh[1]).max() > 0.5, "what came since must have told"


def test_days_with_an_unsure_visit_say_nothing() -> None:
    """Seen on every sixth day, with an unsure name on each of the other five: always there, where
    anything tells; with no unsure names he is a rare guest."""
    when = days("2024-09-01", "2024-10-30", 6)
    seen, ran = visits({"Ash": when}), effort("2024-09-01", "2024-10-31")
    bounds = pd.Timestamp("2024-09-01"), pd.Timestamp("2024-10-31")
    maybe = visits({"Ash": set(days("2024-09-01", "2024-10-31")) - set(when)})
    unsure, _ = rate(sighting_grid(seen, ran, *bounds, maybe))
    sure, _ = rate(sighting_grid(seen, ran, *bounds))
    assert unsure[0] > 5 * sure[0]
    assert (unsure[1:] < 0.2).all(), "elsewhere the days count"
