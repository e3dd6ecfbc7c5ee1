"""Visits and effort as grids, and what of them was known by a day."""

from __future__ import annotations

import pandas as pd
import pytest
from invented.buck_record import days, effort, visits

from deerlog.analysis.forecast.sighting_grid import SightingGrid, codes, sighting_grid

FIRST, LAST = pd.Timestamp("2024-09-01"), pd.Timestamp("2024-09-10")


@pytest.fixture
def grid() -> SightingGrid:
    seen = visits(
        {"Ash": days("2024-09-02", "2024-09-04"), "Oak": days("2024-09-08", "2024-09-08")}
    )
    seen.loc[0, "in_light"] = False
    return sighting_grid(seen, effort("2024-09-01", "2024-09-10", camera_day=0.5), FIRST, LAST)


def test_what_is_where(grid: SightingGrid) -> None:
    assert grid.bucks == ("Ash", "Oak")
    assert grid.sites == ("Alder", "Birch", "Cedar")
    assert grid.running.shape == (10, 3) and (grid.running == 0.5).all()
    assert grid.seen[:, 0, 0].nonzero()[0].tolist() == [1, 2, 3]
    assert grid.seen[:, :, 1:].sum() == 0
    # The first of Ash's visits was in the dark; all are PM.
    assert grid.seen_in_light[:, 0, 0, 1].nonzero()[0].tolist() == [2, 3]
    assert grid.seen_in_light[..., 0].sum() == 0


def test_until_a_day_knows_nothing_later(grid: SightingGrid) -> None:
    known = grid.until(pd.Timestamp("2024-09-05"))
    assert known.bucks == ("Ash",), "Oak had not been seen yet"
    assert len(known.days) == len(known.running) == len(known.seen) == 5
    assert known.seen.sum() == 3
    assert grid.until(LAST).bucks == grid.bucks


def test_last_days(grid: SightingGrid) -> None:
    last = grid.last(3)
    assert last.days[0] == pd.Timestamp("2024-09-08")
    assert last.seen.sum() == 1 and last.bucks == grid.bucks


def test_a_site_with_a_visit_and_no_effort_is_a_site() -> None:
    seen = visits({"Ash": days("2024-09-02", "2024-09-02")}, site="Dogwood")
    grid = sighting_grid(seen, effort("2024-09-01", "2024-09-10"), FIRST, LAST)
    assert grid.sites == ("Alder", "Birch", "Cedar", "Dogwood")
    assert grid.running[:, 3].sum() == 0 and grid.seen[1, 0, 3]


def test_codes() -> None:
    assert codes(pd.Series(["b", "z", "a"], dtype="str"), ("a", "b")).tolist() == [1, -1, 0]


def test_where_he_may_have_been_is_unsure_but_not_where_he_was() -> None:
    seen = visits({"Ash": days("2024-09-02", "2024-09-04")})
    maybe = visits({"Ash": days("2024-09-04", "2024-09-06"), "Elm": days(LAST, LAST)})
    late = visits({"Ash": days("2024-09-11", "2024-09-12")})
    ran = effort("2024-09-01", "2024-09-10")
    grid = sighting_grid(seen, ran, FIRST, LAST, pd.concat([maybe, late]))
    assert grid.unsure[:, 0, 0].nonzero()[0].tolist() == [4, 5]
    assert grid.unsure.sum() == 2
    assert not sighting_grid(seen, ran, FIRST, LAST).unsure.any()
    assert grid.until(pd.Timestamp("2024-09-05")).unsure.sum() == 1
