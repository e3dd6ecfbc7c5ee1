"""Chances put together, as arrays and as a table."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR, days, effort, visits
from scipy.integrate import quad
from scipy.special import expit
from scipy.stats import norm

from deerlog.analysis.forecast.chances import (
    CHANCE_COLUMNS,
    Z_95,
    Forecast,
    chances,
    expected_visits,
    forecast,
)
from deerlog.analysis.forecast.sighting_grid import SightingGrid, counts_behind, sighting_grid

FIRST, TODAY = pd.Timestamp("2024-08-01"), pd.Timestamp("2024-11-01")
AHEAD = pd.date_range("2024-11-02", "2024-11-08", unit="us")
SITES = pd.DataFrame(
    {
        "site": ["Alder", "Birch", "Cedar"],
        "setting": ["food", "travel", "scrape"],
        "x_m": [0.0, 400.0, 900.0],
        "y_m": 0.0,
    }
)
SEEN = visits({"Ash": days("2024-08-05", "2024-10-31", 2), "Oak": days("2024-09-20", "2024-09-21")})
RAN = effort("2024-08-01", "2024-11-01")


def grid() -> SightingGrid:
    return sighting_grid(SEEN, RAN, FIRST, TODAY)


def around(ash: float = 0.9, oak: float = 0.2) -> pd.DataFrame:
    index = pd.date_range(FIRST, AHEAD[-1], unit="us")
    return pd.DataFrame({"Ash": ash, "Oak": oak}, index=index)


def made(**other: float) -> Forecast:
    return forecast(grid(), SEEN, around(**other), CALENDAR, SITES, AHEAD)


def by_hand(*, around: float, log_odds: float, sd: float, floor: float) -> Forecast:
    shape = (1, 1, 1, 2)
    return Forecast(
        days=AHEAD[:1],
        bucks=("Ash",),
        sites=("Alder",),
        around=np.full((1, 1), around),
        log_odds=np.full(shape, log_odds),
        sd=np.full(shape, sd),
        floor=np.full(shape[1:], floor),
    )


def test_the_mean_is_over_what_is_not_known() -> None:
    got = by_hand(around=1.0, log_odds=-2.0, sd=1.2, floor=0.0).chance()[0, 0, 0, 0]
    wanted, _ = quad(lambda z: norm.pdf(z) * expit(-2.0 + 1.2 * z), -8, 8)
    assert got == pytest.approx(wanted, rel=1e-3)
    assert got > expit(-2.0)


def test_gone_leaves_but_the_wrong_tags() -> None:
    gone = by_hand(around=0.0, log_odds=1.0, sd=1.0, floor=0.003)
    assert gone.chance()[0, 0, 0, 0] == pytest.approx(0.003)
    half = by_hand(around=0.5, log_odds=0.0, sd=0.0, floor=0.1)
    assert half.chance()[0, 0, 0, 0] == pytest.approx(1 - 0.75 * 0.9)
    assert half.chance(Z_95)[0, 0, 0, 0] == pytest.approx(1 - 0.75 * 0.9)


def test_chances_of_a_record() -> None:
    chance, low, high = (made().chance(z) for z in (0.0, -Z_95, Z_95))
    assert chance.shape == (7, 2, 3, 2)
    assert (low <= chance).all() and (chance <= high).all()
    assert ((chance > 0) & (chance < 1)).all()
    # Ash: every other evening at Alder, at no other site or half.
    assert 0.25 < chance[0, 0, 0, 1] < 0.5
    assert chance[0, 0, 0, 1] > 3 * chance[0, 0, 0, 0]
    assert chance[0, 0, 0, 1] > 5 * chance[0, 0, 2, 1]
    assert chance[0, 0, 0, 1] > 2 * chance[0, 1, 0, 1]


def test_who_is_likelier_around_is_likelier_seen() -> None:
    leaving = around()
    leaving.loc[AHEAD, "Ash"] = 0.45
    less = forecast(grid(), SEEN, leaving, CALENDAR, SITES, AHEAD)

    def there(got: Forecast) -> np.ndarray:
        """The chance without the wrong tags."""
        return 1 - (1 - got.chance()) / (1 - got.floor)

    np.testing.assert_allclose(there(less)[:, 0], 0.5 * there(made())[:, 0], rtol=1e-6)
    np.testing.assert_allclose(there(less)[:, 1], there(made())[:, 1], rtol=1e-6)


def test_a_forecast_knows_no_future() -> None:
    with pytest.raises(ValueError, match="after the day it is made"):
        forecast(grid(), visits({"Ash": days("2024-11-02", "2024-11-02")}), around(), CALENDAR,
                 SITES, AHEAD)  # fmt: skip
    with pytest.raises(ValueError, match="for days after"):
        forecast(grid(), SEEN, around(), CALENDAR, SITES, pd.DatetimeIndex([TODAY]))


def test_weather_moves_the_odds() -> None:
    weather = np.zeros((7, 2))
    weather[2, 1] = 0.4
    with_it = forecast(grid(), SEEN, around(), CALENDAR, SITES, AHEAD, weather=weather)
    moved = with_it.log_odds - made().log_odds
    np.testing.assert_allclose(moved[2, :, :, 1], 0.4)
    moved[2, :, :, 1] = 0
    assert not moved.any()


def test_sites_unknown_to_the_table_and_no_days() -> None:
    got = forecast(grid(), SEEN, around(), CALENDAR, SITES.iloc[:1], AHEAD)
    assert got.sites == ("Alder", "Birch", "Cedar") and np.isfinite(got.chance()).all()
    assert forecast(grid(), SEEN, around(), CALENDAR, SITES, AHEAD[:0]).chance().shape[0] == 0
    nobody = sighting_grid(visits({}), RAN, FIRST, TODAY)
    empty = forecast(nobody, visits({}), around(), CALENDAR, SITES, AHEAD)
    assert empty.chance().shape == (7, 0, 3, 2)


def test_as_a_table() -> None:
    table = chances(made(), grid(), SEEN, CALENDAR, ["Ash", "Nobody"], ["Alder", "Cedar"])
    assert list(table.columns) == CHANCE_COLUMNS
    assert len(table) == 1 * 2 * 2 * 7
    assert set(table["buck"]) == {"Ash"} and set(table["site"]) == {"Alder", "Cedar"}
    row = table[(table["site"] == "Alder") & (table["half"] == "PM")].set_index("day")
    np.testing.assert_allclose(row["chance"], made().chance()[:, 0, 0, 1])
    np.testing.assert_allclose(row["high"], made().chance(Z_95)[:, 0, 0, 1])
    # Pre-rut, 22 October to 4 November: his visits of 22, 24, 26, 28 and 30 October.
    assert row.loc["2024-11-04", "visits_behind"] == 5
    assert row.loc["2024-11-04", "camera_days_behind"] == 11
    assert row.loc["2024-11-05", "visits_behind"] == 0, "the rut begins, and has no record"


def test_counts_since_his_first_season() -> None:
    later = visits(
        {"Ash": days("2023-09-02", "2023-09-05"), "Oak": days("2024-09-02", "2024-09-02")}
    )
    ran = effort("2023-09-01", "2024-09-10", camera_day=0.5)
    known = sighting_grid(later, ran, pd.Timestamp("2023-09-01"), pd.Timestamp("2024-09-10"))
    got = counts_behind(known, later, CALENDAR)
    early = 1
    assert got.visits[:, 0, 1, early].tolist() == [4, 1]
    n_early = (pd.DatetimeIndex(known.days).month == 9).sum() + 21
    assert got.camera_days[0, 0, early] == pytest.approx(0.5 * n_early)
    assert got.camera_days[1, 0, early] == pytest.approx(0.5 * 10), "2023 was before his time"


def test_expected_visits_add_up_to_those_seen() -> None:
    got = expected_visits(grid(), SEEN, around(ash=1.0, oak=0.05), CALENDAR, SITES)
    assert got.expected.shape == got.response.shape == (93, 2)
    assert got.expected.sum() == pytest.approx(len(SEEN), rel=0.15)
    assert ((got.response > 0) & (got.response <= 1)).all()
