"""Distances and days on tracks made by hand."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR, days, effort, visits

from deerlog.analysis.forecast.sighting_grid import sighting_grid
from deerlog.analysis.shift.shift import (
    FALL,
    SHIFT_COLUMNS,
    PhaseUse,
    shift,
    shift_distance,
    use_centre,
)

SITES = pd.DataFrame(
    {"site": ["Alder", "Birch", "Cedar"], "x_m": [0.0, 800.0, 0.0], "y_m": [0.0, 0.0, 600.0]}
)
POSITION = SITES[["x_m", "y_m"]].to_numpy()


def shifts(
    seen: dict[str, list[pd.Timestamp]], ran: pd.DataFrame | None = None, around: float = 1.0
) -> pd.DataFrame:
    """``seen`` by site, one season."""
    table = pd.concat([visits({"Ash": on}, site=site) for site, on in seen.items()])
    ran = effort("2024-06-01", "2025-01-31") if ran is None else ran
    last = pd.Timestamp("2025-01-31")
    grid = sighting_grid(table, ran, pd.Timestamp("2024-06-01"), last)
    here = pd.DataFrame({"Ash": around}, index=grid.days)
    return shift(grid, here, CALENDAR, SITES, ("Ash", "Nobody"))


def row(table: pd.DataFrame, start: str, end: str) -> pd.Series:
    found = table[(table["from_phase"] == start) & (table["to_phase"] == end)]
    assert len(found) == 1
    return found.iloc[0]


def test_a_plain_move() -> None:
    """Alder all summer, Birch from 8 September on: 800 m."""
    table = shifts(
        {"Alder": days("2024-06-03", "2024-09-06", 2), "Birch": days("2024-09-08", "2025-01-30", 2)}
    )
    assert list(table.columns) == SHIFT_COLUMNS
    moved = row(table, "summer", FALL)
    assert moved["distance_m"] == pytest.approx(800, rel=0.15)
    assert moved["low_m"] > 500 and moved["high_m"] <= 800
    assert abs((moved["change_day"] - pd.Timestamp("2024-09-07")).days) <= 2
    assert moved["change_probability"] > 0.95
    stayed = row(table, "pre-rut", "rut")
    assert stayed["distance_m"] < 60 and stayed["low_m"] == 0
    assert pd.isna(stayed["change_day"]) and stayed["change_probability"] < 0.5


def test_effort_is_corrected_for() -> None:
    """He stays between both; Birch is out from September on. Raw counts would say he moved."""
    ran = effort("2024-06-01", "2025-01-31")
    out = (ran["site"] == "Birch") & (ran["day"] < "2024-09-01")
    rng = np.random.default_rng(2)
    on = pd.date_range("2024-06-01", "2025-01-31", unit="us")
    alder, birch = (list(on[rng.random(len(on)) < 0.4]) for _ in range(2))
    birch = [d for d in birch if d >= pd.Timestamp("2024-09-01")]
    table = shifts({"Alder": alder, "Birch": birch}, ran[~out])
    assert row(table, "summer", FALL)["change_probability"] < 0.5


def test_few_days_are_not_enough_to_tell() -> None:
    table = shifts({"Alder": days("2024-06-03", "2024-06-05") + days("2024-09-10", "2024-12-30")})
    assert "summer" not in set(table["from_phase"])
    assert shifts({"Alder": days("2024-06-03", "2024-06-03")}).empty


def test_same_record_same_answer() -> None:
    seen = {
        "Alder": days("2024-06-03", "2024-09-06", 3),
        "Birch": days("2024-09-01", "2024-12-30", 3),
    }
    pd.testing.assert_frame_equal(shifts(seen), shifts(seen))


def test_a_centre_by_hand() -> None:
    """10 days at Alder of 20, 5 at Birch of 5, none at Cedar of 20 (one day of average added)."""
    seen, exposure = np.zeros((20, 3)), np.ones((20, 3))
    seen[:10, 0] = seen[:5, 1] = 1
    exposure[5:, 1] = 0
    use = PhaseUse(days=np.arange(20), seen=seen, exposure=exposure)
    average = 15 / 45
    rates = np.array([(10 + average) / 21, (5 + average) / 6, (0 + average) / 21])
    np.testing.assert_allclose(use_centre(use, POSITION)[0], rates @ POSITION / rates.sum())


def test_interval_holds_the_distance_as_often_as_it_says() -> None:
    """Many records of one buck with a known use: 95 % of intervals hold the true distance."""
    rng = np.random.default_rng(11)
    before, after = np.array([0.4, 0.1, 0.2]), np.array([0.1, 0.3, 0.2])
    true = float(np.hypot(*(after @ POSITION / after.sum() - before @ POSITION / before.sum())))
    held = 0
    for _ in range(60):
        parts = [
            PhaseUse(
                days=np.arange(80),
                seen=(rng.random((80, 3)) < rate).astype(float),
                exposure=np.ones((80, 3)),
            )
            for rate in (before, after)
        ]
        _, low, high = shift_distance(*parts, POSITION)
        held += low <= true <= high
    # 95 % of 60 is 57; fewer than 51 has a chance below 1 in 100.
    assert held >= 51


def test_interval_of_no_move_reaches_down_to_none() -> None:
    rng = np.random.default_rng(12)
    lows = []
    for _ in range(40):
        parts = [
            PhaseUse(
                days=np.arange(80),
                seen=(rng.random((80, 3)) < 0.2).astype(float),
                exposure=np.ones((80, 3)),
            )
            for _ in range(2)
        ]
        lows.append(shift_distance(*parts, POSITION)[1])
    assert sum(low == 0 for low in lows) >= 34


def test_a_site_of_unknown_place_is_left_out() -> None:
    sites = SITES.assign(x_m=[0.0, 800.0, np.nan])
    table = visits({"Ash": days("2024-06-03", "2024-12-30", 2)}, site="Cedar")
    grid = sighting_grid(
        table, effort("2024-06-01", "2024-12-31"), pd.Timestamp("2024-06-01"),
        pd.Timestamp("2024-12-31"),
    )  # fmt: skip
    here = pd.DataFrame({"Ash": 1.0}, index=grid.days)
    assert shift(grid, here, CALENDAR, sites, ("Ash",)).empty
