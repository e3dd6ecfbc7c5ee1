"""A buck's own dates and absences, from states made by hand."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.own_habits import add_season, habits, nothing_known
from deerlog.analysis.presence.patterns import (
    AWAY,
    ELSEWHERE,
    FALL,
    HERE,
    PATTERNS,
    RUT,
    STATES,
    SUMMER,
    YEAR_ROUND,
)

FIRST, PEAK = date(2024, 6, 1), date(2024, 11, 12)
PEAK_DAY = (PEAK - FIRST).days
USUAL = Judgement()


def after(
    pattern: int, course: list[tuple[int, int]], *, chance: float = 1.0, seasons: int = 1
) -> pd.DataFrame:
    """What is known of one who is in each state of ``course`` from its day on, for certain."""
    states = np.zeros((365, 1, len(PATTERNS), len(STATES)))
    for (state, start), (_, end) in zip(course, [*course[1:], (0, 365)], strict=True):
        states[start:end, 0, pattern, state] = 1
    known = nothing_known(["Crab"])
    weight = chance * np.eye(len(PATTERNS))[[pattern]]
    for _ in range(seasons):
        known = add_season(known, ["Crab"], states, weight, FIRST, PEAK, USUAL)
    return known


VISIT = [(ELSEWHERE, 0), (HERE, PEAK_DAY + 8), (AWAY, PEAK_DAY + 17)]


def test_nothing_known_is_the_patterns_own() -> None:
    own = habits(nothing_known(["Crab", "Tall"]), USUAL)
    for name, values in own.items():
        assert values.shape == (2,)
        if name == "rut_departure_day":
            assert np.isnan(values).all()
        elif name != "rut_departure_sd":
            assert values == pytest.approx(getattr(USUAL, name))


def test_a_rut_visit_is_dated_from_the_peak_by_hand() -> None:
    """Normal with known spreads: precisions add (Gelman et al., Bayesian Data Analysis)."""
    own = habits(after(RUT, VISIT, seasons=2), USUAL)
    middle, sd = USUAL.rut_arrival_after_peak, USUAL.rut_arrival_sd
    alone = 12 - 1 / sd**2  # a day to the day, give or take its own length
    says = 1 / (1 / alone + USUAL.own_date_sd**2)
    day = (8 * 12 - middle / sd**2) / alone
    between = sd**2 - USUAL.own_date_sd**2
    precision = 1 / between + 2 * says
    wanted = (middle / between + 2 * says * day) / precision
    assert own["rut_arrival_after_peak"][0] == pytest.approx(wanted)
    assert own["rut_arrival_sd"][0] == pytest.approx(np.hypot(precision**-0.5, USUAL.own_date_sd))
    assert 4 < wanted < 8
    assert 12 < own["rut_departure_day"][0] < 17
    assert own["fall_arrival_day"][0] == USUAL.fall_arrival_day


def test_more_years_say_more_and_never_all() -> None:
    spreads = [
        habits(after(RUT, VISIT, seasons=n), USUAL)["rut_arrival_sd"][0] for n in (0, 1, 2, 20)
    ]
    assert spreads == sorted(spreads, reverse=True)
    assert spreads[-1] > USUAL.own_date_sd, "he still differs from year to year"


def test_a_summer_buck_is_dated_from_june() -> None:
    own = habits(after(SUMMER, [(HERE, 0), (ELSEWHERE, 80)], seasons=3), USUAL)
    assert 80 < own["summer_departure_day"][0] < 86


def test_another_pattern_or_no_coming_says_nothing() -> None:
    for known in (after(RUT, VISIT, chance=0.1), after(RUT, [(ELSEWHERE, 0)])):
        own = habits(known, USUAL)
        assert own["rut_arrival_sd"][0] == USUAL.rut_arrival_sd
        assert np.isnan(own["rut_departure_day"][0])


def test_one_who_is_often_away_for_long_is_expected_to_be() -> None:
    away = [(HERE, 0), (AWAY, 100), (HERE, 120), (AWAY, 160), (HERE, 180)]
    roams, stays = (habits(after(YEAR_ROUND, c), USUAL) for c in (away, [(HERE, 0)]))
    weight = USUAL.absences_to_learn
    assert roams["absence_days"][0] == pytest.approx(
        (weight * USUAL.absence_days + 40) / (weight + 2)
    )
    assert stays["absence_days"][0] == pytest.approx(USUAL.absence_days)
    assert stays["absence_start"][0] < USUAL.absence_start
    assert stays["absence_start"][0] < roams["absence_start"][0]


def test_a_fall_bucks_coming_is_dated_from_june_by_hand() -> None:
    """As for the rut, where the pattern's own middle is not nought."""
    own = habits(after(FALL, [(ELSEWHERE, 0), (HERE, 90), (ELSEWHERE, 290)]), USUAL)
    for name, came, middle, sd in (
        ("fall_arrival", 90, USUAL.fall_arrival_day, USUAL.fall_arrival_sd),
        ("fall_departure", 290, USUAL.fall_departure_day, USUAL.fall_departure_sd),
    ):
        alone = 12 - 1 / sd**2
        says = 1 / (1 / alone + USUAL.own_date_sd**2)
        day = (came * 12 - middle / sd**2) / alone
        between = 1 / (sd**2 - USUAL.own_date_sd**2)
        wanted = (middle * between + says * day) / (between + says)
        assert own[f"{name}_day"][0] == pytest.approx(wanted)
        assert min(came, middle) < wanted < max(came, middle)


@pytest.mark.parametrize(
    ("pattern", "before", "then", "date_of", "told", "not_told"),
    [
        (FALL, ELSEWHERE, HERE, "fall_arrival_day", (1, 200), (201, 364)),
        (FALL, HERE, ELSEWHERE, "fall_departure_day", (201, 364), (200, 1)),
        (SUMMER, HERE, ELSEWHERE, "summer_departure_day", (1, 230), (231, 364)),
        (RUT, ELSEWHERE, HERE, "rut_arrival_after_peak", (1, 364), ()),
    ],
)
def test_a_date_is_looked_for_in_its_own_part_of_the_season(
    pattern: int, before: int, then: int, date_of: str, told: tuple[int, ...], not_told: tuple[int]
) -> None:
    for day in (*told, *not_told):
        known = after(pattern, [(before, 0), (then, day)])
        assert (known[f"{date_of}_precision"].iloc[0] > 0) == (day in told), day


def test_days_here_and_away_are_counted_whole() -> None:
    known = after(YEAR_ROUND, [(AWAY, 0), (HERE, 30), (AWAY, 100), (HERE, 120)])
    row = known.iloc[0]
    # He was away from the first day on: when that began is not known.
    assert (row["absences"], row["days_absent"], row["days_here"]) == (1, 50, 315)
