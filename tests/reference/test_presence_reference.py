"""Forward and backward passes against a textbook, a general library, and every path by hand."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pytest
from hmmlearn.hmm import CategoricalHMM

from deerlog.analysis.presence import forward_backward as presence
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import AROUND, PATTERNS, pattern_chains
from deerlog.timekeeping.seasons import SeasonCalendar

Floats = npt.NDArray[np.float64]

# ---- a textbook --------------------------------------------------------------------------------
# Source: Russell and Norvig, Artificial Intelligence, a modern approach, the umbrella world (from
# memory, recomputed): start 0.5 / 0.5, stay 0.7, chance of the event 0.9 / 0.2, two events.


def check_umbrella(stay: float = 0.7) -> None:
    start = np.array([[0.5, 0.5]])
    transition = np.array([[[[stay, 1 - stay], [1 - stay, stay]]]])
    emission = np.tile([0.9, 0.2], (2, 1, 1))
    passed = presence.forward(start, transition, emission)
    smoothed = presence.smooth(transition, emission, passed)
    # Printed to five decimals.
    near = {"rtol": 0.0, "atol": 5.1e-6}
    np.testing.assert_allclose(passed.filtered[:, 0, 0, 0], [0.81818, 0.88336], **near)
    np.testing.assert_allclose(smoothed[:, 0, 0, 0], [0.88336, 0.88336], **near)


def test_umbrella() -> None:
    check_umbrella()


def test_umbrella_with_other_weather_fails(must_fail: Callable[..., None]) -> None:
    must_fail(check_umbrella, stay=0.71)


# ---- a general library -------------------------------------------------------------------------
# Source: the PyPI package hmmlearn, CategoricalHMM with its parameters fixed; computed here.


def check_against_hmmlearn(seed: int, nudge: float = 0.0) -> None:
    rng = np.random.default_rng(seed)
    n_states, n_symbols, n_days = int(rng.integers(2, 6)), 3, 200
    model = CategoricalHMM(n_components=n_states, n_features=n_symbols)
    model.startprob_ = rng.dirichlet(np.ones(n_states))
    model.transmat_ = rng.dirichlet(np.full(n_states, 0.5), n_states)
    model.emissionprob_ = rng.dirichlet(np.ones(n_symbols), n_states)
    symbols = rng.integers(0, n_symbols, n_days)
    log_likelihood = model.score(symbols[:, None])
    posterior = model.predict_proba(symbols[:, None])

    mixed = (1 - nudge) * model.transmat_ + nudge / n_states
    transition = np.broadcast_to(mixed, (n_days - 1, 1, n_states, n_states))
    emission = model.emissionprob_.T[symbols][:, None, :]
    passed = presence.forward(model.startprob_[None], transition, emission)
    smoothed = presence.smooth(transition, emission, passed)
    # Double precision over 200 days.
    np.testing.assert_allclose(passed.log_evidence[-1, 0, 0], log_likelihood, rtol=1e-11, atol=0)
    np.testing.assert_allclose(smoothed[:, 0, 0], posterior, rtol=0, atol=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_against_hmmlearn(seed: int) -> None:
    check_against_hmmlearn(seed)


@pytest.mark.parametrize("seed", range(8))
def test_against_hmmlearn_with_another_chain_fails(
    seed: int, must_fail: Callable[..., None]
) -> None:
    must_fail(check_against_hmmlearn, seed, nudge=1e-6)


# ---- every path --------------------------------------------------------------------------------
# Source: arithmetic. Each path that a chain can take is written out with its whole probability,
# no two are ever joined, and the sums over them are compared.


def every_path(
    start: Floats, transition: Floats, emission: Floats
) -> tuple[npt.NDArray[np.int64], Floats]:
    """Every possible path, shape (paths, days), and its probability with the record."""
    paths = np.flatnonzero(start > 0)[:, None]
    weight = start[paths[:, 0]] * emission[0, paths[:, 0]]
    for step, record in zip(transition, emission[1:], strict=True):
        ahead = step[paths[:, -1]]
        which, to = np.nonzero(ahead > 0)
        weight = weight[which] * ahead[which, to] * record[to]
        paths = np.column_stack([paths[which], to])
    return paths, weight


def check_every_path(
    start: Floats, transition: Floats, emission: Floats, *, stale_by: int = 0
) -> int:
    """Both passes against the paths; ``stale_by`` days' delay in the transitions is a fault."""
    n_days, _, n_states = emission.shape
    used = np.roll(transition, stale_by, axis=0)
    passed = presence.forward(start, used, emission)
    smoothed = presence.smooth(used, emission, passed)
    n_paths = 0
    for k in range(start.shape[0]):
        for series in range(emission.shape[1]):
            record = emission[:, series]
            paths, weight = every_path(start[k], transition[:, k], record)
            n_paths += len(paths)
            share = np.stack([(paths == s).T @ weight for s in range(n_states)], axis=1)
            # Sums of up to some hundred thousand products in double precision.
            near = {"rtol": 1e-10, "atol": 1e-14}
            np.testing.assert_allclose(
                passed.log_evidence[-1, k, series], np.log(weight.sum()), **near
            )
            np.testing.assert_allclose(smoothed[:, k, series], share / weight.sum(), **near)
            for t in range(n_days):
                paths, weight = every_path(start[k], transition[:t, k], record[: t + 1])
                np.testing.assert_allclose(
                    passed.log_evidence[t, k, series], np.log(weight.sum()), **near
                )
                here = np.bincount(paths[:, -1], weight, minlength=n_states) / weight.sum()
                np.testing.assert_allclose(passed.filtered[t, k, series], here, **near)
    return n_paths


def random_chains(seed: int) -> tuple[Floats, Floats, Floats]:
    """Two chains of three states over 2 to 10 days, other chances each day, two records."""
    rng = np.random.default_rng(seed)
    n_days = int(rng.integers(2, 11))
    start = rng.dirichlet(np.ones(3), 2)
    transition = rng.dirichlet(np.full(3, 0.7), (n_days - 1, 2, 3))
    return start, transition, rng.uniform(0, 1, (n_days, 2, 3))


@pytest.mark.parametrize("seed", range(6))
def test_random_chains_by_every_path(seed: int) -> None:
    check_every_path(*random_chains(seed))


def season_days(first_day: int, n_days: int = 8) -> tuple[Floats, Floats, Floats]:
    """Eight days of every pattern out of a season, from where each chain has got to by then."""
    chains = pattern_chains(SeasonCalendar(), 2023, Judgement())
    start = chains.start[0, : len(PATTERNS), None].astype(float)
    transition = chains.transition[:, 0, : len(PATTERNS)].astype(float)
    for step in transition[:first_day]:
        start = start @ step
    rng = np.random.default_rng(first_day)
    record = presence.sighting_emission(
        seen=rng.uniform(size=(n_days, 1)) < 0.4,
        effort=rng.choice([0.0, 0.5, 1.0, 1.4], (n_days, 1)),
        rates=np.array([0.1, 0.8]),
        wrong_tags=rng.uniform(0.0005, 0.01, (n_days, 1)),
    ).reshape(n_days, 2, 2)
    emission = np.where(AROUND, record[..., 1:], record[..., :1])
    return start[:, 0], transition[first_day : first_day + n_days - 1], emission


# Velvet shed, the fall shift, the eve of the rut, its end, the return to summer ground.
@pytest.mark.parametrize("first_day", [0, 92, 105, 160, 190, 238, 320])
def test_patterns_by_every_path(first_day: int) -> None:
    start, transition, emission = season_days(first_day)
    assert start.shape[0] == len(PATTERNS)
    assert check_every_path(start, transition, emission) > 1000


def test_transitions_a_day_late_fail(must_fail: Callable[..., None]) -> None:
    must_fail(check_every_path, *random_chains(1), stale_by=1)
    must_fail(check_every_path, *season_days(160), stale_by=1)
