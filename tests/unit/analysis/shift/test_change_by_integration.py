"""The day of change with every rate integrated numerically, and what is told of a shift."""

from __future__ import annotations

from itertools import product

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR, days, effort, visits
from scipy.stats import beta

from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.sighting_grid import sighting_grid
from deerlog.analysis.shift.shift import (
    FALL,
    LEVELS,
    PhaseUse,
    change_day,
    shift,
    shift_distance,
    use_centre,
)

SEEN = np.array([[1, 0, 0], [1, 1, 0], [1, 0, 0], [0, 1, 0], [0, 1, 0], [1, 1, 0]], dtype=float)
EXPOSURE = np.array([[1.0, 0.5, 0], [1, 1, 0], [0.7, 1, 0], [1, 0.2, 0], [1, 1, 0], [0.4, 1, 0]])


ROOT = np.linspace(0.0, 12.0, 6001)
"""Square roots of rates: that of a gamma rate of shape a half is half-normal, without a pole."""


def integrated(seen: float, exposure: float, typical: float) -> float:
    """Of one site: Poisson counts but for their factorials, the rate gamma about its mean."""
    density = np.sqrt(2 / (np.pi * typical)) * np.exp(-(ROOT**2) / (2 * typical))
    each = density * ROOT ** (2 * seen) * np.exp(-(ROOT**2) * exposure)
    return float(np.trapezoid(each, ROOT))


@pytest.mark.parametrize(("prior", "clumping"), [(1 / 3, 1.0), (0.2, 2.0)])
def test_both_accounts_with_their_rates_integrated(prior: float, clumping: float) -> None:
    seen, exposure = SEEN[:, :2] / clumping, EXPOSURE[:, :2] / clumping  # the third never ran
    typical = seen.sum() / exposure.sum()
    moved, stayed = [], []
    for cut in range(1, len(seen)):
        parts = [(seen[:cut], exposure[:cut]), (seen[cut:], exposure[cut:])]
        moved.append(
            np.prod(
                [
                    integrated(s[:, site].sum(), e[:, site].sum(), typical)
                    for (s, e), site in product(parts, range(2))
                ]
            )
        )
        by_level = []
        for level in LEVELS:  # from then on so many times as much of everything
            whole = [
                integrated(
                    seen[:, site].sum(),
                    exposure[:cut, site].sum() + level * exposure[cut:, site].sum(),
                    typical,
                )
                for site in range(2)
            ]
            by_level.append(np.prod(whole) * level ** seen[cut:].sum())
        stayed.append(np.mean(by_level))
    odds = prior / (1 - prior) * np.sum(moved) / np.sum(stayed)
    got = change_day(SEEN, EXPOSURE, prior=prior, clumping=clumping)
    assert got.probability == pytest.approx(odds / (1 + odds), rel=1e-5)
    np.testing.assert_allclose(got.by_row, [0, *(np.array(moved) / np.sum(moved))], rtol=1e-5)
    assert got.row == 1 + int(np.argmax(moved))


def test_levels_are_even_in_the_logarithm_about_one() -> None:
    step = np.diff(np.log(LEVELS))
    np.testing.assert_allclose(step, step[0])
    np.testing.assert_allclose(LEVELS * LEVELS[::-1], 1.0)
    # Some four and a half times as much or as little of everything is still no change of ground.
    assert 4 < LEVELS[-1] < 5


def test_nothing_to_go_by() -> None:
    for n in (0, 1):
        got = change_day(np.zeros((n, 2)), np.ones((n, 2)), prior=0.3, clumping=2.0)
        assert (got.row, got.probability) == (0, 0.3)
        np.testing.assert_array_equal(got.by_row, np.ones(n))
    never_ran = change_day(np.zeros((4, 2)), np.zeros((4, 2)), prior=0.3, clumping=2.0)
    assert never_ran.probability == 0.3
    np.testing.assert_array_equal(never_ran.by_row, np.full(4, 0.25))


SITES = pd.DataFrame({"site": ["Alder", "Birch", "Cedar"], "x_m": [0.0, 300.0, 50.0],
                      "y_m": [10.0, -400.0, 700.0]})  # fmt: skip
POSITION = SITES[["x_m", "y_m"]].to_numpy()


def told(seen: dict[str, list[pd.Timestamp]], around: float = 0.8) -> pd.DataFrame:
    table = pd.concat([visits({"Ash": on}, site=site) for site, on in seen.items()])
    ran = effort("2024-06-01", "2025-01-31", camera_day=0.5)
    grid = sighting_grid(table, ran, pd.Timestamp("2024-06-01"), pd.Timestamp("2025-01-31"))
    here = pd.DataFrame({"Ash": around}, index=grid.days[:-1])  # of the last day nothing is known
    judgement = ForecastJudgement(change_prior=0.4, visit_clumping=1.5)
    return shift(grid, here, CALENDAR, SITES, ("Ash",), judgement)


def test_pairs_of_phases_with_four_days_in_each() -> None:
    """Summer ends with August, early season on 21 October, the rut begins on 5 November."""
    summer, rut = days("2024-07-01", "2024-07-04"), days("2024-11-10", "2024-11-13")
    early = days("2024-09-10", "2024-09-13")
    pre_rut, late = days("2024-10-25", "2024-10-28"), days("2024-12-10", "2024-12-13")

    def pairs(*parts: list[pd.Timestamp]) -> list[tuple[str, str]]:
        table = told({"Alder": [day for part in parts for day in part]})
        return list(zip(table["from_phase"], table["to_phase"], strict=True))

    everything = [("summer", "early season"), ("early season", "pre-rut"), ("pre-rut", "rut"),
                  ("rut", "late season"), ("summer", FALL)]  # fmt: skip
    assert pairs(summer, early, pre_rut, rut, late) == everything
    assert pairs(summer, early[:3], rut) == [("summer", FALL)]
    assert pairs(summer[:3], early, pre_rut) == [("early season", "pre-rut")]
    assert pairs(summer, early[:1], pre_rut[:1], rut[:2]) == [("summer", FALL)]
    assert pairs(summer, early[:1], pre_rut[:1], rut[:1]) == []


def test_a_row_holds_the_two_centres_and_the_day() -> None:
    table = told({"Alder": days("2024-07-01", "2024-08-30", 2),
                  "Birch": days("2024-09-05", "2024-10-15", 2)})  # fmt: skip
    row = table[table["to_phase"] == "early season"].iloc[0]
    assert row["season"] == 2024 and row["change_probability"] > 0.9
    centres = []
    for first, last, site, seen in (
        ("2024-06-01", "2024-08-31", 0, days("2024-07-01", "2024-08-30", 2)),
        ("2024-09-01", "2024-10-21", 1, days("2024-09-05", "2024-10-15", 2)),
    ):
        day = pd.date_range(first, last, unit="us")
        came = np.zeros((len(day), 3))
        came[day.isin(seen), site] = 1
        out = np.maximum(0.5 * 0.8, came)  # a day he was seen, he and the camera were there
        use = PhaseUse(days=np.arange(len(day)), seen=came, exposure=out)
        centres.append(use_centre(use, POSITION)[0])
    got = row[["from_x_m", "from_y_m", "to_x_m", "to_y_m"]].to_numpy(dtype=float)
    np.testing.assert_allclose(got, np.concatenate(centres))
    assert row["distance_m"] == pytest.approx(np.hypot(*(centres[1] - centres[0])))
    assert row["low_m"] <= row["distance_m"] <= row["high_m"]
    gap = (row["change_day"] - pd.Timestamp("2024-09-02")).days
    assert -3 <= gap <= 3


def test_the_interval_is_that_of_a_bootstrap_of_blocks() -> None:
    """Two sites, of which one has all visits before: the share after is that of a beta law.

    With one day's prior negligible and equal effort, the centre after lies at the share of visits
    at the second site, and exponential weights of blocks make that share beta distributed.
    """
    n_blocks = 60
    first = np.repeat(np.arange(n_blocks) % 3 > 0, 4)  # two blocks of three at the first site
    after_seen = np.stack([first, ~first], axis=1).astype(float) * 50.0
    many = np.ones((len(first), 2)) * 100.0
    before_seen = np.stack([np.ones(len(first)), np.zeros(len(first))], axis=1) * 50.0
    place = np.array([[0.0, 0.0], [900.0, 0.0]])
    before, after = (
        PhaseUse(days=np.arange(len(first)), seen=seen, exposure=many)
        for seen in (before_seen, after_seen)
    )
    distance, low, high = shift_distance(before, after, place)
    assert distance == pytest.approx(300, rel=1e-3)
    wanted = 900 * beta(n_blocks / 3, 2 * n_blocks / 3).ppf([0.025, 0.975])
    # 600 draws: the standard error of a 2.5 % point is about 7 m here.
    assert (low, high) == pytest.approx(tuple(wanted), abs=20)
    farther, low_far, high_far = shift_distance(before, after, 3 * place)
    assert (farther, low_far, high_far) == pytest.approx(
        (3 * distance, 3 * low, 3 * high), rel=1e-4
    )


def test_a_distance_within_the_draws_of_none_begins_at_none() -> None:
    """The two centres apart by less than 2.45 standard deviations of a draw, and by more."""
    rng = np.random.default_rng(3)
    base = (rng.random((200, 2)) < 0.5).astype(float)
    place = np.array([[0.0, 0.0], [1000.0, 0.0]])
    lows = []
    for drop in np.arange(0, 60, 6):
        seen = base.copy()
        seen[np.flatnonzero(seen[:, 1])[:drop], 1] = 0.0
        before, after = (
            PhaseUse(days=np.arange(200), seen=s, exposure=np.ones((200, 2))) for s in (base, seen)
        )
        distance, low, _ = shift_distance(before, after, place)
        rng_draw = np.random.default_rng(20240601)
        later, earlier = (use_centre(use, place, rng_draw)[:, 0] for use in (after, before))
        far = distance**2 / np.var(later - earlier, ddof=1) >= 5.991465
        assert (low > 0) == far
        lows.append(low > 0)
    assert set(lows) == {True, False}
