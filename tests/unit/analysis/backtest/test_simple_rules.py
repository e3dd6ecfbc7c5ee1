"""The two rules of thumb, by hand."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import days, effort, visits

from deerlog.analysis.backtest.backtest import (
    ALL_TIME_WEIGHT,
    LAST_DAYS_WEIGHT,
    all_time_rate,
    last_days_rate,
)
from deerlog.analysis.forecast.sighting_grid import SightingGrid, sighting_grid


def grid() -> SightingGrid:
    """100 days, three cameras; Ash in the first 40 days, every other PM, at Alder."""
    return sighting_grid(
        visits({"Ash": days("2024-06-01", "2024-07-09", 2)}),
        effort("2024-06-01", "2024-09-08"),
        pd.Timestamp("2024-06-01"),
        pd.Timestamp("2024-09-08"),
    )


AVERAGE = (20 + 0.5) / (600 + 1)
"""20 half-days with a visit of 3 sites x 100 days x 2 halves; the halves keep it above 0."""


def test_all_time() -> None:
    rate = all_time_rate(grid())
    assert rate.shape == (1, 3, 2)
    assert rate[0, 0, 1] == pytest.approx(
        (20 + ALL_TIME_WEIGHT * AVERAGE) / (100 + ALL_TIME_WEIGHT)
    )
    assert rate[0, 1, 1] == pytest.approx(ALL_TIME_WEIGHT * AVERAGE / (100 + ALL_TIME_WEIGHT))
    assert rate[0, 0, 0] == pytest.approx(rate[0, 1, 1])


def test_all_time_is_since_he_was_first_seen() -> None:
    late = sighting_grid(
        visits(
            {"Ash": days("2024-06-01", "2024-07-09", 2), "Oak": days("2024-08-20", "2024-08-20")}
        ),
        effort("2024-06-01", "2024-09-08"),
        pd.Timestamp("2024-06-01"),
        pd.Timestamp("2024-09-08"),
    )
    average = (21 + 0.5) / (2 * 600 + 1)
    # Oak: one visit in the 20 days from 20 August on.
    wanted = (1 + ALL_TIME_WEIGHT * average) / (20 + ALL_TIME_WEIGHT)
    assert all_time_rate(late)[1, 0, 1] == pytest.approx(wanted)


def test_last_14_days_have_forgotten_him() -> None:
    rate = last_days_rate(grid())
    assert rate[0, 0, 1] == pytest.approx(LAST_DAYS_WEIGHT * AVERAGE / (14 + LAST_DAYS_WEIGHT))
    then = last_days_rate(grid().until(pd.Timestamp("2024-07-09")))
    # 26 June to 9 July: he came on the 7 odd days of the record among them.
    average = (20 + 0.5) / (39 * 6 + 1)
    assert then[0, 0, 1] == pytest.approx(
        (7 + LAST_DAYS_WEIGHT * average) / (14 + LAST_DAYS_WEIGHT)
    )


def test_no_chance_is_0_or_1() -> None:
    for rate in (all_time_rate(grid()), last_days_rate(grid())):
        assert ((rate > 0) & (rate < 1)).all() and np.isfinite(rate).all()
