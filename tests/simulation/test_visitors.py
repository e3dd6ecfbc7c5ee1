"""Days named for visitors of a world that is not the model's own."""

from __future__ import annotations

import numpy as np

from .visitors import held


def test_days_named_hold_more_of_the_stay_than_the_rut_and_are_fewer() -> None:
    """The long run is a command; here it is enough that his own past beats the property's rut."""
    found = held(np.random.default_rng(5), 40, 3.0)
    assert len(found) >= 36
    inside = np.array([h.inside for h in found])
    rut = np.array([h.inside_rut for h in found])
    length = np.array([h.length / h.length_rut for h in found])
    assert inside.mean() - 2 * inside.std() / len(found) ** 0.5 > rut.mean()
    assert inside.mean() > 0.7
    assert length.mean() < 0.9
