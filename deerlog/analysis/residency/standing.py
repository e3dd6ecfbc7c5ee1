"""Where every buck stands at the end of the last day known, and what days to come would make of it.

All that the record says of the days ahead is held in one joint probability of the way he lives,
his sighting rate and where he is now; records made up for the days ahead move it on from there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.residency import presence
from deerlog.analysis.residency.patterns import AROUND, PATTERNS, YEAR_ROUND, PatternChains
from deerlog.analysis.residency.season_evidence import Combined, SeasonEvidence

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

PATTERN_OF_WAY = np.append(np.arange(len(PATTERNS)), YEAR_ROUND)
"""Pattern of each way of `SeasonEvidence`."""

LATELY_DAYS = 14
"""Cameras stand as they did over so many days up to now (our choice)."""

_SMALL = 1e-5
"""Ways and rates less likely than this for a buck are left out of what lies ahead."""


@dataclass(frozen=True, kw_only=True)
class Standing:
    """B bucks at the end of one day. W ways, R rates, S states, D days to the season's end.

    Attributes
    ----------
    bucks
        Names in order.
    days
        The days ahead, to the end of the season.
    joint
        Shape (B, W, R, S): chance of each way, rate and state now; sums to 1 over each buck.
    rates
        Shape (R,).
    transition
        Shape (D, W, S, S): from the day before each of ``days`` to that day.
    rate_factor
        Shape (D, W): what is left of the sighting rate on each day.
    share
        Shape (B,): share of his own cameras that ran lately.
    wrong_tags
        Shape (B,): wrong tags under his name to expect a day, as lately.
    days_seen
        Shape (B,): days with a sure tag, in all seasons.
    sites
        Names in order.
    days_by_site, camera_worth
        Shape (B, sites); see `deerlog.analysis.residency.buck_days.BuckDays`.
    """

    bucks: tuple[str, ...]
    days: pd.DatetimeIndex
    joint: Floats
    rates: Floats
    transition: Floats
    rate_factor: Floats
    share: Floats
    wrong_tags: Floats
    days_seen: Ints
    sites: tuple[str, ...]
    days_by_site: Floats
    camera_worth: Floats


def joint_now(combined: Sequence[Combined], evidence: SeasonEvidence) -> Floats:
    """Chance of each way, rate and state at the end of the last day known, shape (B, W, R, S)."""
    joint = np.stack(
        [
            c.before_last[PATTERN_OF_WAY] * np.exp(log - log.max())
            for c, log in zip(combined, np.moveaxis(evidence.log_way, 1, 0), strict=True)
        ]
    )
    joint = joint[..., None] * np.moveaxis(evidence.last_states, 1, 0)
    return np.asarray(joint / joint.sum(axis=(1, 2, 3), keepdims=True))


def ways_ahead(chains: PatternChains, n_days_known: int) -> tuple[Floats, Floats]:
    """``transition`` and ``rate_factor`` of `Standing` after the first days of a season."""
    transition = chains.transition[n_days_known - 1 :]
    factor = np.ones((len(transition), len(PATTERN_OF_WAY)))
    factor[:, -1] = chains.quiet[n_days_known:]
    return transition[:, PATTERN_OF_WAY], factor


def patterns_after(
    standing: Standing,
    who: Ints,
    seen: npt.NDArray[np.bool_],
    share: Floats,
    marks: Sequence[int],
) -> Floats:
    """Chance of every pattern, had the days ahead gone like this.

    Parameters
    ----------
    who
        Shape (n,): number of the buck of each record.
    seen
        Shape (days, n): a sure tag of him on each of the first days ahead.
    share
        Shape (n,): share of his cameras that runs.
    marks
        Days (0 to days - 1) at whose end the chances are wanted.

    Returns
    -------
    Shape (marks, n, patterns).
    """
    joint = standing.joint[who]
    kept = joint.sum(axis=3).max(axis=0) > _SMALL
    ways, rates = kept.any(axis=1), kept.any(axis=0)
    n, n_rates, n_states = len(who), int(rates.sum()), joint.shape[-1]
    state = np.moveaxis(joint[:, ways][:, :, rates], 1, 0).reshape(-1, n * n_rates, n_states)
    after = []
    for t in range(len(seen)):
        state = state @ standing.transition[t, ways]
        for factor in np.unique(standing.rate_factor[t, ways]):
            record = presence.sighting_emission(
                seen[[t]],
                factor * share[None],
                standing.rates[rates],
                standing.wrong_tags[who][None],
            ).reshape(n * n_rates, 2)
            same = standing.rate_factor[t, ways] == factor
            state[same] *= np.where(AROUND, record[:, 1:], record[:, :1])
        if t in marks:
            weight = state.sum(axis=-1).reshape(-1, n, n_rates).sum(axis=-1)
            pattern = np.zeros((n, len(PATTERNS)))
            np.add.at(pattern.T, PATTERN_OF_WAY[ways], weight)
            after.append(pattern / pattern.sum(axis=1, keepdims=True))
    return np.array(after)
