"""The forecast against the truth on simulated properties; the full figures are
`forecast_skill`'s."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.backtest.backtest import RULES
from simulation.forecast_skill import Skill, replayed, share_true, skill, with_truth
from simulation.ground import simulate_property

PROPERTIES = ((300, "busy"), (301, "thin"), (302, "busy"))


@pytest.fixture(scope="module")
def half_days() -> pd.DataFrame:
    """September to November of a third season."""
    parts = []
    for seed, density in PROPERTIES:
        simulated = simulate_property(np.random.default_rng(seed), 3, density=density, chances=True)
        made = replayed(simulated, pd.Timestamp("2023-09-01"), pd.Timestamp("2023-11-30"))
        parts.append(with_truth(simulated, made).assign(property=f"{seed} {density}"))
    return pd.concat(parts, ignore_index=True)


@pytest.fixture(scope="module")
def found(half_days: pd.DataFrame) -> Skill:
    return skill(half_days)


def test_more_than_half_of_the_way_to_the_truth(found: Skill) -> None:
    assert found.truth < found.ours < found.best_rule_loss
    assert found.r > 0.5


def test_reliable_where_it_matters(half_days: pd.DataFrame) -> None:
    mean, share, error, n = share_true(half_days, 0.1, 0.4)
    assert n > 500
    # Half-days of one property err together; three properties tell their spread but roughly.
    assert abs(mean - share) < max(4 * error, 0.04)
    assert half_days["forecast"].mean() == pytest.approx(half_days["seen"].mean(), rel=0.2)


def test_a_spoilt_forecast_scores_worse(half_days: pd.DataFrame, found: Skill) -> None:
    for factor in (0.6, 1.7):
        spoilt = half_days.assign(forecast=(factor * half_days["forecast"]).clip(upper=0.999))
        assert skill(spoilt).r < found.r
    swapped = half_days.assign(forecast=half_days["all_time"])
    assert skill(swapped).r <= 0
    perfect = half_days.assign(forecast=half_days["truth"].clip(1e-12, 1 - 1e-12))
    assert skill(perfect).r == pytest.approx(1)
    assert set(RULES) <= set(half_days.columns)
