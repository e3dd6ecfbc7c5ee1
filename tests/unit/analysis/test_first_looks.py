"""What is told before any name: rates by hour for what ran, and an order of what to look at."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from deerlog.analysis.first_looks import activity_by_hour, look_first


def test_activity_is_visits_for_what_ran() -> None:
    local = pd.to_datetime(["2025-10-01 06:10", "2025-10-02 06:50", "2025-10-02 18:00"])
    visits = pd.DataFrame({"site": ["Seep", "Seep", "Gate"], "local": local})
    effort = pd.DataFrame(
        {"site": ["Seep", "Seep", "Gate", "Ford", "Lost"], "camera_day": [15.0, 10.0, 5.0, 8.0, 0]}
    )
    table = activity_by_hour(visits, effort)
    assert list(table.index) == ["Seep", "Gate", "Ford"], "at the last nothing ran"
    assert list(table.columns) == list(range(24))
    assert table.loc["Seep", 6] == pytest.approx(100 * 2 / 25)
    assert table.loc["Gate", 18] == pytest.approx(20)
    assert table.loc["Ford"].sum() == 0 and table.to_numpy().sum() == pytest.approx(28)


def visits(*rows: tuple[str, str, bool]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["setting", "local", "in_light"])
    table["local"] = pd.to_datetime(table["local"])
    return table.assign(day=table["local"].dt.normalize(), site=[f"s{n}" for n in range(len(rows))])


def test_light_cover_and_the_opener_come_first() -> None:
    table = visits(
        ("food", "2025-10-01 18:00", True),
        ("bed", "2025-08-01 07:00", True),
        ("travel", "2025-10-03 07:00", True),
        ("bed", "2025-10-01 02:00", False),
        ("travel", "2025-09-30 07:00", True),
    )
    first = look_first(table, date(2025, 10, 1), 3)
    assert list(first["site"]) == ["s4", "s2", "s1"]
    assert list(first.columns) == list(table.columns)
    assert list(look_first(table, None, 9)["site"]) == ["s2", "s4", "s1", "s0"]
    assert look_first(table[~table["in_light"]], None, 9).empty
