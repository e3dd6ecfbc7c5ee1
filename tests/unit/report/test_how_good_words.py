"""How good the chances were, in words."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.backtest.forecast_gain import ForecastGain
from deerlog.analysis.forecast.weather_effects import EFFECT_COLUMNS, WeatherEffects
from deerlog.report.how_good_words import verdict, weather_words


def gain(
    rule: str, value: float, low: float | None = None, high: float | None = None
) -> ForecastGain:
    return ForecastGain(rule=rule, gain=value, low=low, high=high)


LAST = gain("last_14_days", 0.3, 0.2, 0.4)


@pytest.mark.parametrize(
    ("gains", "words"),
    [
        ([gain("all_time", 0.09, 0.02, 0.16), LAST], "beat both simple rules: a log loss 9% "),
        ([LAST, gain("all_time", 0.09, -0.02, 0.2)], "cannot be told yet"),
        ([gain("all_time", -0.1, -0.2, -0.01), LAST], "do not beat the simple rule here"),
        ([gain("all_time", 0.1), gain("last_14_days", 0.2)], "too few weeks"),
        ([gain("all_time", float("nan")), LAST], "beat both simple rules"),
        ([gain("all_time", float("nan"))], "too few to judge"),
        ([], "cannot be judged yet"),
    ],
)
def test_better_worse_and_not_known_are_said_alike(gains: list[ForecastGain], words: str) -> None:
    text = verdict(gains, 7760, 23)
    assert words in text
    if gains:
        assert text.startswith("Of 7,760 half-days replayed, 23 came true")


def effects(effect: float, kept: bool) -> WeatherEffects:
    table = pd.DataFrame(
        [
            ("temperature", "°C above normal", 3.0, effect, effect - 0.06, effect + 0.06, kept),
            ("wind", "m/s above mean", 1.5, 0.0, -0.1, 0.1, False),
            ("pressure_change", "hPa in 24 h", *[np.nan] * 4, False),
        ],
        columns=EFFECT_COLUMNS[:7],
    )
    return WeatherEffects(
        table=table, kept=np.array([effect * kept, 0, 0]), half_days=900, visits=610
    )


def test_an_effect_is_told_in_the_user_s_steps() -> None:
    kept, left = weather_words(effects(-0.18, True), "metric")
    # Five degrees colder: exp(0.18 * 5 / 3) = 1.35.
    assert "5 °C colder than normal: 1.35 times the visits in shooting light (1.22 to 1.49)" in kept
    assert kept.startswith("Kept") and "wind" in left and "No effect" not in left
    imperial, _ = weather_words(effects(-0.18, True), "imperial")
    # Ten degrees Fahrenheit are 5.56 Celsius: exp(0.18 * 5.56 / 3) = 1.40.
    assert "10 °F colder than normal: 1.40 times" in imperial
    assert "pressure" not in kept + left


def test_no_effect_is_a_fine_answer() -> None:
    (line,) = weather_words(effects(-0.02, False), "metric")
    assert line.startswith("No effect of weather was found in your data. Tried on 610 visits")
    blank = effects(float("nan"), False)
    blank.table.loc[:, "effect"] = np.nan
    assert "Not enough to tell" in weather_words(blank, "metric")[0]
