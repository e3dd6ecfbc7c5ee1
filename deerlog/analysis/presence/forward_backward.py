"""Around or gone, day by day: exact inference in chains whose chances change with the day.

Everything is batched: one call carries every buck, way and sighting rate at once, so that the only
Python loop runs over the days. Chances keep the precision they come in, single or double; log
probabilities are double.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from deerlog.analysis.arrays import Bools, Floats

_TINY = np.float32(1e-37)


@dataclass(frozen=True)
class Forward:
    """What is known of each day from that day and the days before it.

    ``filtered`` (days, ..., n, states): chance of each state. ``log_evidence`` (days, ..., n): log
    probability of everything observed so far.
    """

    filtered: Floats
    log_evidence: Floats


def forward(start: Floats, transition: Floats, emission: Floats) -> Forward:
    """Filter forward through the days.

    ``start`` (..., states): chance of each state on the first day, before anything is seen, in each
    chain; every one of its n series is run through a chain. ``transition`` (days - 1, ..., states,
    states): from i on day t to j on day t + 1; rows sum to 1. ``emission`` (days, ..., n, states):
    chance of what was observed in each state, 1 where nothing was watched; axes before n may be 1,
    or missing, where chains share a record. Scaled at each day, so no underflow over any number of
    days (Rabiner 1989, Proceedings of the IEEE 77:257, section V.A).
    """
    n_days, n, n_states = len(emission), *emission.shape[-2:]
    filtered = np.empty((n_days, *start.shape[:-1], n, n_states), dtype=emission.dtype)
    log_evidence = np.empty(filtered.shape[:-1])
    ahead: Floats = np.repeat(start[..., None, :], n, axis=-2)
    total = np.zeros(ahead.shape[:-1])
    # A sum over the states; as a product it is ten times faster than along a short axis.
    ones = np.ones(n_states, dtype=emission.dtype)
    for t in range(n_days):
        joint = ahead * emission[t]
        scale = joint @ ones
        with np.errstate(divide="ignore"):
            # An impossible observation makes the evidence zero, and stays so.
            total += np.log(scale)
        log_evidence[t] = total
        np.multiply(joint, (1 / np.where(scale > 0, scale, 1.0))[..., None], out=filtered[t])
        if t + 1 < n_days:
            ahead = filtered[t] @ transition[t]
    return Forward(filtered=filtered, log_evidence=log_evidence)


def log_evidence(start: Floats, transition: Floats, emission: Floats) -> Floats:
    """Log probability of everything observed, shape (..., n); arguments as for `forward`."""
    n, n_states = emission.shape[-2:]
    joint: Floats = np.repeat(start[..., None, :], n, axis=-2) * emission[0]
    total, ones = np.zeros(joint.shape[:-1]), np.ones(n_states, dtype=emission.dtype)
    for t in range(1, len(emission)):
        joint = (joint @ transition[t - 1]) * emission[t]
        if t % 4 == 0:  # often enough that nothing underflows
            scale = np.maximum(joint @ ones, _TINY)
            total += np.log(scale)
            joint /= scale[..., None]
    return np.asarray(total + np.log(np.maximum(joint @ ones, _TINY)))


def smooth(
    transition: Floats, emission: Floats, passed: Forward, weight: Floats | None = None
) -> Floats:
    """Chance of each state on each day given all days, shape (days, ..., n, states).

    With ``weight`` (..., n) the weighted sum over each chain's series instead, (days, ..., states).
    """
    n_days, n_states = len(emission), emission.shape[-1]
    shape = passed.filtered.shape
    smoothed = np.empty(shape if weight is None else (*shape[:-2], n_states))
    behind, ones = np.ones(shape[1:], emission.dtype), np.ones(n_states, emission.dtype)
    for t in range(n_days - 1, -1, -1):
        if t + 1 < n_days:
            behind = (behind * emission[t + 1]) @ np.swapaxes(transition[t], -1, -2)
            if t % 4 == 0:
                scale = behind @ ones
                behind /= np.where(scale > 0, scale, 1.0)[..., None]
        joint = passed.filtered[t] * behind
        total = joint @ ones
        share = (1.0 if weight is None else weight) / np.where(total > 0, total, 1.0)
        if weight is None:
            smoothed[t] = joint * share[..., None]
        else:
            smoothed[t] = (share[..., None, :] @ joint)[..., 0, :]
    return smoothed


def sighting_emission(seen: Bools, effort: Floats, rates: Floats, wrong_tags: Floats) -> Floats:
    """Chance of each day's record when gone and when around, shape (days, n, r, 2).

    ``effort`` (days, n) is the share of his cameras that ran, 1 on a usual day; ``rates`` (r,) are
    sightings a day when he is around and effort is 1; ``wrong_tags`` (days, n) are expected
    sightings of other bucks under his name. A day with no effort and no tag gives the same for
    both, and so says nothing. A tag on a day with no effort (the effort table is wrong, for
    something did run) is held against the wrong tags of a usual day, and says nothing of the rate.
    """
    expected = np.empty((*seen.shape, len(rates), 2), dtype=effort.dtype)
    expected[..., 0] = wrong_tags[..., None]
    expected[..., 1] = wrong_tags[..., None] + rates * effort[..., None]
    out = np.exp(-expected)
    # Not one less the other, which would lose the digits of a small chance.
    out[seen] = -np.expm1(-expected[seen])
    unwatched = seen & (effort <= 0)
    usual = -np.expm1(-(wrong_tags[unwatched][:, None] + rates))
    out[unwatched, :, 0] /= usual
    out[unwatched, :, 1] = 1.0
    return out
