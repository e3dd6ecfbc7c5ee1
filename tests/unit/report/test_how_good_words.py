"""How good the chances were, in words."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.backtest.scores import ChancesOff, ForecastGain
from deerlog.analysis.forecast.weather import EFFECT_COLUMNS, WeatherEffects
from deerlog.analysis.presence.tagger import ConfusedPair, WrongNames
from deerlog.report.words.how_good_words import (
    chances_off_words,
    verdict,
    weather_words,
    wrong_names_words,
)


def gain(
    rule: str, value: float, low: float | None = None, high: float | None = None
) -> ForecastGain:
    return ForecastGain(rule=rule, gain=value, low=low, high=high)


LAST = gain("last_14_days", 0.3, 0.2, 0.4)


@pytest.mark.parametrize(
    ("gains", "words"),
    [
        (
            [gain("all_time", 0.09, 0.02, 0.16), LAST],
            "better than either rule of thumb, and by more than luck would explain. The "
            "better of the two was his all-time rate there.",
        ),
        ([LAST, gain("all_time", 0.09, -0.02, 0.2)], "a little better than the better rule of"),
        ([LAST, gain("all_time", -0.09, -0.25, 0.06)], "it could be luck either way"),
        ([gain("all_time", -0.1, -0.2, -0.01), LAST], "were worse than a rule of thumb here"),
        ([gain("all_time", 0.1), gain("last_14_days", 0.2)], "Too few weeks"),
        ([gain("all_time", float("nan")), LAST], "better than either rule of thumb"),
        ([gain("all_time", float("nan"))], "too few to judge"),
        ([], "cannot be judged yet"),
    ],
)
def test_better_worse_and_not_known_are_said_alike(gains: list[ForecastGain], words: str) -> None:
    text = verdict(gains, 7760, 23)
    assert words in text
    if gains:
        assert "Of 7,760 half-days replayed" in text and "in shooting light on 23" in text


@pytest.mark.parametrize(
    ("value", "low", "high", "figures"),
    [
        (0.09, 0.02, 0.16, "9% smaller than that of the rule; the record fits 2 to 16% smaller."),
        (-0.1, -0.2, -0.01, "10% larger than that of the rule; the record fits 1 to 20% larger."),
        (-0.09, -0.25, 0.06, "the record fits anything from 25% larger to 6% smaller."),
    ],
)
def test_the_figures_come_last_and_say_which_way(
    value: float, low: float, high: float, figures: str
) -> None:
    assert verdict([gain("all_time", value, low, high)], 7760, 23).endswith(figures)


def off(said: float, share: float, band: tuple[float, float] = (0.05, 0.2)) -> ChancesOff:
    return ChancesOff(
        said_low=band[0], said_high=band[1], said=said, came_true=24, half_days=300, share=share,
        low=0.05, high=0.11,
    )  # fmt: skip


def test_chances_too_high_or_too_low_are_told_with_how_to_read_them() -> None:
    assert chances_off_words(off(0.12, 0.08), 13) == (
        "In the 13 weeks replayed, of 300 half-days given 5 to 20% (12% on average), 8% came true "
        "(5 to 11%): read such chances about a third lower."
    )
    assert "given 20% or more" in chances_off_words(off(0.3, 0.3, (0.2, 1.0)), 13)
    assert "given under 5%" in chances_off_words(off(0.03, 0.06, (0.0, 0.05)), 13)


@pytest.mark.parametrize(
    ("times", "words"),
    [
        (0.0, "as next to nothing"), (0.26, "as a quarter of what they say"),
        (0.5, "as half of what they say"), (0.74, "about a quarter lower"),
        (1.5, "about half as high again"), (2.1, "about twice as high"), (9.0, "several times"),
    ],
)  # fmt: skip
def test_how_to_read_them(times: float, words: str) -> None:
    assert words in chances_off_words(off(0.1, 0.1 * times), 13)


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
    assert kept.startswith("The chances go by this") and "wind" in left and "No effect" not in left
    imperial, _ = weather_words(effects(-0.18, True), "imperial")
    # Ten degrees Fahrenheit are 5.56 Celsius: exp(0.18 * 5.56 / 3) = 1.40.
    assert "10 °F colder than normal: 1.40 times" in imperial
    assert "pressure" not in kept + left


def test_no_effect_is_a_fine_answer() -> None:
    (line,) = weather_words(effects(-0.02, False), "metric")
    assert line.startswith(
        "No effect of weather was found in your data. What was tried did not help to foretell "
        "weeks kept back for the test, so the chances do not go by it (610 visits in shooting "
        "light): 5 °C colder than normal"
    )
    blank = effects(float("nan"), False)
    blank.table.loc[:, "effect"] = np.nan
    assert "Not enough to tell" in weather_words(blank, "metric")[0]


def test_wrong_names_and_a_pair_taken_for_each_other() -> None:
    pairs = (
        ConfusedPair(bucks=("Ash", "Elm"), chance=0.97, share=0.28),
        ConfusedPair(bucks=("Ash", "Oak"), chance=0.6, share=0.3),
    )
    said = wrong_names_words(WrongNames(share=0.021, low=0.005, high=0.04, pairs=pairs), 1234)
    assert said == (
        "About 2 in 100 names look wrong (0.5 to 4), from 1,234 visits with a sure name. Ash and "
        "Elm look exchanged in about 3 of 10 tags: look at their pictures side by side."
    )
    assert "exchanged" not in wrong_names_words(WrongNames(share=0.005, low=0.005, high=0.01), 1)
