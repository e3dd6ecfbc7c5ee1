"""Weather effects: found where they are, none where there are none."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.forecast.chances import ExpectedVisits
from deerlog.analysis.forecast.weather import (
    DRIVERS,
    EFFECT_COLUMNS,
    WeatherDrivers,
    WeatherEffects,
    weather_effects,
)

DAYS = pd.date_range("2023-06-01", "2024-05-31", unit="us")


def drivers(seed: int) -> WeatherDrivers:
    """Weather of fronts: each day much like the one before."""
    rng = np.random.default_rng(seed)
    value = rng.normal(0, 1, (len(DAYS), 2, 3))
    for t in range(1, len(DAYS)):
        value[t] = 0.7 * value[t - 1] + np.sqrt(1 - 0.49) * value[t]
    return WeatherDrivers(days=DAYS, value=value, sd=np.array([5.0, 2.0, 4.0]))


def found(
    effects: tuple[float, float, float], seed: int = 0, mean: float = 2.0, clumped: float = 0.0
) -> WeatherEffects:
    rng = np.random.default_rng(seed + 1000)
    weather = drivers(seed)
    season = mean * (1 + 0.8 * np.sin(np.arange(len(DAYS)) / 40))[:, None] * [0.7, 1.3]
    rate = season * np.exp(weather.value @ np.array(effects))
    if clumped:
        rate = rate * rng.gamma(1 / clumped, clumped, rate.shape)
    # What was expected follows the season only roughly.
    expected = season * np.exp(0.3 * np.sin(np.arange(len(DAYS)) / 60))[:, None]
    without = ExpectedVisits(expected=expected, response=np.ones_like(expected))
    return weather_effects(rng.poisson(rate).astype(float), without, weather)


def test_strong_effects_are_found_with_their_size() -> None:
    got = found((-0.4, -0.25, 0.15))
    assert list(got.table.columns) == EFFECT_COLUMNS
    assert got.table["driver"].tolist() == list(DRIVERS)
    assert got.table["kept"].all()
    np.testing.assert_allclose(got.kept, (-0.4, -0.25, 0.15), atol=0.1)
    held = (got.table["low"] <= [-0.4, -0.25, 0.15]) & (got.table["high"] >= [-0.4, -0.25, 0.15])
    assert held.sum() >= 2
    assert got.visits > 1000 and got.half_days == 2 * len(DAYS)


def test_none_is_reported_as_none() -> None:
    kept = [found((0.0, 0.0, 0.0), seed, clumped=0.8).table["kept"].sum() for seed in range(8)]
    assert sum(k > 0 for k in kept) <= 1


def test_only_the_one_that_is_there() -> None:
    got = found((-0.4, 0.0, 0.0), seed=3)
    assert got.table["kept"].tolist() == [True, False, False]
    assert got.kept[0] == pytest.approx(-0.4, abs=0.1) and not got.kept[1:].any()


def test_intervals_hold_what_they_say() -> None:
    """95 % of intervals hold the effect, with clumped visits."""
    held = 0
    for seed in range(20):
        table = found((0.1, 0.0, -0.1), seed + 50, clumped=0.5).table
        held += int(((table["low"] <= [0.1, 0, -0.1]) & (table["high"] >= [0.1, 0, -0.1])).sum())
    # 95 % of 60 is 57; fewer than 52 has a chance below 1 in 50.
    assert held >= 52


def test_too_little_is_not_tried() -> None:
    got = found((-0.4, -0.25, 0.15), mean=0.02)
    assert not got.kept.any() and got.table["effect"].isna().all()
    assert got.visits < 60


def test_log_odds_of_kept_drivers_only() -> None:
    got = found((-0.4, 0.0, 0.0), seed=3)
    weather = drivers(9)
    weather.value[4, 1, 0] = np.nan
    weather.value[5, :, 1:] = np.nan
    moved = got.log_odds(weather)
    assert moved.shape == (len(DAYS), 2)
    assert moved[4, 1] == 0, "not measured: as on an average day"
    k = got.kept[0]
    assert moved[5, 0] == pytest.approx(k * weather.value[5, 0, 0] - k**2 / 2)


def test_a_driver_never_measured_is_left_out() -> None:
    weather = drivers(2)
    weather.value[:, :, 2] = np.nan
    weather = WeatherDrivers(days=DAYS, value=weather.value, sd=np.array([5.0, 2.0, np.nan]))
    rng = np.random.default_rng(4)
    rate = 3 * np.exp(-0.4 * weather.value[:, :, 0])
    without = ExpectedVisits(expected=np.full(rate.shape, 3.0), response=np.ones_like(rate))
    got = weather_effects(rng.poisson(rate).astype(float), without, weather)
    assert got.table["kept"].tolist() == [True, False, False]
    assert np.isnan(got.table["effect"].iloc[2]) and np.isfinite(got.log_odds(weather)).all()


def test_without_a_driver_no_half_day_is_known() -> None:
    unknown = WeatherDrivers(
        days=DAYS, value=np.full((len(DAYS), 2, 3), np.nan), sd=np.full(3, np.nan)
    )
    even = np.ones((len(DAYS), 2))
    got = weather_effects(even, ExpectedVisits(expected=even, response=even), unknown)
    assert (got.half_days, got.visits) == (0, 0)
    assert not got.kept.any()


def test_wild_weather_and_counts_come_to_rest() -> None:
    rng = np.random.default_rng(5)
    for _ in range(60):
        value = rng.normal(0, 4, (len(DAYS), 2, 3)) * np.where(
            rng.random((len(DAYS), 2, 3)) < 0.02, 20, 1
        )
        rate = np.exp(np.clip(value @ rng.normal(0, 1.5, 3), -20, 6))
        even = np.ones((len(DAYS), 2))
        got = weather_effects(
            rng.poisson(rate).astype(float),
            ExpectedVisits(expected=even, response=even),
            WeatherDrivers(days=DAYS, value=value, sd=np.array([5.0, 2.0, 4.0])),
        )
        assert np.isfinite(got.kept).all()
