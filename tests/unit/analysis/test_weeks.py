"""Weeks: seen, not seen, or not watched."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.weeks import NOT_SEEN, NOT_WATCHED, SEEN, season_weeks, week_ends, week_table
from deerlog.timekeeping.seasons import SeasonCalendar

COUNTS = ["days_seen", "visits", "shooting_light_visits"]


def table(share: list[float], visits: list[int], **other: Any) -> pd.DataFrame:
    """Weeks of one buck from Monday 4 November 2024."""
    day = pd.date_range("2024-11-04", periods=len(share), freq="D", unit="us")
    n = np.array(visits, dtype=np.int64)[:, None]
    given: dict[str, Any] = {
        "week": day - pd.to_timedelta(np.arange(len(share)) % 7, unit="D"),
        "share": np.array(share)[:, None],
        "camera_days": np.array(share) * 4,
        "visits": n,
        "light_visits": np.minimum(n, 1),
        "around": np.full((len(share), 1), 0.5),
        "least_watched_share": 0.25,
    }
    return week_table(["Forkhorn"], **(given | other))


def test_three_states() -> None:
    share = [1.0] * 7 + [1.0] * 7 + [0.0] * 7
    got = table(share, [0, 2, 0, 1, 0, 0, 0] + [0] * 14)
    assert list(got["state"]) == [SEEN, NOT_SEEN, NOT_WATCHED]
    assert list(got["week_start"]) == list(
        pd.DatetimeIndex(["2024-11-04", "2024-11-11", "2024-11-18"])
    )
    assert got.loc[0, COUNTS].tolist() == [2, 3, 2]
    assert got.loc[1, COUNTS].tolist() == [0, 0, 0]
    assert list(got["camera_days"]) == [28, 28, 0]


def test_a_week_not_watched_has_no_counts_never_zero() -> None:
    got = table([0.0] * 7 + [0.1] * 7 + [1.0] * 7, [0] * 21)
    assert got["state"].tolist() == [NOT_WATCHED, NOT_WATCHED, NOT_SEEN]
    assert got.loc[:1, COUNTS].isna().all(axis=None)
    assert (got.loc[2, COUNTS] == 0).all()
    # Whoever takes a mean over weeks gets the mean over the weeks watched.
    assert got["days_seen"].count() == 1


@pytest.mark.parametrize(("share", "state"), [(0.25, NOT_SEEN), (0.2499, NOT_WATCHED)])
def test_the_least_watched_share_itself_is_watched(share: float, state: str) -> None:
    assert table([share] * 7, [0] * 7)["state"].tolist() == [state]


def test_a_good_day_does_not_make_up_for_a_dead_week() -> None:
    """Twice the usual number of cameras for a day is still one day of seven."""
    assert table([2.0] + [0.0] * 6, [0] * 7)["state"].tolist() == [NOT_WATCHED]
    assert table([1.0, 1.0] + [0.0] * 5, [0] * 7)["state"].tolist() == [NOT_SEEN]


def test_seen_in_a_week_hardly_watched_is_seen() -> None:
    got = table([0.0] * 7, [1] + [0] * 6)
    assert got["state"].tolist() == [SEEN]
    assert got["days_seen"].tolist() == [1]


def test_each_buck_has_his_own_weeks() -> None:
    day = pd.date_range("2024-11-04", periods=14, freq="D", unit="us")
    visits = np.zeros((14, 2), dtype=np.int64)
    visits[3, 0] = visits[10, 1] = 1
    share = np.ones((14, 2))
    share[7:, 0] = 0
    got = week_table(
        ["Crab", "Tall"],
        week=day[[0] * 7 + [7] * 7],
        share=share,
        camera_days=np.ones(14),
        visits=visits,
        light_visits=0 * visits,
        around=np.arange(28.0).reshape(14, 2) / 28,
        least_watched_share=0.25,
    )
    assert got["buck"].tolist() == ["Crab", "Crab", "Tall", "Tall"]
    assert got["state"].tolist() == [SEEN, NOT_WATCHED, NOT_SEEN, SEEN]
    assert got["around"].tolist() == pytest.approx([6 / 28, 20 / 28, 7 / 28, 21 / 28])


def test_weeks_are_cut_at_the_season_and_at_the_last_day() -> None:
    calendar = SeasonCalendar()
    day, week = season_weeks(calendar, 2024, pd.Timestamp("2024-06-12"), "Mon")
    assert (day[0], day[-1]) == (pd.Timestamp("2024-06-01"), pd.Timestamp("2024-06-12"))
    # 1 June 2024 was a Saturday.
    assert list(week_ends(week)) == [1, 8, 11]
    assert week[0] == pd.Timestamp("2024-05-27")
    day, week = season_weeks(calendar, 2023, pd.Timestamp("2030-01-01"), "Sun")
    assert (day[0], day[-1]) == (pd.Timestamp("2023-06-01"), pd.Timestamp("2024-05-31"))
    assert (week.day_name() == "Sunday").all()
