"""Intervals for small counts, and chances of being seen at all, against published values."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from deerlog.analysis.intervals import jeffreys, poisson_exact
from deerlog.analysis.presence import forward_backward as presence

PRINTED_4 = 5.1e-5
"""Half a unit in the fourth decimal, with a hair for the rounding of the halves."""

# Source of the form: Brown, Cai and DasGupta 2001, Statistical Science 16:101; the figures are
# recomputed from it: 95 %, ends at 0 where none and at 1 where all.
JEFFREYS = {
    (81, 263): (0.2545, 0.3656),
    (15, 148): (0.0604, 0.1576),
    (1, 29): (0.0037, 0.1501),
    (0, 20): (0.0, 0.1166),
    (30, 31): (0.8590, 0.9965),
}


def check_jeffreys(k: int, n: int, level: float = 0.95) -> None:
    got = np.array(jeffreys(k, n, level))
    np.testing.assert_allclose(got, JEFFREYS[k, n], rtol=0, atol=PRINTED_4)


@pytest.mark.parametrize(("k", "n"), JEFFREYS)
def test_jeffreys(k: int, n: int) -> None:
    check_jeffreys(k, n)


def test_jeffreys_of_94_percent_fails(must_fail: Callable[..., None]) -> None:
    for k, n in JEFFREYS:
        must_fail(check_jeffreys, k, n, level=0.94)


# Source: Garwood 1936, Biometrika 28:437 (recomputed): exact 95 % for a Poisson mean.
POISSON = {0: (0.0, 3.6889), 3: (0.6187, 8.7673), 10: (4.7954, 18.3904)}


def check_poisson(count: int, level: float = 0.95) -> None:
    got = np.array(poisson_exact(count, level))
    np.testing.assert_allclose(got, POISSON[count], rtol=0, atol=PRINTED_4)


@pytest.mark.parametrize("count", POISSON)
def test_poisson(count: int) -> None:
    check_poisson(count)


def test_poisson_of_94_percent_fails(must_fail: Callable[..., None]) -> None:
    for count in POISSON:
        must_fail(check_poisson, count, level=0.94)


# Source: arithmetic, 1 - 0.7^k: chance of at least one detection in k nights at 0.3 a night.
DETECTION = {3: 0.657, 7: 0.918, 14: 0.993}


def check_detection(nights: int, p: float = 0.3) -> None:
    """One animal that stays, and was not seen: 1 less the evidence is the chance of being seen."""
    record = presence.sighting_emission(
        seen=np.zeros((nights, 1), dtype=bool),
        effort=np.ones((nights, 1)),
        rates=np.array([-np.log1p(-p)]),
        wrong_tags=np.zeros((nights, 1)),
    )[:, :, 0, :]
    stays = np.broadcast_to(np.eye(2), (nights - 1, 1, 2, 2))
    passed = presence.forward(np.array([[0.0, 1.0]]), stays, record)
    seen_at_all = -np.expm1(passed.log_evidence[-1, 0, 0])
    # Printed to three decimals.
    np.testing.assert_allclose(seen_at_all, DETECTION[nights], rtol=0, atol=5e-4)


@pytest.mark.parametrize("nights", DETECTION)
def test_detection_over_nights(nights: int) -> None:
    check_detection(nights)


def test_detection_at_a_fifth_more_fails(must_fail: Callable[..., None]) -> None:
    for nights in DETECTION:
        must_fail(check_detection, nights, p=0.36)
