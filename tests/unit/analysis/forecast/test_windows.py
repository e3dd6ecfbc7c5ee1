"""Windows from forecasts made by hand."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR
from scipy.special import logit

from deerlog.analysis.forecast.chances import Forecast
from deerlog.analysis.forecast.sighting_grid import CountsBehind
from deerlog.analysis.forecast.windows import WINDOW_COLUMNS, windows
from deerlog.timekeeping.seasons import PHASES

DAYS = pd.date_range("2024-10-01", "2024-12-31", unit="us")


def forecast(chance: dict[str, list[tuple[str, str, float]]], usual: float = 0.02) -> Forecast:
    """One buck, in the evening: by site, the chance from a day to a day; else the usual one."""
    level = np.full((len(DAYS), 1, len(chance), 2), usual)
    for s, runs in enumerate(chance.values()):
        for first, last, value in runs:
            level[(first <= DAYS) & (last >= DAYS), 0, s, 1] = value
    return Forecast(
        days=DAYS,
        bucks=("Ash",),
        sites=tuple(chance),
        around=np.ones((len(DAYS), 1)),
        log_odds=logit(level),
        sd=np.full(level.shape, 0.5),
        floor=np.zeros(level.shape[1:]),
    )


def behind(n_sites: int) -> CountsBehind:
    shape = (1, n_sites, 2, len(PHASES))
    return CountsBehind(
        visits=np.arange(np.prod(shape)).reshape(shape), camera_days=np.full((1, n_sites, 5), 10.0)
    )


def found(chance: dict[str, list[tuple[str, str, float]]], **other) -> pd.DataFrame:
    made = forecast(chance)
    return windows(made, behind(len(chance)), CALENDAR, ["Ash"], **other)


def test_a_run_well_above_his_own_level() -> None:
    table = found({"Saddle": [("2024-11-07", "2024-11-16", 0.2)], "Pond": []})
    assert list(table.columns) == WINDOW_COLUMNS
    assert len(table) == 1
    row = table.iloc[0]
    assert (row["site"], row["half"]) == ("Saddle", "PM")
    assert row["opens"] == pd.Timestamp("2024-11-07")
    assert row["closes"] == pd.Timestamp("2024-11-16")
    # Mean over the spread of 0.5 in the log odds: a little above 0.2.
    assert row["chance"] == pytest.approx(0.209, abs=0.003)
    assert row["low"] < 0.2 < row["high"]


def test_counts_are_of_the_phases_it_touches() -> None:
    row = found({"Saddle": [("2024-11-01", "2024-11-16", 0.2)]}).iloc[0]
    pre_rut, rut = PHASES.index("pre-rut"), PHASES.index("rut")
    assert row["visits_behind"] == (5 + pre_rut) + (5 + rut)  # PM stands second
    assert row["camera_days_behind"] == 20


def test_a_single_good_day_is_no_window() -> None:
    assert found({"Saddle": [("2024-11-07", "2024-11-09", 0.3)]}).empty


def test_a_dip_is_bridged_a_gap_is_not() -> None:
    one = found({"Saddle": [("2024-11-01", "2024-11-05", 0.2), ("2024-11-08", "2024-11-12", 0.2)]})
    assert len(one) == 1 and one.iloc[0]["closes"] == pd.Timestamp("2024-11-12")
    two = found({"Saddle": [("2024-11-01", "2024-11-05", 0.2), ("2024-11-09", "2024-11-13", 0.2)]})
    assert len(two) == 2


def test_best_first_and_only_what_was_asked_for() -> None:
    both = {
        "Saddle": [("2024-11-07", "2024-11-16", 0.1)],
        "Pond": [("2024-12-01", "2024-12-09", 0.3)],
    }
    assert found(both)["site"].tolist() == ["Pond", "Saddle"]
    assert found(both, sites=["Saddle", "Gone"])["site"].tolist() == ["Saddle"]
    assert found(both, sites=[]).empty
    assert windows(forecast(both), behind(2), CALENDAR, ["Nobody"]).empty


def test_even_chances_are_no_window() -> None:
    assert found({"Saddle": [], "Pond": []}).empty


def test_a_site_that_is_good_all_season_is_no_window() -> None:
    """Above his own level on every day, since he likes it: no stretch is worth waiting for."""
    chance = {"Beans": [("2024-10-01", "2024-12-31", 0.2)], "Pond": []}
    assert found(chance).empty


def test_what_spans_most_of_the_days_ahead_is_no_window() -> None:
    assert len(found({"Saddle": [("2024-10-10", "2024-11-23", 0.2)], "Pond": []})) == 1
    assert found({"Saddle": [("2024-10-10", "2024-11-30", 0.2)], "Pond": []}).empty


def test_a_site_hardly_watched_is_offered_to_nobody() -> None:
    """A day of camera says nothing of the fortnight ahead, however high the chance."""
    chance = {"Saddle": [("2024-11-07", "2024-11-16", 0.2)], "Pond": [("2024-11-07", "2024-11-16",
                                                                      0.1)]}  # fmt: skip
    made, counts = forecast(chance), behind(2)
    for days, names in ((6.9, ["Pond"]), (7.0, ["Saddle", "Pond"])):
        counts.camera_days[0, 0] = 0.0
        counts.camera_days[0, 0, PHASES.index("rut")] = days
        assert windows(made, counts, CALENDAR, ["Ash"])["site"].tolist() == names
