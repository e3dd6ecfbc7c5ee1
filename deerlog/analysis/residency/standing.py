"""Where every buck stands at the end of the last day known, and what days to come would make of it.

All that the record says of the days ahead is held in one joint probability of the way he lives,
his sighting rate and where he is now; records made up for the days ahead move it on from there.

How likely the coming days decide an undecided label, with the cameras as they stand or more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.presence import forward_backward as presence
from deerlog.analysis.presence.patterns import (
    AROUND,
    GONE,
    PATTERNS,
    RESIDENT,
    YEAR_ROUND,
    PatternChains,
)
from deerlog.analysis.presence.season_evidence import Combined, SeasonEvidence
from deerlog.analysis.residency.tables import label_of

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
        Shape (B, sites); see `deerlog.analysis.presence.sightings.BuckDays`.
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


SETTLE_DAYS = 14
DRAWS = 1000
"""Made-up records behind each chance; its standard error is at most 1.6 points of 100."""


@dataclass(frozen=True, kw_only=True)
class Settling:
    """Chances that an undecided buck is decided by the end of the coming days.

    Attributes
    ----------
    days
        How many days ahead: `SETTLE_DAYS`, or fewer where the season ends.
    as_it_is
        0 to 1, with the cameras as they stand.
    with_camera
        0 to 1, by site he has used: with one more camera there that sees him as often as the one
        that stands or stood there.
    draws
        Made-up records behind each chance. They share their luck, so that a difference between
        two chances is surer than either.
    """

    buck: str
    days: int
    as_it_is: float
    with_camera: dict[str, float]
    draws: int


def settling(
    standing: Standing, buck: str, *, days: int = SETTLE_DAYS, draws: int = DRAWS, seed: int = 0
) -> Settling | None:
    """Draw what the coming days may bring, and count how often it decides the label.

    Where he is, his sighting rate and the way he lives are drawn from what the record makes of
    them; his days and sightings follow; each record so made up is then judged like a real one.

    Returns
    -------
    Settling
        None at the end of a season: the next one is a new question.
    """
    days = min(days, len(standing.days))
    if days == 0:
        return None
    b = standing.bucks.index(buck)
    used = np.flatnonzero(standing.days_by_site[b] > 0)
    shares = standing.share[b] + np.append(0.0, standing.camera_worth[b, used])
    seen = _records(standing, b, shares, days, draws, np.random.default_rng(seed))
    records, share, count, plan = [], [], [], []
    for i in range(len(shares)):
        # Many draws make the same record, and it is judged once.
        different, times = np.unique(seen[i], axis=0, return_counts=True)
        records.append(different)
        count.append(times)
        share.append(np.full(len(times), shares[i]))
        plan.append(np.full(len(times), i))
    record = np.concatenate(records)
    who = np.full(len(record), b)
    (chance,) = patterns_after(standing, who, record.T, np.concatenate(share), [days - 1])
    days_seen = standing.days_seen[b] + record.sum(axis=1)
    decided = np.array(
        [
            label_of(score, n, n, gone) != "undecided"
            for score, n, gone in zip(
                100 * chance[:, RESIDENT].sum(axis=1),
                days_seen.tolist(),
                chance[:, GONE].sum(axis=1),
                strict=True,
            )
        ]
    )
    chances = np.bincount(np.concatenate(plan), np.concatenate(count) * decided) / draws
    return Settling(
        buck=buck,
        days=days,
        as_it_is=float(chances[0]),
        with_camera={standing.sites[m]: float(c) for m, c in zip(used, chances[1:], strict=True)},
        draws=draws,
    )


def _records(
    standing: Standing, b: int, shares: Floats, days: int, draws: int, rng: np.random.Generator
) -> npt.NDArray[np.bool_]:
    """Made-up records, shape (shares, draws, days); the shares have the same draws of all else."""
    joint = standing.joint[b]
    which = rng.choice(joint.size, draws, p=joint.ravel() / joint.sum())
    way, rate, state = np.unravel_index(which, joint.shape)
    seen = np.zeros((len(shares), draws, days), dtype=bool)
    for t in range(days):
        reached = np.cumsum(standing.transition[t, way, state], axis=1)
        state = (rng.random((draws, 1)) > reached[:, :-1]).sum(axis=1)
        here = standing.rates[rate] * standing.rate_factor[t, way] * AROUND[state]
        expected = standing.wrong_tags[b] + shares[:, None] * here
        seen[:, :, t] = rng.random(draws) < -np.expm1(-expected)
    return seen
