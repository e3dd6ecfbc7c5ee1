"""The chance at a stand, against counting every way it can go."""

from __future__ import annotations

from itertools import product

import numpy as np
import pandas as pd
import pytest
from scipy.special import expit, logit

from deerlog.analysis.forecast.chances import Forecast
from deerlog.analysis.plan.stand_chances import some_days, stand_chances


def forecast(
    around: float | list[float], here: np.ndarray, *, sd: float = 0.0, floor: float = 0.0
) -> Forecast:
    """One day; ``here`` of shape (bucks, sites, halves): chance there if he is around."""
    n_bucks, n_sites = here.shape[:2]
    return Forecast(
        days=pd.DatetimeIndex(["2025-11-08"]),
        bucks=tuple("ABCDE"[:n_bucks]),
        sites=tuple("stuvw"[:n_sites]),
        around=np.broadcast_to(np.asarray(around, dtype=float), (1, n_bucks)),
        log_odds=logit(here)[None],
        sd=np.full((1, *here.shape), sd),
        floor=np.full(here.shape, floor),
    )


def counted(around: np.ndarray, here: np.ndarray) -> float:
    """Chance of at least one visit, over every outcome; ``here`` of shape (bucks, sites)."""
    total = 0.0
    for there in product((0, 1), repeat=len(around)):
        p_there = np.prod(np.where(there, around, 1 - around))
        rate = here * np.array(there)[:, None]
        for visits in product((0, 1), repeat=rate.size):
            came = np.array(visits).reshape(rate.shape)
            if came.any():
                total += p_there * np.prod(np.where(came, rate, 1 - rate))
    return float(total)


def test_every_way_it_can_go() -> None:
    here = np.array([[[0.3, 0.1], [0.2, 0.4]], [[0.5, 0.05], [0.1, 0.2]]])
    around = np.array([0.6, 0.25])
    found = stand_chances(forecast(list(around), here), [np.array([0, 1])], np.array([0, 1]))
    for half in (0, 1):
        assert found.chance[0, 0, half] == pytest.approx(counted(around, here[:, :, half]))
        for b in (0, 1):
            alone = counted(around[[b]], here[[b], :, half])
            assert found.own[0, b, 0, half] == pytest.approx(alone)


def test_two_sites_of_a_buck_who_is_hardly_here_are_no_two_chances() -> None:
    """He is around or not: once, not once a site."""
    here = np.full((1, 2, 2), 0.9)
    both = stand_chances(forecast(0.1, here), [np.array([0, 1])], np.array([0]))
    assert both.chance[0, 0, 0] == pytest.approx(0.1 * 0.99)
    independent = 1 - (1 - 0.09) ** 2
    assert both.chance[0, 0, 0] < independent - 0.05


def test_one_site_is_the_forecast_s_own_chance_floor_and_all() -> None:
    here = np.array([[[0.3, 0.1], [0.2, 0.4]], [[0.5, 0.05], [0.1, 0.2]]])
    made = forecast([0.6, 0.25], here, sd=0.4, floor=0.01)
    found = stand_chances(made, [np.array([0]), np.array([1])], np.array([0, 1]))
    np.testing.assert_allclose(found.own[0], made.chance()[0], rtol=1e-9)
    np.testing.assert_allclose(found.own_low[0], made.interval()[0][0], rtol=1e-9)
    np.testing.assert_allclose(found.own_high[0], made.interval()[1][0], rtol=1e-9)


def test_the_interval_of_a_stand_is_that_of_drawing_who_is_around() -> None:
    rng = np.random.default_rng(3)
    around, here, sd = np.array([0.3, 0.8, 0.95]), np.array([0.3, 0.1, 0.2]), 0.6
    odds = rng.normal(logit(here), sd, (100_000, 3))
    drawn = np.where(rng.random(odds.shape) < around, expit(odds), 0.0)
    wanted = np.quantile(1 - np.prod(1 - drawn, axis=1), [0.025, 0.975])
    made = forecast(list(around), np.repeat(here, 2).reshape(3, 1, 2), sd=sd)
    found = stand_chances(made, [np.array([0])], np.arange(3))
    assert [found.low[0, 0, 0], found.high[0, 0, 0]] == pytest.approx(wanted, abs=0.03)


def test_bounds_hold_the_chance_and_narrow_as_bucks_err_apart() -> None:
    here = np.full((4, 1, 2), 0.1)
    made = forecast(1.0, here, sd=0.5)
    one = stand_chances(made, [np.array([0])], np.array([0]))
    four = stand_chances(made, [np.array([0])], np.array([0, 1, 2, 3]))
    for found in (one, four):
        assert (found.low < found.chance).all() and (found.chance < found.high).all()

    def relative(found: object) -> float:
        return float((found.high - found.low)[0, 0, 0] / found.chance[0, 0, 0])  # type: ignore[attr-defined]

    assert relative(four) < 0.6 * relative(one)


def test_the_main_buck_and_his_best_site_are_named() -> None:
    here = np.array([[[0.3, 0.1], [0.2, 0.4]], [[0.35, 0.05], [0.1, 0.2]]])
    found = stand_chances(forecast(1.0, here), [np.array([0, 1])], np.array([0, 1]))
    # Morning: 0.44 and 0.415; evening: 0.46 and 0.24.
    assert found.main_buck[0, 0].tolist() == [0, 0]
    assert found.main_site[0, 0].tolist() == [0, 1]
    only = stand_chances(forecast(1.0, here), [np.array([1])], np.array([1]))
    assert only.main_buck[0, 0].tolist() == [0, 0] and only.main_site[0, 0].tolist() == [1, 1]


def test_a_buck_who_is_surely_gone_has_no_chance() -> None:
    found = stand_chances(forecast(0.0, np.full((1, 1, 2), 0.5)), [np.array([0])], np.array([0]))
    assert (found.chance == 0).all() and (found.high == 0).all()


def test_some_days_are_cut_alike() -> None:
    here = np.full((1, 1, 2), 0.5)
    one = forecast(0.5, here)
    assert some_days(one, 0, 1).chance().shape == one.chance().shape
    assert some_days(one, 0, 0).chance().shape == (0, 1, 1, 2)
    assert list(some_days(one, 0, 1).days) == list(one.days)
