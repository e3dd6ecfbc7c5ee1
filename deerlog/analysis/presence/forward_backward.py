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
        nothing was watched. Shape (days, K, n, states) where the chains have records of their own.

    Notes
    -----
    Scaled at each day, so no underflow over any number of days (Rabiner 1989, Proceedings of the
    IEEE 77:257, section V.A).
    """
    n_days, n_series, n_states = len(emission), *emission.shape[-2:]
    n_chains = start.shape[0]
    filtered = np.empty((n_days, n_chains, n_series, n_states))
    log_evidence = np.empty((n_days, n_chains, n_series))
    ahead = np.broadcast_to(start[:, None, :], (n_chains, n_series, n_states))
    total = np.zeros((n_chains, n_series))
    ones = np.ones(n_states)
    for t in range(n_days):
        joint = ahead * emission[t]
        # A sum over the states; as a product it is ten times faster than along a short axis.
        scale = joint @ ones
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
    ones = np.ones(emission.shape[-1])
    for t in range(n_days - 2, -1, -1):
        behind = (behind * emission[t + 1]) @ np.swapaxes(transition[t], -1, -2)
        scale = behind @ ones
        behind = behind / np.where(scale > 0, scale, 1.0)[..., None]
        joint = passed.filtered[t] * behind
        total = joint @ ones
        smoothed[t] = joint / np.where(total > 0, total, 1.0)[..., None]
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
    Shape (days, n, r, 2): last axis (gone, around). A day with no effort and no tag gives the same
    for both, and so says nothing. A tag on a day with no effort (the effort table is wrong, for
    something did run) is held against the wrong tags of a usual day, and says nothing of the rate.
    """
    expected = wrong_tags[..., None] + rates * effort[..., None]
    out = np.empty((*expected.shape, 2))
    tagged = seen[..., None]
    # Each from its own formula: one less the other would lose the digits of a small chance.
    gone = np.where(seen, -np.expm1(-wrong_tags), np.exp(-wrong_tags))
    out[..., 0] = gone[..., None]
    out[..., 1] = np.where(tagged, -np.expm1(-expected), np.exp(-expected))
    unwatched = seen & (effort <= 0)
    usual = -np.expm1(-(wrong_tags[unwatched][:, None] + rates))
    out[unwatched, :, 0] = gone[unwatched][:, None] / usual
    out[unwatched, :, 1] = 1.0
    return out
