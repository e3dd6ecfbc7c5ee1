"""The opener in the chances: what bucks did on it, season after season, is told of the next one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import days, effort, visits

from deerlog.analysis.forecast.chances import learn
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.sighting_grid import sighting_grid
from deerlog.analysis.visits import daylight_share
from deerlog.timekeeping.seasons import SeasonCalendar

CALENDAR = SeasonCalendar(openings=((9, 15), (12, 29)))
AHEAD = pd.date_range("2024-09-01", "2024-10-10", unit="us")
OPENER = CALENDAR.opener_of(AHEAD)
SITES = pd.DataFrame({"site": ["Alder"], "setting": ["food"], "x_m": [0.0], "y_m": [0.0]})
BUCKS = ("Ash", "Oak", "Elm")


def record(seasons: tuple[int, ...]) -> pd.DataFrame:
    """Every other day in the dark; on the opening days of some seasons every day, in light."""
    on = [d for y in (2021, 2022, 2023) for d in days(f"{y}-09-01", f"{y}-10-10", 2)]
    in_light = [d for y in seasons for d in days(f"{y}-09-15", f"{y}-09-19")]
    dark = [d for d in on if d not in in_light]
    tables = [visits(dict.fromkeys(BUCKS, dark), in_light=False)]
    tables.append(visits(dict.fromkeys(BUCKS, in_light)))
    return pd.concat(tables, ignore_index=True)


def chance(
    table: pd.DataFrame,
    calendar: SeasonCalendar = CALENDAR,
    judgement: ForecastJudgement = ForecastJudgement(),  # noqa: B008
) -> np.ndarray:
    """Mean over bucks of the chance in the evening, by day ahead."""
    first, last = pd.Timestamp("2021-09-01"), pd.Timestamp("2024-08-31")
    ran = pd.concat(
        [effort(f"{y}-09-01", f"{y}-10-10", sites=("Alder",)) for y in (2021, 2022, 2023)]
    )
    grid = sighting_grid(table, ran, first, last)
    every = pd.date_range(first, AHEAD[-1], unit="us")
    around = pd.DataFrame(0.9, index=every, columns=list(BUCKS))
    made = learn(grid, table, around, calendar, SITES, judgement).forecast(AHEAD)
    return np.asarray(made.chance()[:, :, 0, 1].mean(axis=1))


def test_three_seasons_tell_of_the_next_opener_and_one_tells_less() -> None:
    never, once, thrice = (chance(record(s)) for s in ((), (2022,), (2021, 2022, 2023)))
    after = AHEAD > "2024-09-19"
    assert thrice[OPENER].mean() > 1.5 * thrice[after].mean()
    assert never[OPENER].mean() < once[OPENER].mean() < thrice[OPENER].mean()
    of_opener = thrice[OPENER].mean() - never[OPENER].mean()
    assert thrice[after].mean() - never[after].mean() < 0.5 * of_opener


def test_the_opener_is_not_smeared_over_its_borders() -> None:
    got = chance(record((2021, 2022, 2023)))
    step = np.abs(np.diff(got))
    borders = np.flatnonzero(np.diff(OPENER))
    assert set(np.argsort(step)[-2:]) == set(borders)
    assert np.delete(step, borders).max() < 0.3 * step[borders].min()


def test_without_openings_it_is_as_if_the_opener_had_no_effect() -> None:
    """But for the stretches of time, which an opener cuts at its borders: a tenth."""
    table, none = record((2021, 2022, 2023)), replace(ForecastJudgement(), opener_sd=1e-6)
    plain = chance(table, SeasonCalendar())
    assert chance(table, CALENDAR, none) == pytest.approx(plain, rel=0.1)
    assert chance(table)[OPENER].mean() > 2 * plain[OPENER].mean()
    assert daylight_share(table, SeasonCalendar()).equals(daylight_share(table))


def test_daylight_counts_the_opener_in_its_phase_and_by_itself() -> None:
    got = daylight_share(record((2022,)), CALENDAR)
    whole = got[(got["buck"] == "Ash") & (got["season"] == "2022") & (got["site"] == "all")]
    of = whole[whole["half"] == "all"].set_index("phase")
    assert of.loc["opener", ["visits", "shooting_light_visits"]].tolist() == [5, 5]
    assert of.at["early season", "visits"] == of.at["all", "visits"]


@pytest.mark.parametrize(
    ("day", "is_opener"),
    [("2023-09-14", False), ("2023-09-15", True), ("2023-09-19", True), ("2023-09-20", False),
     ("2023-12-31", True), ("2024-01-02", True), ("2024-01-03", False)],
)  # fmt: skip
def test_days_of_the_opener(day: str, is_opener: bool) -> None:
    assert CALENDAR.opener_of(pd.DatetimeIndex([day])).tolist() == [is_opener]
