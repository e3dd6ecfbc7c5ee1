"""Chances, wrong tags and counts put together cell by cell, and what lies at their limits."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from deerlog.analysis.forecast.sighting_grid import counts_behind
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.chances import learn
from deerlog.analysis.forecast.chances import half_log_odds
from invented.buck_record import CALENDAR, days, effort, visits
from scipy.special import expit

from deerlog.analysis.forecast.chances import Z_95, chances, expected_visits, forecast
from deerlog.analysis.forecast.sighting_grid import sighting_grid
from deerlog.timekeeping.seasons import PHASES

FIRST, TODAY = pd.Timestamp("2024-10-01"), pd.Timestamp("2024-11-20")
AHEAD = pd.date_range("2024-11-21", "2024-12-10", unit="us")  # over the end of the rut
SITES = pd.DataFrame(
    {"site": ["Alder", "Birch", "Cedar", "Alder"], "setting": ["food", None, "scrape", "bed"],
     "x_m": [0.0, 400.0, 900.0, 5e4], "y_m": [0.0, 50.0, 300.0, 5e4]}
)  # fmt: skip
SEEN = pd.concat(
    [
        visits({"Ash": days("2024-10-03", "2024-11-19", 3)}),
        visits({"Oak": days("2024-10-20", "2024-11-10", 7)}, site="Birch"),
        visits({"Elm": days("2024-11-01", "2024-11-02")}, site="Cedar", in_light=False),
    ]
)
SEEN.loc[SEEN["day"].dt.day % 2 == 0, "half"] = "AM"
RAN = effort("2024-10-01", "2024-11-20", camera_day=0.6)
GRID = sighting_grid(SEEN, RAN, FIRST, TODAY)
J = ForecastJudgement(clumping_shape=0.7, wrong_tag_share=0.03, stranger_rate=0.004)


def around() -> pd.DataFrame:
    index = pd.date_range(FIRST, AHEAD[-1], unit="us")
    rng = np.random.default_rng(3)
    table = pd.DataFrame(rng.uniform(0.2, 1, (len(index), 2)), index=index, columns=["Ash", "Oak"])
    return table.drop(index=AHEAD[4])  # Elm, and a day that is lacking, count as gone


def test_a_forecast_is_put_together_cell_by_cell() -> None:
    here = around()
    learned = learn(GRID, SEEN, here, CALENDAR, SITES, J)
    made = forecast(GRID, SEEN, here, CALENDAR, SITES, AHEAD, J)
    use = learned.use.on(AHEAD)
    phase = [PHASES.index(name) for name in CALENDAR.phase_of(AHEAD)]
    assert len(set(phase)) == 2 and made.bucks == ("Ash", "Elm", "Oak")
    for d, day in enumerate(AHEAD):
        for b, buck in enumerate(made.bucks):
            there = here[buck].get(day, 0.0) if buck in here else 0.0
            assert made.around[d, b] == there
            for s in range(3):
                on_day = use.log_odds[b, s, use.period[d]]
                for h in range(2):
                    share = learned.light.share[b, phase[d], s, h]
                    odds = half_log_odds(np.array(on_day), np.array(share), 0.7)
                    assert made.log_odds[d, b, s, h] == pytest.approx(float(odds))
                    sd = np.hypot(
                        use.sd[b, s, use.period[d]], learned.light.log_sd[b, phase[d], s, h]
                    )
                    assert made.sd[d, b, s, h] == pytest.approx(sd)
    # 95 % of a normal: bounds lie 1.96 standard deviations out.
    bound = expit(made.log_odds + 1.959964 * made.sd)
    np.testing.assert_allclose(made.chance_if_around(Z_95), bound)


def test_wrong_tags_are_others_visits_there_over_the_other_bucks() -> None:
    made = forecast(GRID, SEEN, around(), CALENDAR, SITES, AHEAD, J)
    watched = 51 * 0.6  # days each camera ran
    for s, site in enumerate(GRID.sites):
        for h, half in enumerate(("AM", "PM")):
            lit = SEEN[(SEEN["site"] == site) & (SEEN["half"] == half) & SEEN["in_light"]]
            stranger = 0.004 / 2 / (2 * 3)  # half of them in the light, at any site in either half
            wanted = 0.03 * len(lit) / watched / 2 + stranger
            np.testing.assert_allclose(made.floor[:, s, h], wanted)
    # Of less than a month's camera-days no rate is told, and one buck alone is as of two.
    few = SEEN[(SEEN["buck"] == "Ash") & (SEEN["day"] <= "2024-10-10")]
    short = sighting_grid(
        few, effort("2024-10-01", "2024-10-10"), FIRST, pd.Timestamp("2024-10-10")
    )
    alone = forecast(short, few, around(), CALENDAR, SITES, AHEAD, J)
    n_pm = int(((few["half"] == "PM") & (few["site"] == "Alder")).sum())
    assert alone.floor[0, 0, 1] == pytest.approx(0.03 * n_pm / 30 + 0.004 / 12)


def test_what_was_to_be_expected_is_the_sum_of_what_ran() -> None:
    here = around()
    got = expected_visits(GRID, SEEN, here, CALENDAR, SITES, J)
    learned = learn(GRID, SEEN, here, CALENDAR, SITES, J)
    use = learned.use.on(GRID.days)
    phase = [PHASES.index(name) for name in CALENDAR.phase_of(GRID.days)]
    nodes, weights = np.polynomial.hermite_e.hermegauss(31)
    for d in (0, 20, 50):
        for h in range(2):
            total = moved = 0.0
            for b, buck in enumerate(GRID.bucks):
                there = float(here[buck].get(GRID.days[d], 0.0)) if buck in here else 0.0
                for s in range(3):
                    on_day = use.log_odds[b, s, use.period[d]]
                    share = learned.light.share[b, phase[d], s, h]
                    odds = float(half_log_odds(np.array(on_day), np.array(share), 0.7))
                    sd = np.hypot(
                        use.sd[b, s, use.period[d]], learned.light.log_sd[b, phase[d], s, h]
                    )
                    chance = float(weights @ expit(odds + sd * nodes) / weights.sum())
                    total += there * 0.6 * chance
                    moved += there * 0.6 * chance * (1 - chance)
            assert got.expected[d, h] == pytest.approx(total, rel=2e-3)
            assert got.response[d, h] == pytest.approx(moved / total, rel=2e-3)


def test_the_table_has_each_cell_in_its_row() -> None:
    made = forecast(GRID, SEEN, around(), CALENDAR, SITES, AHEAD, J)
    table = chances(made, GRID, SEEN, CALENDAR, ["Oak", "Ash"], ["Cedar", "Alder"])
    behind = counts_behind(GRID, SEEN, CALENDAR)
    mean, low, high = made.chance(), made.chance(-Z_95), made.chance(Z_95)
    rows = iter(table.itertuples(index=False))
    for buck in ("Oak", "Ash"):
        for site in ("Cedar", "Alder"):
            for h, half in enumerate(("AM", "PM")):
                for d, day in enumerate(AHEAD):
                    row = next(rows)
                    assert (row.buck, row.site, row.half, row.day) == (buck, site, half, day)
                    b, s = made.bucks.index(buck), made.sites.index(site)
                    cell = (d, b, s, h)
                    assert (row.chance, row.low, row.high) == (mean[cell], low[cell], high[cell])
                    phase = PHASES.index(CALENDAR.phase_of(pd.DatetimeIndex([day]))[0])
                    assert row.visits_behind == behind.visits[b, s, h, phase]
                    assert row.camera_days_behind == behind.camera_days[b, s, phase]
    assert next(rows, None) is None


def test_counts_behind_are_counted_one_by_one() -> None:
    earlier = visits({"Oak": days("2023-10-01", "2023-10-03")}, site="Birch")
    both = pd.concat([earlier, SEEN])
    ran = effort("2023-09-25", "2024-11-20", camera_day=0.5)
    grid = sighting_grid(both, ran, pd.Timestamp("2023-09-25"), TODAY)
    got = counts_behind(grid, both, CALENDAR)
    season, phase = CALENDAR.season_of(grid.days), CALENDAR.phase_of(grid.days)
    for b, buck in enumerate(grid.bucks):
        first = both.loc[both["buck"] == buck, "season"].min()
        for p, name in enumerate(PHASES):
            n_days = ((season >= first) & (phase == name)).sum()
            np.testing.assert_allclose(got.camera_days[b, :, p], 0.5 * n_days)
            for s, site in enumerate(grid.sites):
                his = both[(both["buck"] == buck) & (both["site"] == site) & both["in_light"]]
                for h, half in enumerate(("AM", "PM")):
                    n = ((his["phase"] == name) & (his["half"] == half)).sum()
                    assert got.visits[b, s, h, p] == n
