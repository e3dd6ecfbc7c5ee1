"""Daylight shares and their cuts."""

from __future__ import annotations

import pandas as pd
import pytest
from invented.buck_record import days, visits

from deerlog.analysis.intervals import jeffreys
from deerlog.analysis.visits import COLUMNS, daylight_share


@pytest.fixture
def table() -> pd.DataFrame:
    light = visits({"Crab": days("2023-11-01", "2023-11-03")}, site="Alder")
    dark = visits({"Crab": days("2023-07-01", "2023-07-02")}, site="Birch", in_light=False)
    later = visits(
        {"Crab": days("2024-11-01", "2024-11-01"), "Tall": days("2024-07-01", "2024-07-01")}
    )
    return daylight_share(pd.concat([light, dark, later]))


def cell(table: pd.DataFrame, buck: str, season: str, **cut: str) -> pd.Series:
    wanted = {"phase": "all", "site": "all", "half": "all"} | cut
    found = table[(table["buck"] == buck) & (table["season"] == season)]
    for column, value in wanted.items():
        found = found[found[column] == value]
    assert len(found) == 1
    return found.iloc[0]


def test_counts_by_every_cut(table: pd.DataFrame) -> None:
    def counts(**cut: str) -> tuple[int, int]:
        row = cell(table, "Crab", cut.pop("season", "2023"), **cut)
        return int(row["shooting_light_visits"]), int(row["visits"])

    assert counts() == (3, 5)
    assert counts(season="2024") == (1, 1)
    assert counts(season="all") == (4, 6)
    assert counts(phase="summer") == (0, 2)
    assert counts(phase="pre-rut") == (3, 3)
    assert counts(site="Birch") == (0, 2)
    assert counts(season="all", site="Alder") == (4, 4)
    assert counts(half="PM") == (3, 5)
    assert counts(phase="summer", site="Birch", half="PM") == (0, 2)


def test_share_and_interval(table: pd.DataFrame) -> None:
    row = cell(table, "Crab", "all")
    assert row["share"] == pytest.approx(4 / 6)
    low, high = jeffreys(4, 6)
    assert (row["low"], row["high"]) == (pytest.approx(float(low)), pytest.approx(float(high)))
    assert ((table["low"] <= table["share"]) & (table["share"] <= table["high"])).all()


def test_no_row_without_visits_and_each_row_once(table: pd.DataFrame) -> None:
    assert (table["visits"] > 0).all()
    assert not table.duplicated(COLUMNS[:5]).any()
    assert "2023" not in set(table.loc[table["buck"] == "Tall", "season"])


def test_every_cut_adds_up(table: pd.DataFrame) -> None:
    whole = table[(table[["phase", "site", "half"]] == "all").all(axis=1)]
    for cut in ("phase", "site", "half"):
        others = [c for c in ("phase", "site", "half") if c != cut]
        part = table[(table[others] == "all").all(axis=1) & (table[cut] != "all")]
        summed = part.groupby(["buck", "season"])["visits"].sum()
        assert summed.to_dict() == whole.set_index(["buck", "season"])["visits"].to_dict()


def test_no_visits() -> None:
    got = daylight_share(visits({}))
    assert list(got.columns) == COLUMNS
    assert got.empty
