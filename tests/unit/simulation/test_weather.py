"""Simulated weather, and an effect that is there when asked for and absent when not."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from simulation.ground import simulate_property
from simulation.half_days import seen_in_light
from simulation.weather import DRIVERS, EFFECTS, draw_weather, weather_drivers, weather_factor

DAYS = pd.date_range("2021-06-01", "2024-05-31", freq="D", unit="us")


def test_drivers_are_departures_from_normal_in_sds() -> None:
    drivers = weather_drivers(draw_weather(np.random.default_rng(0), DAYS), DAYS)
    assert drivers.shape == (len(DAYS), 2, len(DRIVERS))
    flat = drivers.reshape(-1, len(DRIVERS))
    assert flat.mean(axis=0) == pytest.approx(np.zeros(3), abs=1e-6)
    assert flat.std(axis=0) == pytest.approx(np.ones(3), abs=0.01)
    yearly = np.sin(2 * np.pi * DAYS.day_of_year.to_numpy() / 365.25)
    assert abs(np.corrcoef(drivers[:, 0, 0], yearly)[0, 1]) < 0.05, "the season is taken out"


def test_half_days_without_weather_are_normal() -> None:
    weather = draw_weather(np.random.default_rng(0), DAYS)
    drivers = weather_drivers(weather[weather["time"] >= "2022-01-01"], DAYS)
    assert (drivers[DAYS < "2022-01-01"] == 0).all()
    assert (drivers[DAYS >= "2022-01-02"] != 0).any(axis=(1, 2)).all()


def test_factor_by_hand() -> None:
    drivers = np.array([[[-1.0, 0.0, 0.0], [2.0, 1.0, 0.0]]])
    factor = weather_factor(drivers, {"temperature": -0.4, "wind": -0.2})
    # exp(0.4 - 0.1) and exp(-0.8 - 0.2 - 0.1), where 0.1 is half of 0.16 + 0.04.
    assert factor[0] == pytest.approx(np.exp([0.3, -1.1]))


@pytest.mark.parametrize("effect", ["none", "strong"])
def test_cold_half_days_see_more_only_where_weather_matters(effect: str) -> None:
    p = simulate_property(
        np.random.default_rng(4), 3, 12, weather="simulated", weather_effect=effect
    )
    assert p.weather is not None
    temperature = weather_drivers(p.weather, p.truth.days)[:, :, 0]
    n_seen = seen_in_light(p).sum(axis=(0, 1))
    # The season is held fixed by taking each half-day beside the six weeks around it.
    usual = pd.DataFrame(n_seen).rolling(41, center=True, min_periods=20).mean().to_numpy()
    cold, warm = temperature < -0.7, temperature > 0.7
    ratio = (n_seen[cold].sum() / usual[cold].sum()) / (n_seen[warm].sum() / usual[warm].sum())
    assert EFFECTS["strong"]["temperature"] < -0.3
    if effect == "strong":
        assert ratio > 1.35
    else:
        assert 0.9 < ratio < 1.11
