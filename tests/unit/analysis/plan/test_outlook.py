"""The best window still to come."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.forecast.windows import WHOLE_COLUMNS
from deerlog.analysis.plan.outlook import outlooks
from deerlog.timekeeping.seasons import SeasonCalendar

CALENDAR = SeasonCalendar()
DAYS = pd.date_range("2022-11-01", "2026-07-15", freq="D", unit="us")


def grid(seen: list[str], not_run: tuple[str, str] | None = None) -> SightingGrid:
    running = np.ones((len(DAYS), 1))
    if not_run is not None:
        running[np.asarray((not_run[0] <= DAYS) & (not_run[1] >= DAYS))] = 0
    came = np.asarray(DAYS.isin(pd.DatetimeIndex(seen)))[:, None, None]
    return SightingGrid(
        days=DAYS,
        bucks=("Passer",),
        sites=("Oak",),
        running=running,
        seen=came,
        seen_in_light=np.repeat(came[..., None], 2, axis=3),
    )


NO_WHOLE = pd.DataFrame(columns=WHOLE_COLUMNS)


def windows(*rows: tuple[str, str, str, str, str, float]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["buck", "site", "half", "opens", "closes", "chance"])
    return table.assign(
        opens=pd.to_datetime(table["opens"]),
        closes=pd.to_datetime(table["closes"]),
        low=table["chance"] / 2,
        high=table["chance"] * 2,
        camera_days_behind=40.0,
    )


RUT = ("Passer", "Oak", "AM", "2026-11-07", "2026-11-16", 0.1)


def test_a_visitor_in_july() -> None:
    seen = ["2022-11-10", "2023-11-09", "2024-11-12", "2025-11-19"]
    (found,) = outlooks(windows(RUT), NO_WHOLE, grid(seen), ["Passer"], CALENDAR)
    assert found.window is not None
    assert (str(found.window.opens), str(found.window.closes)) == ("2026-11-07", "2026-11-16")
    assert (found.window.half, found.window.site, found.window.chance) == ("AM", "Oak", 0.1)
    # 19 November is within four days of the 16th, all four seasons were watched.
    assert (found.seasons_seen, found.seasons_watched) == (4, 4)


def test_a_season_too_far_off_its_dates_does_not_count() -> None:
    (found,) = outlooks(windows(RUT), NO_WHOLE, grid(["2024-11-21"]), ["Passer"], CALENDAR)
    assert (found.seasons_seen, found.seasons_watched) == (0, 4)


def test_a_season_that_was_not_watched_then_is_no_season() -> None:
    (found,) = outlooks(
        windows(RUT),
        NO_WHOLE,
        grid(["2025-11-10"], ("2024-10-20", "2024-12-01")),
        ["Passer"],
        CALENDAR,
    )
    assert (found.seasons_seen, found.seasons_watched) == (1, 3)


def test_where_no_window_is_his_best_site_over_all_days_is_named() -> None:
    whole = windows(("Passer", "Oak", "PM", "2026-10-01", "2027-01-15", 0.04)).assign(even=True)
    (found,) = outlooks(windows(RUT).iloc[:0], whole, grid([]), ["Passer"], CALENDAR)
    assert found.window is None and found.even
    assert found.whole is not None
    assert (found.whole.site, found.whole.half, found.whole.chance) == ("Oak", "PM", 0.04)
    assert (str(found.whole.opens), str(found.whole.closes)) == ("2026-10-01", "2027-01-15")


def test_a_chance_that_rests_on_little_is_not_the_best() -> None:
    """The higher chance reaches far down, the other is sure."""
    table = windows(RUT, ("Passer", "Oak", "PM", "2026-12-01", "2026-12-05", 0.12))
    table["low"] = [0.05, 0.01]
    (found,) = outlooks(table, NO_WHOLE, grid([]), ["Passer"], CALENDAR)
    assert found.window is not None and found.window.chance == 0.1


@pytest.mark.parametrize("order", [1, -1])
def test_the_best_window_is_named_and_no_other_buck_s(order: int) -> None:
    rows = [
        RUT,
        ("Passer", "Oak", "PM", "2026-12-01", "2026-12-05", 0.2),
        ("Other", "Oak", "PM", "2026-12-01", "2026-12-05", 0.9),
    ][::order]
    (found,) = outlooks(windows(*rows), NO_WHOLE, grid([]), ["Passer"], CALENDAR)
    assert found.window is not None and found.window.chance == 0.2


def test_nothing_known() -> None:
    (found,) = outlooks(windows(RUT).iloc[:0], NO_WHOLE, grid([]), ["Passer"], CALENDAR)
    assert found.window is None
