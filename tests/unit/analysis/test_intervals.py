"""Intervals at the edges of what can be counted."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from deerlog.analysis.intervals import jeffreys, poisson_exact


def test_nothing_tried_tells_nothing() -> None:
    assert [float(end) for end in jeffreys(0, 0)] == [0.0, 1.0]


def test_arrays_and_numbers_that_cannot_be() -> None:
    low, high = jeffreys([0, 1, 2], 2)
    assert low.shape == high.shape == (3,)
    for k, n in ((-1, 3), (4, 3)):
        with pytest.raises(ValueError, match="between 0 and trials"):
            jeffreys(k, n)


@given(n=st.integers(1, 400), data=st.data())
def test_jeffreys_holds_the_share_and_mirrors(n: int, data: st.DataObject) -> None:
    k = data.draw(st.integers(0, n))
    low, high = jeffreys(k, n)
    assert 0 <= low <= k / n <= high <= 1
    mirrored_low, mirrored_high = jeffreys(n - k, n)
    np.testing.assert_allclose([low, high], [1 - mirrored_high, 1 - mirrored_low], atol=1e-9)
    # Ten times the record at the same share says more.
    more_low, more_high = jeffreys(10 * k, 10 * n)
    assert more_high - more_low < high - low


@given(count=st.integers(0, 500))
def test_poisson_holds_the_count_and_grows_with_it(count: int) -> None:
    low, high = poisson_exact(count)
    next_low, next_high = poisson_exact(count + 1)
    assert low <= count <= high
    assert low <= next_low
    assert high < next_high
