"""Simulated bucks who change ground between summer and fall, and some who do not."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from simulation.ground import simulate_property
from simulation.shifts_found import shifts_found


@pytest.fixture(scope="module")
def found() -> pd.DataFrame:
    return pd.concat(
        [
            shifts_found(simulate_property(np.random.default_rng(seed), 2, density="busy"))
            for seed in range(600, 606)
        ]
    )


def test_who_moved_far_is_told_and_when(found: pd.DataFrame) -> None:
    far = found[found["true_m"] > 500]
    told = far[far["change_day"].notna()]
    assert len(far) >= 10 and len(told) >= 0.6 * len(far)
    error = (told["change_day"] - told["true_day"]).dt.days.abs()
    assert error.median() <= 2
    assert (error <= 7).mean() > 0.8


def test_who_hardly_moved_is_not_told_to_have(found: pd.DataFrame) -> None:
    near = found[found["true_m"] < 200]
    assert len(near) >= 3
    assert (near["change_probability"] < 0.5).all()


def test_farther_is_farther(found: pd.DataFrame) -> None:
    """The centre of what cameras saw lies within the cameras: shorter than between ranges."""
    assert found[["distance_m", "true_m"]].corr(method="spearman").iloc[0, 1] > 0.5
    assert (found["low_m"] <= found["distance_m"]).all()
    assert (found["distance_m"] <= found["high_m"]).all()
