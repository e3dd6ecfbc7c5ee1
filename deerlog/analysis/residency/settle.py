"""How likely the coming days decide an undecided label, with the cameras as they stand or more."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from deerlog.analysis.residency.patterns import AROUND, GONE, RESIDENT
from deerlog.analysis.residency.residency_tables import label_of
from deerlog.analysis.residency.standing import Standing, patterns_after

Floats = npt.NDArray[np.float64]

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
