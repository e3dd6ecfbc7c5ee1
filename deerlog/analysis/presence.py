"""Around or gone, day by day: exact inference in chains whose chances change with the day.

Everything is batched: one call carries every buck, season, pattern and sighting rate at once,
so that the only Python loop runs over the days.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Forward:
    """What the forward pass knows.

    Attributes
    ----------
    filtered
        Shape (days, K, n, states): chance of each state on each day, given that day and the
        days before it.
    log_evidence
        Shape (days, K, n): log probability of everything observed up to and including each day.
    """

    filtered: Floats
    log_evidence: Floats


def forward(start: Floats, transition: Floats, emission: Floats) -> Forward:
    """Filter forward through the days.

    Parameters
    ----------
    start
        Shape (K, states): chance of each state on the first day, before anything is seen. K is
        the number of different chains (patterns); every one of the n series is run through each.
    transition
        Shape (days - 1, K, states, states): ``transition[t, k, i, j]`` is the chance of going from
        state i on day t to state j on day t + 1; rows sum to 1.
    emission
        Shape (days, n, states): chance of what was observed on each day in each state; 1 where
        nothing was watched.

    Notes
    -----
    Scaled at each day, so no underflow over any number of days (Rabiner 1989, Proceedings of the
    IEEE 77:257, section V.A).
    """
    n_days, n_series, n_states = emission.shape
    n_chains = start.shape[0]
    filtered = np.empty((n_days, n_chains, n_series, n_states))
    log_evidence = np.empty((n_days, n_chains, n_series))
    ahead = np.broadcast_to(start[:, None, :], (n_chains, n_series, n_states))
    total = np.zeros((n_chains, n_series))
    for t in range(n_days):
        joint = ahead * emission[t]
        scale = joint.sum(axis=-1)
        with np.errstate(divide="ignore"):
            # An impossible observation makes the evidence zero, and stays so.
            total = total + np.log(scale)
        filtered[t] = joint / np.where(scale > 0, scale, 1.0)[..., None]
        log_evidence[t] = total
        if t + 1 < n_days:
            ahead = filtered[t] @ transition[t]
    return Forward(filtered=filtered, log_evidence=log_evidence)


def smooth(transition: Floats, emission: Floats, passed: Forward) -> Floats:
    """Chance of each state on each day given all days, shape (days, K, n, states).

    Parameters
    ----------
    transition, emission
        As given to `forward`.
    passed
        What `forward` returned for them.
    """
    n_days = emission.shape[0]
    smoothed = np.empty_like(passed.filtered)
    smoothed[-1] = passed.filtered[-1]
    behind = np.ones_like(passed.filtered[0])
    for t in range(n_days - 2, -1, -1):
        behind = (behind * emission[t + 1]) @ np.swapaxes(transition[t], -1, -2)
        scale = behind.sum(axis=-1, keepdims=True)
        behind = behind / np.where(scale > 0, scale, 1.0)
        joint = passed.filtered[t] * behind
        total = joint.sum(axis=-1, keepdims=True)
        smoothed[t] = joint / np.where(total > 0, total, 1.0)
    return smoothed


def sighting_emission(
    seen: npt.NDArray[np.bool_],
    effort: Floats,
    rates: Floats,
    wrong_tags: Floats,
) -> Floats:
    """Chance of each day's record, when around and when gone.

    Parameters
    ----------
    seen
        Shape (days, n): a sure tag of him on that day.
    effort
        Shape (days, n): share of his cameras that ran, 0 or more, 1 on a usual day.
    rates
        Shape (r,): sightings a day when he is around and effort is 1.
    wrong_tags
        Shape (days, n): expected sightings of other bucks under his name on that day.

    Returns
    -------
    Shape (days, n, r, 2): last axis (gone, around). A day with no effort gives 1 for both.
    """
    gone = -np.expm1(-wrong_tags)
    around = -np.expm1(-(wrong_tags[..., None] + rates * effort[..., None]))
    # A tag on a day the effort table calls unwatched: something did run. It cannot be impossible.
    gone = np.where(seen & (effort <= 0), 1.0, gone)
    around = np.where((seen & (effort <= 0))[..., None], 1.0, around)
    out = np.empty((*around.shape, 2))
    out[..., 0] = np.where(seen, gone, 1 - gone)[..., None]
    out[..., 1] = np.where(seen[..., None], around, 1 - around)
    return out
