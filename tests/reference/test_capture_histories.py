"""The presence engine as a Cormack-Jolly-Seber model, on the European dipper.

"Leave and never return" with days as years is that model: after its first capture a bird stays
(alive and on the ground) with chance phi a year, and is caught with chance p where it is.

Sources: histories and maximum likelihood, Lebreton, Burnham, Clobert and Anderson 1992, Ecological
Monographs 62:67 (data read, values recomputed): phi 0.560243, p 0.902584, -2 ln L 666.8377. Birds
newly met that leave at a higher rate: method of Pradel, Hines, Lebreton and Nichols 1997,
Biometrics 53:60, values of the R2ucare documentation (read, recomputed): phi first 0.5509, later
0.5716, p 0.9043, -2 ln L 666.680, share of transients 1 - 0.5509 / 0.5716 = 0.036.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pytest
from scipy.optimize import minimize
from scipy.special import expit, logit

from deerlog.analysis.presence import forward_backward as presence

HISTORIES = """
1111110:1 1111100:1 1111000:2 1101110:1 1100000:6 1010000:2 1000000:9 0111111:2 0111110:1
0111100:3 0111000:2 0110110:1 0110000:11 0100000:29 0011111:2 0011110:2 0011100:6 0011000:12
0010110:1 0010000:29 0001111:8 0001110:7 0001100:11 0001011:1 0001001:2 0001000:16 0000111:16
0000110:9 0000100:16 0000011:23 0000010:23 0000001:39
"""


def read_histories(text: str) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.int64]]:
    """Captures, shape (years, histories), and birds with each history."""
    pairs = [word.split(":") for word in text.split()]
    caught = np.array([[c == "1" for c in history] for history, _ in pairs]).T
    return caught, np.array([int(count) for _, count in pairs])


def minus_two_log_likelihood(
    phi_first: float, phi_later: float, p: float, text: str = HISTORIES
) -> float:
    """-2 ln L through `presence`, birds grouped by the year of their first capture."""
    caught, birds = read_histories(text)
    first = caught.argmax(axis=0)
    total = 0.0
    for year in np.unique(first):
        group = caught[year:, first == year]
        record = presence.sighting_emission(
            seen=group,
            effort=np.ones(group.shape),
            rates=np.array([-np.log1p(-p)]),
            wrong_tags=np.zeros(group.shape),
        )[:, :, 0, :]
        record[0] = 1.0  # the first capture is given, not explained
        phi = np.full(len(group) - 1, phi_later)
        phi[:1] = phi_first
        stays = np.zeros((len(phi), 1, 2, 2))  # gone, here
        stays[:, 0, 0, 0] = 1.0
        stays[:, 0, 1, 0], stays[:, 0, 1, 1] = 1 - phi, phi
        passed = presence.forward(np.array([[0.0, 1.0]]), stays, record)
        total += float(passed.log_evidence[-1, 0] @ birds[first == year])
    return -2 * total


def best(n_survivals: int, text: str = HISTORIES) -> tuple[list[float], float]:
    """Maximum likelihood: chances, and -2 ln L; one phi, or a first and a later one."""

    def minus_two(at: npt.NDArray[np.float64]) -> float:
        chances = expit(at)
        return minus_two_log_likelihood(chances[0], chances[-2], chances[-1], text)

    found = minimize(
        minus_two,
        logit([*([0.6] * n_survivals), 0.8]),
        method="Nelder-Mead",
        options={"xatol": 1e-7, "fatol": 1e-9},
    )
    assert found.success
    return list(expit(found.x)), float(found.fun)


def check_dippers(text: str = HISTORIES) -> None:
    (phi, p), minus_two = best(1, text)
    # Printed to six and four decimals.
    assert phi == pytest.approx(0.560243, rel=0, abs=1e-6)
    assert p == pytest.approx(0.902584, rel=0, abs=1e-6)
    assert minus_two == pytest.approx(666.8377, rel=0, abs=1e-4)


def check_transients(text: str = HISTORIES) -> None:
    (phi_first, phi_later, p), minus_two = best(2, text)
    # Printed to four and three decimals.
    assert phi_first == pytest.approx(0.5509, rel=0, abs=1e-4)
    assert phi_later == pytest.approx(0.5716, rel=0, abs=1e-4)
    assert p == pytest.approx(0.9043, rel=0, abs=1e-4)
    assert minus_two == pytest.approx(666.680, rel=0, abs=1e-3)
    assert 1 - phi_first / phi_later == pytest.approx(0.036, rel=0, abs=5e-4)


ONE_BIRD_LESS = HISTORIES.replace("0110000:11", "0110000:10")


def test_there_are_294_birds() -> None:
    caught, birds = read_histories(HISTORIES)
    assert caught.shape == (7, 32)
    assert birds.sum() == 294


def test_likelihood_at_the_published_values() -> None:
    got = minus_two_log_likelihood(0.560243, 0.560243, 0.902584)
    assert got == pytest.approx(666.8377, rel=0, abs=1e-4)


def test_dippers() -> None:
    check_dippers()


def test_transients() -> None:
    check_transients()


def test_one_bird_less_fails(must_fail: Callable[..., None]) -> None:
    must_fail(check_dippers, ONE_BIRD_LESS)
    must_fail(check_transients, ONE_BIRD_LESS)
