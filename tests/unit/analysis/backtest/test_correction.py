"""Chances moved by what came true of earlier ones."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.special import expit, logit

from deerlog.analysis.backtest.correction import MIDDLE, Correction, GivenBefore
from deerlog.analysis.forecast.chances import Forecast


def weeks_of(
    n: int, level: float, slope: float = 0.0, half_days: int = 4000, seed: int = 1
) -> GivenBefore:
    """Weeks whose true log odds lie off the given ones by a level and a slope."""
    rng = np.random.default_rng(seed)
    before = GivenBefore()
    for _ in range(n):
        odds = rng.normal(-3.5, 1.5, half_days)
        true = expit(odds + level + slope * (odds - MIDDLE))
        before.add(expit(odds), rng.random(half_days) < true)
    return before


def test_nothing_known_changes_nothing() -> None:
    none = GivenBefore().correction()
    assert none == Correction() and none.factor == 1.0
    chance = np.array([1e-6, 0.2, 0.99])
    np.testing.assert_allclose(none.of(chance), chance)


def test_many_weeks_give_back_the_level_and_the_slope() -> None:
    got = weeks_of(26, level=-0.5, slope=0.2).correction()
    assert got.level == pytest.approx(-0.5, abs=0.1)
    assert got.slope == pytest.approx(0.2, abs=0.06)
    assert got.weeks == 26 and got.factor < 0.85


def test_right_chances_are_left_alone_and_few_weeks_move_little() -> None:
    assert abs(weeks_of(26, level=0.0).correction().factor - 1) < 0.08
    one, many = (weeks_of(n, level=-0.7, half_days=150).correction() for n in (1, 20))
    assert -0.35 < one.level < 0 and one.level > many.level


def test_only_the_last_weeks_count() -> None:
    old = weeks_of(10, level=1.0)
    rng = np.random.default_rng(3)
    for _ in range(26):
        odds = rng.normal(-3.5, 1.5, 4000)
        old.add(expit(odds), rng.random(4000) < expit(odds))
    assert abs(old.correction().level) < 0.1


def test_whole_weeks_that_go_together_tell_less() -> None:
    """All a week's chances come true, or none: the same sum, in a tenth as many things told."""
    rng = np.random.default_rng(5)
    apart, together = GivenBefore(), GivenBefore()
    chance = np.full(200, 0.1)
    for week in range(20):
        apart.add(chance, rng.random(200) < 0.2)
        together.add(chance, np.full(200, week % 5 == 0))
    assert 0 < together.correction().level < 0.5 * apart.correction().level


def test_a_corrected_forecast_gives_the_corrected_chances() -> None:
    rng = np.random.default_rng(6)
    shape = (3, 2, 4, 2)
    made = Forecast(
        days=pd.date_range("2025-11-01", periods=3),
        bucks=("Ash", "Oak"),
        sites=tuple("stuv"),
        around=np.array([[0.2, 1.0]] * 3),
        log_odds=rng.normal(-3, 1, shape),
        sd=np.full(shape, 0.4),
        floor=np.zeros(shape[1:]),
    )
    lower = Correction(level=-0.6, slope=0.1, weeks=9)
    np.testing.assert_allclose(lower.forecast(made).chance(), lower.of(made.chance()), rtol=0.02)
    higher = Correction(level=5.0, weeks=9).forecast(made)
    assert (higher.chance() <= made.around[:, :, None, None] + 1e-9).all(), "no more than around"
    assert logit(higher.chance()).max() < 30
