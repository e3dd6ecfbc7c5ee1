"""The ways to hunt a buck: an opener opens and is over, food is for evenings, visitors come."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR

from deerlog.analysis.forecast.chances import Forecast
from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.season.own_days import own_days
from deerlog.analysis.season.ways import (
    NO,
    NOT_YET,
    OPEN,
    OUTLOOK_COLUMNS,
    OVER,
    WAYS,
    HuntedGround,
    outlook,
)

SITES = ("Beans", "Bench", "Far Bench")
GROUND = HuntedGround(
    sites=pd.DataFrame(
        {
            "site": SITES, "setting": ["food", "bed", "bed"],
            "x_m": [0.0, 300.0, 900.0], "y_m": [0.0, 0.0, 0.0],
        }
    ),
    stand_of={("Beans", "PM"): "Bean Ladder"},
    opening_days=[(date(year, 9, 15), date(year + 1, 1, 15)) for year in (2022, 2023, 2024)],
)  # fmt: skip


def asked(
    today: str, *, around: float | np.ndarray = 0.9, lit: tuple[str, ...] = ("2023-09-16",)
) -> pd.DataFrame:
    """The ways of Ash, seen in light on some evenings at the beans and mornings at the bench."""
    known = pd.date_range("2022-06-01", today, freq="D", unit="us")
    seen = np.zeros((len(known), 1, 3, 2), dtype=bool)
    for day in lit:
        where = known.get_loc(pd.Timestamp(day))
        seen[where, 0, 0, 1] = seen[where, 0, 1, 0] = True
    grid = SightingGrid(
        days=known, bucks=("Ash",), sites=SITES, running=np.ones((len(known), 3)),
        seen=seen.any(axis=3), seen_in_light=seen, unsure=np.zeros(seen.shape[:3], dtype=bool),
    )  # fmt: skip
    ahead = pd.date_range(known[-1] + pd.Timedelta(days=1), "2025-05-31", freq="D", unit="us")
    shape = (len(ahead), 1, 3, 2)
    made = Forecast(
        days=ahead, bucks=("Ash",), sites=SITES,
        around=np.broadcast_to(around, (1, len(ahead))).T.copy(), log_odds=np.full(shape, -2.0),
        sd=np.full(shape, 0.3), floor=np.zeros(shape[1:]),
    )  # fmt: skip
    return outlook(made, grid, CALENDAR, GROUND, ["Ash"], {}).set_index("way")


def test_an_opener_is_not_yet_then_open_then_over() -> None:
    july, opening, after = asked("2024-07-01"), asked("2024-09-15"), asked("2024-09-20")
    assert list(july.reset_index().columns) != [] and list(july.index) == list(WAYS)
    assert july.at["opener", "state"] == NOT_YET
    assert (july.at["opener", "opens"], july.at["opener", "closes"]) == (
        pd.Timestamp("2024-09-15"), pd.Timestamp("2024-09-19"),
    )  # fmt: skip
    assert july.at["opener", "stand"] == "Bean Ladder" and july.at["opener", "half"] == "PM"
    assert opening.at["opener", "state"] == OPEN
    assert after.at["opener", "state"] == OVER
    counts = july.loc["opener", ["seasons_seen", "seasons_watched", "visits_behind"]]
    assert counts.tolist() == [1, 2, 1]
    assert set(OUTLOOK_COLUMNS) == {"way", *july.columns}


def test_an_opener_is_over_once_he_has_left_and_none_where_he_leaves_before() -> None:
    assert asked("2024-09-15", around=0.1).at["opener", "state"] == OVER
    leaving = np.where(np.arange(334) < 30, 0.9, 0.1)
    row = asked("2024-07-01", around=leaving).loc["opener"]
    assert (row["state"], row["reason"]) == (NO, "leaves before")


def test_food_is_for_afternoons_and_cover_near_food_for_mornings_in_the_rut() -> None:
    table = asked("2024-11-10", lit=("2023-09-16", "2023-10-05", "2023-11-10"))
    assert table.at["rut bedding", "state"] == OPEN
    assert (table.at["rut bedding", "site"], table.at["rut bedding", "half"]) == ("Bench", "AM")
    assert table.at["fall food", "half"] == "PM" and table.at["fall food", "state"] == NOT_YET
    october = asked("2024-10-10", lit=("2023-10-05",))
    assert october.at["fall food", "state"] == OPEN
    assert october.at["rut bedding", "reason"] == "not seen there in light"


def test_a_visitor_has_his_own_days_and_no_others() -> None:
    known = asked("2024-07-01")
    assert known.at["his days", "reason"] == "lives here"
    days = own_days([-5, -6, -3], [10, 10, 7])
    index = pd.date_range("2022-06-01", "2024-07-01", freq="D", unit="us")
    seen = np.zeros((len(index), 1, 3, 2), dtype=bool)
    seen[index.get_loc(pd.Timestamp("2023-11-10")), 0, 1, 0] = True
    grid = SightingGrid(
        days=index, bucks=("Ash",), sites=SITES, running=np.ones((len(index), 3)),
        seen=seen.any(axis=3), seen_in_light=seen, unsure=np.zeros(seen.shape[:3], dtype=bool),
    )  # fmt: skip
    ahead = pd.date_range("2024-07-02", "2025-05-31", freq="D", unit="us")
    shape = (len(ahead), 1, 3, 2)
    made = Forecast(
        days=ahead, bucks=("Ash",), sites=SITES, around=np.full((len(ahead), 1), 0.2),
        log_odds=np.full(shape, -2.0), sd=np.full(shape, 0.3), floor=np.zeros(shape[1:]),
    )  # fmt: skip
    table = outlook(made, grid, CALENDAR, GROUND, ["Ash"], {"Ash": days}).set_index("way")
    peak = pd.Timestamp(CALENDAR.rut_peak_day(2024))
    assert table.at["his days", "state"] == NOT_YET
    assert table.at["his days", "opens"] == peak + pd.Timedelta(days=days.first)
    assert table.at["his days", "closes"] == peak + pd.Timedelta(days=days.last)
    assert (table.drop("his days")["state"] == NO).all()


def state_on(day: str, way: str, **other: float) -> tuple[str, str, str]:
    lit = ("2023-09-16", "2023-10-05", "2023-11-10", "2023-12-05")
    row = asked(day, lit=lit, **other).loc[way]
    return row["state"], f"{row['opens']:%m-%d}", f"{row['closes']:%m-%d}"


@pytest.mark.parametrize(
    ("way", "by_day"),
    [
        ("opener", {"09-13": (NOT_YET, "09-15", "09-19"), "09-14": (OPEN, "09-15", "09-19"),
                    "09-18": (OPEN, "09-15", "09-19"), "09-19": (OVER, "09-15", "09-19")}),
        ("fall food", {"09-18": (NOT_YET, "09-20", "11-04"), "09-19": (OPEN, "09-20", "11-04"),
                       "11-03": (OPEN, "09-20", "11-04"), "11-04": (NOT_YET, "11-27", "01-15"),
                       "11-26": (OPEN, "11-27", "01-15")}),
        ("rut bedding", {"11-03": (NOT_YET, "11-05", "11-26"), "11-04": (OPEN, "11-05", "11-26"),
                         "11-25": (OPEN, "11-05", "11-26"), "11-26": (OVER, "11-05", "11-26")}),
    ],
)  # fmt: skip
def test_a_way_opens_the_evening_before_its_first_day_and_is_over_on_its_last(
    way: str, by_day: dict[str, tuple[str, str, str]]
) -> None:
    """The peak of the rut is on 12 November, hunting from 15 September to 15 January."""
    assert {day: state_on(f"2024-{day}", way) for day in by_day} == by_day


def test_an_even_chance_of_being_around_is_enough() -> None:
    assert state_on("2024-09-15", "opener", around=0.5)[0] == OPEN
    assert state_on("2024-09-15", "opener", around=0.49)[0] == OVER
    table = asked("2024-10-10", lit=("2023-10-05",), around=0.49)
    assert table.at["fall food", "reason"] == "away"
    assert asked("2024-10-10", lit=("2023-10-05",), around=0.5).at["fall food", "reason"] == ""


def test_cover_is_near_food_up_to_a_quarter_mile_and_all_is_where_none_is_known() -> None:
    sites = GROUND.sites.assign(x_m=[0.0, 402.0, 402.1])
    assert replace(GROUND, sites=sites).near_food() == ["Bench"]
    bare = sites.assign(setting=["scrape", "bed", "travel"])
    assert replace(GROUND, sites=bare).near_food() == ["Bench", "Far Bench"]


def test_a_season_is_open_from_its_first_day_to_its_last() -> None:
    for day, is_open in (("14", False), ("15", True)):
        assert GROUND.is_open(date(2024, 9, int(day))) is is_open
    assert GROUND.is_open(date(2025, 1, 15)) and not GROUND.is_open(date(2025, 1, 16))
    assert replace(GROUND, opening_days=[]).is_open(date(2025, 7, 1))


def test_the_chance_of_a_way_is_the_mean_of_its_days_at_its_best_place() -> None:
    """At -2 with a spread of 0.3 the mean chance is a little over that at -2."""
    row = asked("2024-11-10", lit=("2023-11-10",)).loc["rut bedding"]
    assert row["chance"] == pytest.approx(0.9 * 0.1222, rel=0.01)
    assert row["low"] < row["chance"] < row["high"]
    # He was seen there in one of two rut seasons, each of 22 days at one site near food.
    counts = row[["seasons_seen", "seasons_watched", "visits_behind", "camera_days_behind"]]
    assert counts.tolist() == [1, 2, 1, 22 + 22 + 6]
