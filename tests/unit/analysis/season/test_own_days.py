"""A visitor's days to come: three like years give his days, unlike ones a longer stretch."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR, days

from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.season.own_days import days_of_visits, own_days, shortest_run
from deerlog.analysis.season.stays import CALENDAR_COLUMNS, stays, whereabouts


def test_three_like_years_give_his_days_within_two_days_at_both_ends() -> None:
    """Days 7 to 16, 6 to 15 and 9 to 15 November, with a peak on the 12th."""
    found = own_days([-5, -6, -3], [10, 10, 7])
    first, last = np.mean([7, 6, 9]), np.mean([16, 15, 15])
    assert abs(12 + found.first - first) <= 2
    assert abs(12 + found.last - last) <= 2
    assert (found.earliest, found.latest, found.seasons) == (-6, 4, 3)
    assert found.comes > 0.9


def test_years_farther_apart_make_a_longer_stretch_and_one_year_leans_on_the_rut() -> None:
    like, unlike = own_days([-5, -6, -4], [10, 10, 10]), own_days([-15, -6, 5], [10, 10, 10])
    assert unlike.last - unlike.first > 1.3 * (like.last - like.first)
    one = own_days([20], [10])
    three = own_days([20, 20, 20], [10, 10, 10])
    assert one.arrival[1] < three.arrival[1] <= 20, "nearer to the rut while less is known of him"


def test_what_a_stay_holds_is_what_was_asked_for() -> None:
    found = own_days([0, 2, 4], [8, 12, 10])
    inside = found.inside[(found.days >= found.first) & (found.days <= found.last)].sum()
    assert inside / found.inside.sum() >= 0.8
    fewer = found.inside[(found.days > found.first) & (found.days <= found.last)].sum()
    assert fewer / found.inside.sum() < 0.8, "one day less holds too little"


def test_days_gone_by_without_him_are_no_days_of_his() -> None:
    waiting = own_days([0, 1, 2], [10, 10, 10], not_before=3)
    assert waiting.first > 3 and waiting.arrival[0] > 3
    assert waiting.comes < own_days([0, 1, 2], [10, 10, 10]).comes
    skipped = own_days([0, 1], [10, 10], watched_without=2)
    assert skipped.comes < own_days([0, 1], [10, 10]).comes


@pytest.mark.parametrize(
    ("weight", "share", "run"),
    [([0, 1, 5, 5, 1, 0], 0.8, (2, 3)), ([1, 1, 1, 1], 0.5, (0, 1)), ([0, 0, 9], 1.0, (2, 2))],
)
def test_the_shortest_run(weight: list[float], share: float, run: tuple[int, int]) -> None:
    assert shortest_run(np.asarray(weight, dtype=float), share) == run


def test_the_share_of_the_stay_inside_over_simulated_visitors() -> None:
    """Arrivals spread by 3 days: at least 80 % inside, in about one and a half stays."""
    draw = np.random.default_rng(20)
    inside, length = [], []
    for _ in range(60):
        arrivals = np.round(draw.normal(2, 8) + draw.normal(0, 3, 4))
        lengths = np.maximum(np.round(np.exp(np.log(10) + draw.normal(0, 0.25, 4))), 1)
        found = own_days(arrivals[:3].tolist(), lengths[:3].tolist())
        stay = np.arange(arrivals[3], arrivals[3] + lengths[3])
        inside.append(((stay >= found.first) & (stay <= found.last)).mean())
        length.append((found.last - found.first + 1) / lengths[3])
    assert np.mean(inside) >= 0.8
    assert np.mean(length) <= 1.7


def record(*spans: tuple[str, str], until: str) -> tuple[pd.DataFrame, SightingGrid]:
    """One buck, seen on every day of some spans at one site that ran all the time."""
    index = pd.date_range("2022-06-01", until, freq="D", unit="us")
    seen = np.zeros((len(index), 1, 1), dtype=bool)
    for span in spans:
        seen[index.isin(pd.DatetimeIndex(days(*span))), 0, 0] = True
    grid = SightingGrid(
        days=index, bucks=("Ash",), sites=("Gate",), running=np.ones((len(index), 1)), seen=seen,
        seen_in_light=np.stack([seen, ~seen & False], axis=-1), unsure=np.zeros_like(seen),
    )  # fmt: skip
    around = pd.DataFrame({"Ash": np.where(seen[:, 0, 0], 0.95, 0.05)}, index=index)
    return around, grid


VISITS = (("2022-11-07", "2022-11-16"), ("2023-11-06", "2023-11-15"), ("2024-11-09", "2024-11-15"))


def test_stays_and_the_gaps_between_them() -> None:
    table = stays(*record(*VISITS, until="2025-07-01"), CALENDAR)
    assert list(table.columns) == CALENDAR_COLUMNS
    assert table["season"].tolist() == [2022, 2023, 2024]
    assert table["days_seen"].tolist() == [10, 10, 7]
    assert table["light_am"].tolist() == [10, 10, 7] and table["light_pm"].tolist() == [0, 0, 0]
    assert table["arrived"].dt.strftime("%m-%d").tolist() == ["11-07", "11-06", "11-09"]
    gap = (pd.Timestamp("2023-11-06") - pd.Timestamp("2022-11-16")).days - 1
    assert table["gap_before_days"].tolist() == [pd.NA, gap, 360 - 1]
    assert table["gap_watched_days"].tolist()[1:] == [gap, 359]


def test_his_days_from_his_stays_in_july() -> None:
    around, grid = record(*VISITS, until="2025-07-01")
    table = stays(around, grid, CALENDAR)
    found = days_of_visits(
        table, grid, CALENDAR, 2025, usual_arrival=(0.0, 9.0), usual_length=9.0, skip=0.1
    )
    assert found is not None
    peak = CALENDAR.rut_peak_day(2025).day
    assert abs(peak + found.first - 22 / 3) <= 2 and abs(peak + found.last - 46 / 3) <= 2
    where = whereabouts(table, grid, CALENDAR, "Ash")
    assert where.state == "due" and where.days == (pd.Timestamp("2025-11-06") - grid.days[-1]).days


def test_where_he_stands() -> None:
    summer = ("2022-06-01", "2022-09-10")

    def state(*spans: tuple[str, str], until: str) -> tuple[str, int]:
        around, grid = record(*spans, until=until)
        found = whereabouts(stays(around, grid, CALENDAR), grid, CALENDAR, "Ash")
        return found.state, found.days

    assert state(summer, until="2022-08-01") == ("here", 62)
    back = ("2022-09-21", "2022-10-10")
    assert state(summer, back, until="2022-10-19") == ("away", 9)
    assert state(summer, back, until="2022-10-25") == ("overdue", 15)
    assert state(*VISITS, until="2024-12-01") == ("gone", 16)
    assert state(until="2022-12-01") == ("unknown", 0)
