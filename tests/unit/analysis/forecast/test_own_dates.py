"""A buck's own dates, from states made by hand."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from deerlog.analysis.presence.own_dates import (
    RUT_DEPARTURE,
    DateSeen,
    dates_seen,
    own_date,
    own_dates,
)

from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import (
    AWAY,
    BEFORE,
    HERE,
    LEFT,
    PATTERNS,
    RUT,
    STATES,
    SUMMER,
)

FIRST, PEAK = date(2024, 6, 1), date(2024, 11, 12)
PEAK_DAY = (PEAK - FIRST).days
USUAL = Judgement()


def states(pattern: int, course: list[tuple[int, int]]) -> np.ndarray:
    """He is in each state of ``course`` from its day on, for certain."""
    given = np.zeros((365, len(PATTERNS), len(STATES)))
    for (state, start), (_, end) in zip(course, [*course[1:], (0, 365)], strict=True):
        given[start:end, pattern, state] = 1
    return given


def sure_of(pattern: int) -> np.ndarray:
    return np.eye(len(PATTERNS))[pattern]


def test_a_rut_visit_is_dated_from_the_peak() -> None:
    visit = states(RUT, [(BEFORE, 0), (HERE, PEAK_DAY - 4), (AWAY, PEAK_DAY + 5)])
    found = dates_seen(visit, sure_of(RUT), FIRST, PEAK)
    assert set(found) == {"rut_arrival", RUT_DEPARTURE}
    assert found["rut_arrival"].day == pytest.approx(-4)
    assert found[RUT_DEPARTURE].day == pytest.approx(5)
    assert found["rut_arrival"].sd < 0.5 and found["rut_arrival"].weight == 1


def test_a_summer_buck_is_dated_from_june() -> None:
    found = dates_seen(states(SUMMER, [(HERE, 0), (LEFT, 95)]), sure_of(SUMMER), FIRST, PEAK)
    assert found["summer_departure"].day == pytest.approx(95)


def test_another_pattern_or_no_coming_says_nothing() -> None:
    visit = states(RUT, [(BEFORE, 0), (HERE, PEAK_DAY), (AWAY, PEAK_DAY + 5)])
    assert dates_seen(visit, 0.1 * sure_of(RUT), FIRST, PEAK) == {}
    assert dates_seen(states(RUT, [(BEFORE, 0)]), sure_of(RUT), FIRST, PEAK) == {}


def test_two_years_by_hand() -> None:
    """Normal with known spreads: precisions add (Gelman et al., Bayesian Data Analysis)."""
    between = 9.0**2 - 5.0**2
    alone = 1 / 2.0**2 - 1 / 9.0**2
    day = (10 / 2.0**2 - 0 / 9.0**2) / alone
    says = 1 / (1 / alone + 5.0**2)
    precision = 1 / between + 2 * says
    middle, sd = own_date(0.0, 9.0, [DateSeen(day=10, sd=2, weight=1)] * 2, 5.0) or (0, 0)
    assert middle == pytest.approx(2 * says * day / precision)
    assert sd == pytest.approx(np.sqrt(1 / precision + 25))
    assert 5 < middle < 10 and 5 < sd < 9


def test_more_years_say_more_and_never_all() -> None:
    spreads = [
        (own_date(0.0, 9.0, [DateSeen(day=6, sd=1, weight=1)] * n, 5.0) or (0, 9.0))[1]
        for n in (0, 1, 2, 20)
    ]
    assert spreads == sorted(spreads, reverse=True)
    assert spreads[-1] > 5.0, "he still differs from year to year"


def test_a_date_as_vague_as_the_pattern_says_nothing() -> None:
    assert own_date(0.0, 9.0, [DateSeen(day=0, sd=9.0, weight=1)], 5.0) is None
    unknown = own_dates(USUAL, [{}], 5.0)
    assert unknown.judgement == USUAL and unknown.rut_departure is None


def test_own_dates_take_the_patterns_place() -> None:
    season = {
        "rut_arrival": DateSeen(day=8, sd=1, weight=1),
        RUT_DEPARTURE: DateSeen(day=17, sd=1, weight=1),
    }
    got = own_dates(USUAL, [season] * 3, 5.0)
    middle, sd = USUAL.rut_arrival_after_peak, USUAL.rut_arrival_sd
    wanted = own_date(middle, sd, [season["rut_arrival"]] * 3, 5.0)
    assert wanted == (got.judgement.rut_arrival_after_peak, got.judgement.rut_arrival_sd)
    assert middle < wanted[0] < 8 and 5 < wanted[1] < sd
    assert got.judgement.fall_arrival_day == USUAL.fall_arrival_day
    assert got.rut_departure is not None
    assert middle + USUAL.rut_stay_days < got.rut_departure[0] < 17
