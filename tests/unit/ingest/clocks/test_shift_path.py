"""The chain of shifts against the same chain written out as matrices."""

from __future__ import annotations

import numpy as np
import pytest

from deerlog.ingest.clocks.look_model import SHIFTS_MINUTES
from deerlog.ingest.clocks.shift_path import (
    N_SHIFTS,
    N_STATES,
    P_AFTER_CHANGE,
    P_CLOCK_NIGHT,
    P_START,
    shift_path,
    shift_prior,
)

RNG = np.random.default_rng(8)
N_CAMERAS, N_BLOCKS = 3, 4
LOG_LOOKS = np.log(RNG.uniform(0.01, 1, (N_BLOCKS, N_SHIFTS, N_CAMERAS)))
LOG_STUCK = np.log(RNG.uniform(0.01, 1, (N_BLOCKS, 2)))
LOG_CAMERA = np.log([0.5, 0.3, 0.2])
P_CHANGE = np.array([0.03, 0.01, 0.2])
NIGHT = np.array([0, -60, 60])


def matrix(p_any: float, night: int) -> np.ndarray:
    """Transition[i, j]: from state i to j."""
    fresh = shift_prior(P_AFTER_CHANGE)
    p_night = P_CLOCK_NIGHT if night else 0.0
    moves = (1 - p_any - p_night) * np.eye(N_STATES) + p_any * fresh[None, :]
    for i in range(N_STATES):
        j = i
        if i < N_SHIFTS:
            target = (SHIFTS_MINUTES[i] + night + 710) % 1440 - 710
            j = int(np.flatnonzero(target == SHIFTS_MINUTES)[0])
        moves[i, j] += p_night
    return moves


def test_the_prior_sums_to_one() -> None:
    for prior in (shift_prior(P_START), shift_prior(P_AFTER_CHANGE)):
        assert prior.shape == (N_STATES,)
        assert prior.sum() == pytest.approx(1)
        assert (prior > 0).all()


def test_against_matrices() -> None:
    """Sums over all paths of four blocks, by plain matrix products."""
    start = shift_prior(P_START)
    moves = [matrix(p, n) for p, n in zip(P_CHANGE, NIGHT, strict=True)]
    for move in moves:
        assert move.sum(axis=1) == pytest.approx(1)
    stuck = np.broadcast_to(LOG_STUCK[:, :, None], (N_BLOCKS, 2, N_CAMERAS))
    likelihood = np.exp(np.concatenate((LOG_LOOKS, stuck), axis=1))
    joint = np.zeros((N_BLOCKS, N_STATES))
    evidence = np.zeros(N_CAMERAS)
    for g in range(N_CAMERAS):
        for b in range(N_BLOCKS):
            left = start * likelihood[0, :, g]
            for k in range(b):
                left = (left @ moves[k]) * likelihood[k + 1, :, g]
            right = np.ones(N_STATES)
            for k in range(N_BLOCKS - 2, b - 1, -1):
                right = moves[k] @ (likelihood[k + 1, :, g] * right)
            joint[b] += np.exp(LOG_CAMERA[g]) * left * right
            evidence[g] = np.exp(LOG_CAMERA[g]) * (left * right).sum()
    path = shift_path(LOG_LOOKS, LOG_STUCK, LOG_CAMERA, P_CHANGE, NIGHT)
    assert path.p_state == pytest.approx(joint / joint.sum(axis=1, keepdims=True))
    assert path.p_camera == pytest.approx(evidence / evidence.sum())
    assert path.p_fault.shape == (N_BLOCKS,)


def test_one_block() -> None:
    path = shift_path(LOG_LOOKS[:1], LOG_STUCK[:1], LOG_CAMERA, P_CHANGE[:0], NIGHT[:0])
    assert path.p_state.sum() == pytest.approx(1)
    assert path.p_fault.shape == (1,)


def test_long_odds_do_not_run_under() -> None:
    path = shift_path(1000 * LOG_LOOKS, 1000 * LOG_STUCK, LOG_CAMERA, P_CHANGE, NIGHT)
    assert path.p_state.sum(axis=1) == pytest.approx(1)
