"""The true chances are true: what was given 20 to 30 % came true 20 to 30 % of the time."""

from __future__ import annotations

import numpy as np
import pytest
from simulation.ground import simulate_property
from simulation.half_days import (
    full_days,
    log_loss,
    seen_in_light,
    share_of_possible_gain,
)
from simulation.life import NOT_ALIVE
from simulation.passings import TagErrors
from simulation.scoring import reliability_table


@pytest.fixture(scope="module")
def chances_and_outcomes() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    on_range, on_day, seen = [], [], []
    for seed in range(6):
        p = simulate_property(
            np.random.default_rng(seed),
            2,
            chances=True,
            weather="simulated",
            weather_effect="strong",
        )
        outcome = seen_in_light(p)
        kept = np.broadcast_to((p.truth.running >= 1)[None, :, :, None], outcome.shape)
        assert p.truth.chance_on_range is not None and p.truth.chance_on_day is not None
        on_range.append(p.truth.chance_on_range[kept])
        on_day.append(p.truth.chance_on_day[kept])
        seen.append(outcome[kept])
    return np.concatenate(on_range), np.concatenate(on_day), np.concatenate(seen)


def test_chances_knowing_the_day_come_true(chances_and_outcomes) -> None:
    _, chance, seen = chances_and_outcomes
    table = reliability_table(100 * chance, seen)
    busy = table[table["n"] >= 200]
    assert len(busy) >= 8
    # Half-days of one buck and day share their noise, so allow a little beyond the interval.
    assert (busy["mean_score"] - busy["percent_true"]).abs().max() < 3.5
    assert chance.mean() == pytest.approx(seen.mean(), rel=0.03)


def test_chances_knowing_the_range_come_true(chances_and_outcomes) -> None:
    chance, on_day, seen = chances_and_outcomes
    table = reliability_table(100 * chance, seen)
    busy = table[table["n"] >= 500]
    # His drift lasts for days: outcomes of neighbouring days are not independent.
    assert (busy["mean_score"] - busy["percent_true"]).abs().max() < 4
    assert chance.mean() == pytest.approx(seen.mean(), rel=0.04)
    assert log_loss(on_day, seen) < log_loss(chance, seen), "who knows more does better"


def test_perturbed_chances_do_worse(chances_and_outcomes) -> None:
    chance, _, seen = chances_and_outcomes
    for factor in (0.8, 1.2):
        assert log_loss(np.clip(factor * chance, 0, 1), seen) > log_loss(chance, seen)


def test_away_the_chance_is_that_of_a_wrong_tag() -> None:
    p = simulate_property(np.random.default_rng(1), 1, chances=True)
    assert p.truth.chance_on_range is not None
    away = ~p.truth.around & (p.truth.stage != NOT_ALIVE)
    chance = p.truth.chance_on_range.transpose(0, 2, 1, 3)[away]
    assert 0 < chance.mean() < 0.002
    flawless = TagErrors(missed=0.0, wrong=0.0, unsure=0.0)
    p = simulate_property(np.random.default_rng(1), 1, chances=True, errors=flawless)
    assert p.truth.chance_on_range is not None
    assert (p.truth.chance_on_range.transpose(0, 2, 1, 3)[~p.truth.around] == 0).all()


def test_full_days_are_those_believed_to_have_run() -> None:
    p = simulate_property(np.random.default_rng(1), 1)
    full = full_days(p)
    assert full.sum() == (p.effort["camera_day"] >= 1).sum()
    assert full[p.truth.running >= 1].all()


def test_share_of_possible_gain_by_hand() -> None:
    assert share_of_possible_gain(0.08, 0.10, 0.06) == pytest.approx(0.5)
    assert share_of_possible_gain(0.11, 0.10, 0.06) == pytest.approx(-0.25)
    assert log_loss(np.array([0.5, 0.25]), np.array([True, False])) == pytest.approx(
        (np.log(2) - np.log(0.75)) / 2
    )
    assert log_loss(np.array([0.0]), np.array([True])) == np.inf
