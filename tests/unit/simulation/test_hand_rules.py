"""The two hand rules on hand-made records."""

from __future__ import annotations

import pandas as pd
from simulation.hand_rules import resident_by_months, resident_by_weeks

from deerlog.timekeeping.seasons import SeasonCalendar

CALENDAR = SeasonCalendar()


def _sightings(*rows: tuple[str, str, bool]) -> pd.DataFrame:
    buck, time, unsure = zip(*rows, strict=True)
    return pd.DataFrame(
        {
            "buck": pd.Series(buck, dtype="str"),
            "local": pd.DatetimeIndex(time).tz_localize("America/Chicago"),
            "unsure": unsure,
        }
    )


def _effort(first: str, last: str, **camera_day: float) -> pd.DataFrame:
    days = pd.date_range(first, last, freq="D")
    table = pd.DataFrame({"camera": "a", "site": "s", "day": days, "camera_day": 1.0})
    for day, share in camera_day.items():
        start = pd.Timestamp(day.removeprefix("w"))
        week = (table["day"] >= start) & (table["day"] < start + pd.Timedelta(days=7))
        table.loc[week, "camera_day"] = share
    return table


# 6, 13, 20 and 27 September 2021 are Mondays.
SEEN = _sightings(
    ("two weeks", "2021-09-06 07:00", False),
    ("two weeks", "2021-09-07 07:00", False),
    ("two weeks", "2021-09-19 23:50", False),
    ("three weeks", "2021-09-06 07:00", False),
    ("three weeks", "2021-09-13 07:00", False),
    ("three weeks", "2021-09-21 07:00", False),
    ("unsure", "2021-09-06 07:00", False),
    ("unsure", "2021-09-13 07:00", False),
    ("unsure", "2021-09-21 07:00", True),
)
BUCKS = ["two weeks", "three weeks", "unsure", "never"]


def test_more_than_half_of_the_watched_weeks() -> None:
    effort = _effort("2021-09-06", "2021-10-03")
    rule = resident_by_weeks(SEEN, effort, BUCKS, calendar=CALENDAR)
    assert rule.to_dict() == {
        "two weeks": False,
        "three weeks": True,
        "unsure": False,
        "never": False,
    }


def test_weeks_without_a_camera_count_for_nothing() -> None:
    effort = _effort("2021-09-06", "2021-10-03", **{"w2021-09-27": 0.0})
    rule = resident_by_weeks(SEEN, effort, BUCKS, calendar=CALENDAR)
    assert rule["two weeks"], "2 of 3 watched weeks"


def test_only_the_season_asked_for() -> None:
    effort = _effort("2021-09-06", "2021-10-03")
    assert not resident_by_weeks(SEEN, effort, BUCKS, calendar=CALENDAR, season=2020).any()
    assert not resident_by_months(SEEN, BUCKS, calendar=CALENDAR, season=2020).any()


def test_two_months_outside_the_rut() -> None:
    # With the peak on 12 November the rut runs from the 5th to the 26th.
    seen = _sightings(
        ("resident", "2021-09-30 07:00", False),
        ("resident", "2021-10-01 07:00", False),
        ("one month", "2021-10-01 07:00", False),
        ("one month", "2021-10-31 07:00", False),
        ("rut", "2021-10-20 07:00", False),
        ("rut", "2021-11-05 07:00", False),
        ("rut", "2021-11-26 07:00", False),
        ("two years", "2021-10-20 07:00", False),
        ("two years", "2022-10-20 07:00", False),
        ("unsure", "2021-10-20 07:00", False),
        ("unsure", "2021-12-20 07:00", True),
    )
    bucks = ["resident", "one month", "rut", "two years", "unsure", "never"]
    rule = resident_by_months(seen, bucks, calendar=CALENDAR)
    assert rule[rule].index.tolist() == ["resident", "two years"]
    one_season = resident_by_months(seen, bucks, calendar=CALENDAR, season=2021)
    assert one_season[one_season].index.tolist() == ["resident"]
