"""The deer year: seasons, phases and weeks."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from deerlog.timekeeping.seasons import PHASES, WEEKDAYS, SeasonCalendar, week_start


def days(*text: str) -> pd.DatetimeIndex:
    return pd.DatetimeIndex(text)


def test_a_season_is_named_for_the_year_it_opens_in() -> None:
    calendar = SeasonCalendar()
    assert list(calendar.season_of(days("2023-05-31", "2023-06-01", "2024-02-29"))) == [
        2022, 2023, 2023,
    ]  # fmt: skip
    assert calendar.bounds(2023) == (date(2023, 6, 1), date(2024, 6, 1))


def test_season_day_counts_through_a_leap_day() -> None:
    calendar = SeasonCalendar()
    got = calendar.season_day(days("2023-06-01", "2024-02-29", "2024-05-31", "2024-06-01"))
    assert list(got) == [0, 273, 365, 0]
    assert list(calendar.season_day(days("2023-05-31"))) == [364]


def test_phases_of_the_default_season() -> None:
    # Summer to 31 August; early season to 22 days before the peak of 12 November;
    # pre-rut 21 to 8 before; rut 7 before to 14 after.
    edges = {
        "2023-06-01": "summer",
        "2023-08-31": "summer",
        "2023-09-01": "early season",
        "2023-10-21": "early season",
        "2023-10-22": "pre-rut",
        "2023-11-04": "pre-rut",
        "2023-11-05": "rut",
        "2023-11-26": "rut",
        "2023-11-27": "late season",
        "2024-05-31": "late season",
    }
    assert list(SeasonCalendar().phase_of(days(*edges))) == list(edges.values())


def test_a_rut_in_january_lies_in_the_season_it_belongs_to() -> None:
    calendar = SeasonCalendar(rut_peak=(1, 10))
    assert calendar.rut_peak_day(2023) == date(2024, 1, 10)
    edges = {
        "2023-12-19": "early season",
        "2023-12-20": "pre-rut",
        "2024-01-02": "pre-rut",
        "2024-01-03": "rut",
        "2024-01-24": "rut",
        "2024-01-25": "late season",
    }
    assert list(calendar.phase_of(days(*edges))) == list(edges.values())


def test_a_rut_in_summer_keeps_its_days() -> None:
    bounds = {p: (a, b) for p, a, b in SeasonCalendar(rut_peak=(7, 25)).phase_bounds(2023)}
    assert bounds["rut"] == (date(2023, 7, 18), date(2023, 8, 9))
    assert bounds["pre-rut"] == (date(2023, 7, 4), date(2023, 7, 18))
    assert bounds["summer"] == (date(2023, 6, 1), date(2023, 7, 4))


@pytest.mark.parametrize(
    ("season_start", "rut_peak", "summer"),
    [
        # South of the equator: summer is December to February.
        ((12, 1), (5, 12), ("2023-12-01", "2024-03-01")),
        ((9, 1), (4, 12), ("2023-09-01", "2024-03-01")),
        ((2, 1), (5, 12), ("2023-02-01", "2023-03-01")),
        # A northern season that begins in fall has no summer before its rut.
        ((9, 1), (11, 12), ("2023-09-01", "2023-09-01")),
        ((10, 1), (11, 12), ("2023-10-01", "2023-10-01")),
        # One that begins with the year has its own.
        ((1, 1), (11, 12), ("2023-01-01", "2023-09-01")),
        ((3, 1), (11, 12), ("2023-03-01", "2023-09-01")),
        ((8, 31), (11, 12), ("2023-08-31", "2023-09-01")),
    ],
)
def test_summer_follows_the_season(
    season_start: tuple[int, int], rut_peak: tuple[int, int], summer: tuple[str, str]
) -> None:
    name, first, after = SeasonCalendar(season_start, rut_peak).phase_bounds(2023)[0]
    assert (name, str(first), str(after)) == ("summer", *summer)


@pytest.mark.parametrize("season_start", [(1, 1), (4, 1), (8, 1), (9, 1), (12, 31)])
def test_the_peak_lies_inside_the_season(season_start: tuple[int, int]) -> None:
    for peak in ((1, 10), (9, 1), (11, 12), (12, 31)):
        calendar = SeasonCalendar(season_start, peak)
        first, after = calendar.bounds(2023)
        at = calendar.rut_peak_day(2023)
        assert first <= at < after
        assert (at.month, at.day) == peak


month_days = st.dates(date(2023, 1, 1), date(2023, 12, 31)).map(lambda d: (d.month, d.day))
calendars = st.builds(SeasonCalendar, month_days, month_days)


@given(calendar=calendars, season=st.integers(1999, 2040))
def test_phases_fill_the_season_without_gap(calendar: SeasonCalendar, season: int) -> None:
    bounds = calendar.phase_bounds(season)
    first, after = calendar.bounds(season)
    assert [name for name, _, _ in bounds] == list(PHASES)
    assert bounds[0][1] == first
    assert bounds[-1][2] == after
    for (_, _, end), (_, begin, _) in pairwise(bounds):
        assert end == begin
    assert all(begin <= end for _, begin, end in bounds)
    # The peak itself is always in the rut.
    peak = pd.DatetimeIndex([calendar.rut_peak_day(season)])
    assert calendar.phase_of(peak)[0] == "rut"


@given(calendar=calendars, day=st.dates(date(1999, 1, 1), date(2040, 1, 1)))
def test_a_day_lies_in_its_season_and_phase(calendar: SeasonCalendar, day: date) -> None:
    index = pd.DatetimeIndex([day])
    season = int(calendar.season_of(index)[0])
    first, after = calendar.bounds(season)
    assert first <= day < after
    assert calendar.season_day(index)[0] == (day - first).days
    inside = [name for name, begin, end in calendar.phase_bounds(season) if begin <= day < end]
    assert inside == list(calendar.phase_of(index))


@given(day=st.dates(date(1999, 1, 1), date(2040, 1, 1)), starts=st.sampled_from(WEEKDAYS))
def test_a_week_starts_on_its_weekday_and_holds_the_day(day: date, starts: str) -> None:
    first = week_start(pd.DatetimeIndex([day]), starts)[0].date()
    assert first.strftime("%a") == starts
    assert timedelta(0) <= day - first < timedelta(days=7)


def test_empty_and_other_inputs() -> None:
    calendar = SeasonCalendar()
    empty = pd.DatetimeIndex([])
    assert len(calendar.season_of(empty)) == len(calendar.phase_of(empty)) == 0
    assert len(calendar.season_day(empty)) == len(week_start(empty)) == 0
    series = pd.Series(days("2023-11-12", "2023-06-01"), index=[7, 3])
    array = np.asarray(series)
    assert list(calendar.phase_of(series)) == list(calendar.phase_of(array)) == ["rut", "summer"]
