"""Where every buck stands at the end of the last day known, and what days to come would make of it.

All that the record says of the days ahead is held in one joint probability of the way he lives,
his sighting rate and where he is now; records made up for the days ahead move it on from there.
So it is told how likely the coming days decide an undecided label, with the cameras as they stand
or more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from deerlog.analysis.arrays import Bools, Floats, Ints
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import (
    AROUND,
    GONE,
    OFF,
    PATTERN_OF_WAY,
    PATTERNS,
    QUIET,
    RESIDENT,
    VISITING,
)
from deerlog.analysis.presence.presence import Presence, own_runs
from deerlog.analysis.presence.sightings import sighting_states

LABEL_AT_LEAST = 80.0
"""Of 100: the score of a resident, the chance of the visiting patterns together, or of being gone,
that makes the label (our choice)."""
LEAST_DAYS_SEEN = 2
"""One day on camera, in whatever record, may be another buck under his name (our choice)."""

LATELY_DAYS = 14
"""Cameras stand as they did over so many days up to now (our choice)."""

_SMALL = 1e-5
"""Ways and rates less likely than this for a buck are left out of what lies ahead."""


def label_of(
    chance: Floats, p_gone: float, *, days_seen: int, days_so_far: int, enough: bool
) -> str:
    """The label: resident, visiting, gone or undecided, from the chance of each pattern and of
    being gone.

    ``days_seen`` and ``days_so_far`` have a sure tag in the season, and up to its end. Below
    `LEAST_DAYS_SEEN` in all he is undecided; unseen in the season he may be called gone, but
    neither resident nor visiting. ``enough``: his likeliest ways of living here and of visiting
    have differed on enough watched days (`watched_apart`); else nothing has told them apart.
    """
    if days_so_far < LEAST_DAYS_SEEN:
        return "undecided"
    resident, visits = (float(100 * chance[of].sum()) for of in (RESIDENT, VISITING))
    told = days_seen > 0 and enough
    if visits >= LABEL_AT_LEAST and told:
        return "visiting"
    if 100 * p_gone >= LABEL_AT_LEAST:
        return "gone"
    if not told:
        return "undecided"
    if resident >= LABEL_AT_LEAST and p_gone <= 0.5:
        return "resident"
    # A visitor who is not due yet may as well be gone: if he is not, he visits.
    known = float(100 * chance[RESIDENT | VISITING].sum())
    return "visiting" if visits >= LABEL_AT_LEAST / 100 * known else "undecided"


def watched_apart(chance: Floats, apart: Floats) -> float:
    """Watched days on which his ways of living here and of visiting have differed, the pairs
    weighted by the chance of each pattern; ``apart`` is that of `SeasonRun`, (patterns, patterns).
    """
    here, elsewhere = np.where(RESIDENT, chance, 0.0), np.where(VISITING, chance, 0.0)
    total = max(float(here.sum() * elsewhere.sum()), 1e-300)
    if total <= 1e-290:
        return float(apart[RESIDENT][:, VISITING].min())
    return float(here @ apart @ elsewhere) / total


@dataclass(frozen=True, kw_only=True)
class Standing:
    """B bucks at the end of one day. W ways, R rates, S states, D days to the season's end.

    ``joint`` (B, W, R, S): chance of each way, rate and state now; sums to 1 over each buck.
    ``transition`` (D, B, W, S, S): from the day before each of ``days`` to that day. ``quiet``
    (D,): what is left of the sighting rate on the quiet way. Lately, (B,): ``share`` of his own
    cameras that ran, and ``wrong_tags`` under his name to expect a day. Of all seasons:
    ``days_seen`` with a sure tag, (B,), and ``apart`` (B, patterns, patterns), watched days on
    which two patterns differ. ``days_by_site``, ``camera_worth`` (B, sites) are those of
    `BuckDays`.
    """

    bucks: tuple[str, ...]
    days: pd.DatetimeIndex
    joint: Floats
    rates: Floats
    transition: Floats
    quiet: Floats
    share: Floats
    wrong_tags: Floats
    days_seen: Ints
    apart: Floats
    sites: tuple[str, ...]
    days_by_site: Floats
    camera_worth: Floats
    judgement: Judgement

    def label_after(
        self, b: int, chance: Floats, p_gone: float, more_seen: int, days_ahead: int
    ) -> str:
        """His label some days ahead, from `patterns_after` and the days he was seen on by then."""
        days = int(self.days_seen[b]) + more_seen
        # Days to come tell his ways apart as well as those behind did, at the least.
        enough = watched_apart(chance, self.apart[b]) + days_ahead >= self.judgement.apart_days
        return label_of(chance, p_gone, days_seen=days, days_so_far=days, enough=enough)


def standing_of(found: Presence) -> Standing:
    """From the last season: what its record says, and its chains on the days not known yet."""
    run = found.runs[found.seasons[-1]]
    before = np.stack([c.before[-1] for c in found.combined])
    log = run.log_way - run.log_way.max(axis=(1, 2), keepdims=True)
    joint = (before[:, PATTERN_OF_WAY] * np.exp(log))[..., None] * run.now
    now = len(found.grid.days) - len(run.chains.transition) - 1 + run.n_known
    lately = slice(max(now - LATELY_DAYS, 0), now)
    record, all_runs = found.record, [own_runs(found.runs, buck) for buck in found.bucks]
    return Standing(
        bucks=found.bucks,
        days=found.grid.days[now:],
        joint=joint / joint.sum(axis=(1, 2, 3), keepdims=True),
        rates=found.rates,
        transition=run.chains.transition[run.n_known - 1 :],
        quiet=run.chains.quiet[run.n_known :],
        share=record.share[lately].mean(axis=0),
        wrong_tags=record.wrong_tags(found.wrong.share, found.wrong.by_number(found.bucks))[
            lately
        ].mean(axis=0),
        days_seen=(record.visits > 0).sum(axis=0),
        apart=np.stack([sum(r.apart[b] for r, b in runs) for runs in all_runs]),
        sites=found.grid.sites,
        days_by_site=record.days_by_site,
        camera_worth=record.camera_worth,
        judgement=found.judgement,
    )


def patterns_after(
    standing: Standing, who: Ints, seen: Bools, share: Floats, marks: Sequence[int]
) -> tuple[Floats, Floats]:
    """Chance of every pattern, and that he is gone, at the end of some of the days ahead
    (``marks``, from 0) had they gone like this: (marks, n, patterns) and (marks, n).

    ``who`` (n,) is the number of the buck of each record, ``seen`` (days, n) a sure tag of him,
    ``share`` (n,) the share of his cameras that runs.
    """
    joint = standing.joint[who]
    kept = joint.sum(axis=3).max(axis=0) > _SMALL
    ways, rates = np.flatnonzero(kept.any(axis=1)), kept.any(axis=0)
    state = joint[:, ways][:, :, rates]
    after, gone = [], []
    for t in range(len(seen)):
        state = state @ standing.transition[t][who[:, None], ways]
        for quiet, factor in ((False, 1.0), (True, standing.quiet[t])):
            at = (ways == QUIET) == quiet
            if at.any():
                state[:, at] *= sighting_states(
                    seen[[t]], factor * share[None], standing.wrong_tags[who][None],
                    standing.rates[rates], standing.judgement,
                )[0]  # fmt: skip
        if t in marks:
            state /= state.sum(axis=(1, 2, 3), keepdims=True)
            pattern = np.zeros((len(PATTERNS), len(who)))
            np.add.at(pattern, PATTERN_OF_WAY[ways], state.sum(axis=(2, 3)).T)
            after.append(pattern.T)
            gone.append(state[..., GONE].sum(axis=(1, 2)))
    return np.array(after), np.array(gone)


SETTLE_DAYS = 14
DRAWS = 1000
"""Made-up records behind each chance; its standard error is at most 1.6 points of 100."""


@dataclass(frozen=True, kw_only=True)
class Settling:
    """Chances, 0 to 1, that an undecided buck is decided by the end of the coming days.

    ``days``: `SETTLE_DAYS`, or fewer where the season ends. ``as_it_is``, with the cameras as they
    stand; ``with_camera``, by site he has used: with one more there that sees him as often as the
    one that stands or stood there. The ``draws`` behind each share their luck, so that a difference
    between two chances is surer than either.
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
    them; his days and sightings follow; each record so made up is then judged like a real one. None
    at the end of a season: the next one is a new question.
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
    (chance,), (gone,) = patterns_after(standing, who, record.T, np.concatenate(share), [days - 1])
    more = record.sum(axis=1)
    decided = np.array(
        [
            standing.label_after(b, chance[i], float(gone[i]), int(more[i]), days) != "undecided"
            for i in range(len(record))
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
) -> Bools:
    """Made-up records, shape (shares, draws, days); the shares have the same draws of all else."""
    joint = standing.joint[b]
    which = rng.choice(joint.size, draws, p=joint.ravel() / joint.sum())
    way, rate, state = np.unravel_index(which, joint.shape)
    seen = np.zeros((len(shares), draws, days), dtype=bool)
    for t in range(days):
        reached = np.cumsum(standing.transition[t, b, way, state], axis=1)
        state = (rng.random((draws, 1)) > reached[:, :-1]).sum(axis=1)
        kept = np.where(way == QUIET, standing.quiet[t], 1.0) * AROUND[state]
        kept[state == OFF] *= standing.judgement.off_rate
        here = standing.rates[rate] * kept
        expected = standing.wrong_tags[b] + shares[:, None] * here
        seen[:, :, t] = rng.random(draws) < -np.expm1(-expected)
    return seen
