"""Which sites a buck used in each phase."""

from __future__ import annotations

import pandas as pd
import pytest

from deerlog.analysis.shift.shift import phase_use
from deerlog.timekeeping.seasons import SeasonCalendar

CALENDAR = SeasonCalendar()


def effort(*rows: tuple[str, str, str, float]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["camera", "site", "day", "camera_day"])
    return table.assign(day=pd.to_datetime(table["day"]))


def visits(*rows: tuple[str, str, str, bool]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["buck", "site", "day", "in_light"])
    day = pd.DatetimeIndex(pd.to_datetime(table["day"]))
    return table.assign(day=day, season=CALENDAR.season_of(day), phase=CALENDAR.phase_of(day))


def test_visits_stand_against_what_ran() -> None:
    table = phase_use(
        visits(
            ("Lantern", "Oak", "2025-11-08", True),
            ("Lantern", "Oak", "2025-11-09", False),
            ("Lantern", "Oak", "2025-07-01", False),
            ("Other", "Oak", "2025-11-08", True),
        ),
        effort(
            ("a", "Oak", "2025-11-08", 1.0),
            ("b", "Oak", "2025-11-08", 0.5),
            ("a", "Elm", "2025-11-08", 1.0),
            ("a", "Oak", "2025-07-01", 0.5),
            ("a", "Ash", "2025-07-01", 0.0),
        ),
        CALENDAR,
        "Lantern",
    )
    assert [tuple(row) for row in table.to_numpy()] == [
        ("summer", "Oak", 1, 0, 0.5, 200.0),
        ("rut", "Elm", 0, 0, 1.0, 0.0),
        ("rut", "Oak", 2, 1, 1.5, pytest.approx(100 * 2 / 1.5)),
    ]


def test_what_ran_before_he_was_known_says_nothing() -> None:
    table = phase_use(
        visits(("Lantern", "Oak", "2025-11-08", True)),
        effort(("a", "Oak", "2024-11-08", 1.0), ("a", "Oak", "2025-11-08", 1.0)),
        CALENDAR,
        "Lantern",
    )
    assert list(table["camera_days"]) == [1.0]


def test_a_visit_where_nothing_ran_has_no_rate() -> None:
    seen = visits(("Lantern", "Oak", "2025-11-08", True))
    table = phase_use(seen, effort(("a", "Elm", "2025-11-08", 1.0)), CALENDAR, "Lantern")
    oak = table[table["site"] == "Oak"].iloc[0]
    assert oak["visits"] == 1 and oak["camera_days"] == 0 and pd.isna(oak["per_100_camera_days"])


def test_a_buck_never_seen_has_what_ran_and_no_visits() -> None:
    table = phase_use(
        visits(("Lantern", "Oak", "2025-11-08", True)),
        effort(("a", "Oak", "2025-11-08", 1.0)),
        CALENDAR,
        "Nobody",
    )
    assert list(table["visits"]) == [0]
