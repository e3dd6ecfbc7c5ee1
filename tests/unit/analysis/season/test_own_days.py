"""A visitor's days to come: three like years give his days, unlike ones a longer stretch."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR, days
from scipy.stats import norm

from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.season.own_days import (
    YEAR_SPREADS,
    days_of_visits,
    own_days,
    shortest_run,
)
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


def test_a_stay_at_the_peak_may_come_as_much_early_as_late() -> None:
    found = own_days([0], [9], usual_arrival=(0.0, 9.0))
    early, middle, late = found.arrival
    assert (early, middle) == (-late, 0) and late > 2
    # Eight in ten arrivals lie between; most of one he was here for.
    assert found.departure[0] > early and found.departure[2] > late
    assert (found.earliest, found.latest, found.seasons) == (0, 8, 1)
    # Two seasons thought of beforehand, of ten he skips one; and the one he came in.
    assert found.comes == pytest.approx((2 * 0.9 + 1) / 3)


def test_tenths_of_the_arrival_against_draws_of_it() -> None:
    """Many like years leave but the year-to-year spread: all have come two days apart."""
    rng = np.random.default_rng(3)
    years = rng.normal(5.0, 3.3, 400)
    found = own_days(years.tolist(), [10.0] * 400)
    wanted = np.quantile(rng.normal(years.mean(), years.std(), 100_000), [0.1, 0.5, 0.9])
    assert found.arrival == pytest.approx(wanted, abs=0.75)
    # A tenth of the last days too: arrivals as spread as that, and nine days later.
    assert np.array(found.departure) - found.arrival == pytest.approx(9.0, abs=1.0)


def test_where_he_stands_on_the_days_on_which_that_changes() -> None:
    def state(*spans: tuple[str, str], until: str) -> tuple[str, int]:
        around, grid = record(*spans, until=until)
        found = whereabouts(stays(around, grid, CALENDAR), grid, CALENDAR, "Ash")
        return found.state, found.days

    # Ten days is the longest absence that he came back from.
    stayed = ("2022-06-01", "2022-09-10"), ("2022-09-21", "2022-10-10")
    assert state(*stayed, until="2022-10-20") == ("away", 10)
    assert state(*stayed, until="2022-10-21") == ("overdue", 11)
    # He has left by the 16th of November and come on the 6th or the 7th.
    assert state(*VISITS, until="2024-11-16") == ("unknown", 1)
    assert state(*VISITS, until="2024-11-17") == ("gone", 2)
    since = pd.Timestamp("2024-11-05") - pd.Timestamp("2023-11-15")
    for day, wanted in (
        ("05", ("due", 1)), ("06", ("due", 0)), ("07", ("due", 0)),
        ("08", ("overdue", since.days + 3)), ("16", ("overdue", since.days + 11)),
        ("17", ("gone", since.days + 12)),
    ):  # fmt: skip
        assert state(*VISITS[:2], until=f"2024-11-{day}") == wanted


def test_a_stay_is_cut_where_the_season_ends_and_runs_on() -> None:
    table = stays(*record(("2023-05-20", "2023-06-10"), until="2023-07-01"), CALENDAR)
    assert table["season"].tolist() == [2022, 2023] and table["stay"].tolist() == [1, 1]
    assert table["left"].dt.strftime("%m-%d").tolist() == ["05-31", "06-10"]
    assert table["days_seen"].tolist() == [12, 10]
    assert table["gap_before_days"].tolist() == [pd.NA, 0]
    going_on = stays(*record(("2023-06-20", "2023-07-01"), until="2023-07-01"), CALENDAR)
    assert going_on["left"].isna().tolist() == [True]


def test_half_a_chance_is_around_and_half_his_cameras_are_a_watch() -> None:
    around, grid = record(("2022-07-01", "2022-07-03"), ("2022-07-06", "2022-07-09"),
                          until="2022-07-20")  # fmt: skip
    running = np.ones((len(grid.days), 1))
    running[grid.days == "2022-07-04"], running[grid.days == "2022-07-05"] = 0.5, 0.49
    grid = replace(grid, running=running)
    table = stays(around.clip(upper=0.5), grid, CALENDAR)
    assert table["days_seen"].tolist() == [3, 4]
    assert (table["gap_before_days"].iloc[1], table["gap_watched_days"].iloc[1]) == (2, 1)
    assert stays(around.clip(upper=0.49), grid, CALENDAR).empty


def test_a_past_rut_counts_as_missed_where_it_was_watched() -> None:
    """He came in 2022 and not in 2023; of that rut some days were watched, or hardly any."""
    visited = (VISITS[0],)
    found = {}
    for n_watched in (0, 15, 17, 31):
        around, grid = record(*visited, until="2024-07-01")
        rut = (grid.days >= "2023-11-01") & (grid.days <= "2023-12-15")
        rut &= np.asarray(CALENDAR.phase_of(grid.days) == "rut")
        running = np.ones((len(grid.days), 1))
        running[np.flatnonzero(rut)[n_watched:]] = 0
        grid = replace(grid, running=running)
        usual = {"usual_arrival": (0.0, 9.0), "usual_length": 9.0, "skip": 0.1}
        table = stays(around, grid, CALENDAR)
        got = days_of_visits(table, grid, CALENDAR, 2024, **usual)  # type: ignore[arg-type]
        assert got is not None
        found[n_watched / rut.sum()] = got.comes
    missed, none = own_days([-5], [10], watched_without=1), own_days([-5], [10])
    for share, comes in found.items():
        wanted = missed if share > 0.5 else none
        assert comes == pytest.approx(wanted.comes, abs=2e-3), share


@pytest.mark.parametrize("came", [-20.0, 12.0])
def test_one_past_arrival_by_every_spread(came: float) -> None:
    """His middle lies about the rut and his years about it, each spread so far as it is likely."""
    found = own_days([came], [9])
    day, total = np.arange(-75, 76), np.zeros(151)
    for spread, log_prior in zip(YEAR_SPREADS, np.log(YEAR_SPREADS / 2.5) / 0.7, strict=True):
        between = max(81.0 - spread**2, 1.0)
        weight = norm.pdf(log_prior) * norm.pdf(came, 0, np.sqrt(between + spread**2))
        known = 1 / (1 / between + 1 / spread**2)
        middle = known * came / spread**2
        total += weight * norm.pdf(day, middle, np.sqrt(known + spread**2))
    share = np.cumsum(total) / total.sum()
    assert found.arrival == tuple(day[np.searchsorted(share, q)] for q in (0.1, 0.5, 0.9))


@pytest.mark.parametrize("not_before", [None, 8])
def test_the_chances_of_being_here_add_up_to_his_days(not_before: int | None) -> None:
    found = own_days([0, 2, 4], [8, 12, 10], not_before=not_before)
    assert found.inside.min() >= 0 and found.inside.max() <= 1
    assert 7 < found.inside.sum() < 13
