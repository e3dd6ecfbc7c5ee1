"""Is he around, on the days past and the days ahead: the one engine of labels and forecasts.

Each season is run once through every pattern and sighting rate, with what earlier seasons taught of
each buck's own habits; a buck's seasons are then put together. What is said of a day is the same
wherever it is said.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from deerlog.analysis.arrays import Floats, Ints
from deerlog.analysis.effort_grid import EffortGrid, effort_grid
from deerlog.analysis.presence.forward_backward import Forward, forward, smooth
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.own_habits import add_season, habits, nothing_known
from deerlog.analysis.presence.patterns import (
    AROUND,
    AWAY,
    GONE,
    HERE,
    LOST,
    OFF,
    PATTERN_OF_WAY,
    QUIET,
    YEAR_ROUND,
    PatternChains,
    pattern_chains,
    pattern_prior,
    prior_states,
    season_transition,
    ways_of_effort,
)
from deerlog.analysis.presence.seasons_combined import (
    Combined,
    OwnSeason,
    SeasonSteps,
    combine_seasons,
    log_by_first_rate,
)
from deerlog.analysis.presence.sightings import (
    BuckDays,
    RatePrior,
    buck_days,
    learned_rate_weights,
    rate_prior,
    sighting_states,
)
from deerlog.analysis.presence.tagger import (
    WrongNames,
    confused_pairs,
    log_by_pair,
    log_by_wrong_share,
    wrong_names,
)
from deerlog.timekeeping.seasons import SeasonCalendar


@dataclass(frozen=True, kw_only=True)
class SeasonRun:
    """One season, of the B bucks seen by its end, over T days of which the record knows some.

    ``log_evidence``, ``gone`` (T, B, K, R): log probability of the record up to the end of each
    day, given pattern and rate; chance that he is then dead or gone for good. ``gone_later`` (T,
    K): chance before anything is seen that one not gone then is by the season's end. ``around`` (T,
    B, K): chance that he is around, from the whole season's record. ``apart`` (B, K, K): days,
    watched or with a tag, on which two patterns differ in being around. ``last_day`` (B, states):
    where a year-round buck who is not gone is on the last day. ``log_way`` (B, W, R), ``now`` (B,
    W, R, states): log probability of the record and the way given its pattern, and the state after
    the last known day.
    """

    bucks: tuple[str, ...]
    n_known: int
    log_evidence: Floats
    gone: Floats
    gone_later: Floats
    around: Floats
    apart: Floats
    last_day: Floats
    log_way: Floats
    now: Floats
    chains: PatternChains


@dataclass(frozen=True, kw_only=True)
class PastSeasons:
    """The seasons before the one that opens: their runs, the habits of every buck known
    (`own_habits`), and what they say of the share of wrong names (`tagger`). ``unsure``: see
    `past_seasons`."""

    season: int
    calendar: SeasonCalendar
    judgement: Judgement
    runs: Mapping[int, SeasonRun] = field(default_factory=dict)
    known: pd.DataFrame = field(default_factory=lambda: nothing_known([]))
    log_by_wrong_share: Floats | float = 0.0
    log_by_pair: Mapping[tuple[str, str], Floats] = field(default_factory=dict)
    unsure: pd.DataFrame | None = None


@dataclass(frozen=True, kw_only=True)
class Presence:
    """What the record up to a day says of every buck: names and years in order.

    ``debut`` is the season each was first seen in. ``grid`` and ``record`` reach from the first
    season's start to the last day wanted. ``runs`` are by season, ``combined`` by buck in order.
    ``rates`` (R,): sightings a day when around and his cameras run. ``around``, by every day of
    ``grid`` and buck: chance that he was around, smoothed, and beyond the last known day the
    forecast; NaN in seasons before he was first seen.
    """

    bucks: tuple[str, ...]
    seasons: tuple[int, ...]
    debut: Mapping[str, int]
    grid: EffortGrid
    record: BuckDays
    runs: Mapping[int, SeasonRun]
    combined: Sequence[Combined]
    rates: Floats
    around: pd.DataFrame
    wrong: WrongNames
    calendar: SeasonCalendar
    judgement: Judgement


def past_seasons(
    visits: pd.DataFrame,
    effort: pd.DataFrame,
    calendar: SeasonCalendar,
    season: int,
    judgement: Judgement,
    unsure: pd.DataFrame | None = None,
) -> PastSeasons:
    """Run every season before one; visits (sure tags only) and effort from it on are left out.

    ``unsure`` are visits with an unsure name (``buck, site, day``), whenever: kept for the season
    that opens, where no more is known of them than of the rest.
    """
    visits = visits[visits["season"] < season]
    past = PastSeasons(season=season, calendar=calendar, judgement=judgement, unsure=unsure)
    if visits.empty:
        return past
    debut = visits.groupby("buck")["season"].min()
    past = replace(past, season=int(debut.min()), known=nothing_known(sorted(debut.index)))
    grid, record = _record(past, visits, effort, past.season, season)
    for s in range(past.season, season):
        rows = grid.rows(*calendar.bounds(s))
        past, _ = _advance(past, record, rows, rows.stop - rows.start, debut)
    return past


def presence(
    past: PastSeasons,
    visits: pd.DataFrame,
    effort: pd.DataFrame,
    as_of: pd.Timestamp,
    *,
    until: pd.Timestamp | None = None,
) -> Presence | None:
    """What is known at the end of a day; None where no buck was ever seen.

    ``past`` is for the season of ``as_of`` (naive midnight), after which visits and effort are left
    out. ``until`` is the last day wanted, the end of the season where None, and never beyond it.
    """
    visits, effort = visits[visits["day"] <= as_of], effort[effort["day"] <= as_of]
    if visits.empty:
        return None
    debut = visits.groupby("buck")["season"].min()
    seasons = tuple(range(int(debut.min()), past.season + 1))
    grid, record = _record(past, visits, effort, seasons[0], past.season + 1)
    rows = grid.rows(*past.calendar.bounds(past.season))
    # On the eve of a season its first day is taken as known, with nothing watched on it.
    n_known = max(int(grid.day_number(pd.DatetimeIndex([as_of]))[0]) + 1 - rows.start, 1)
    if until is not None:
        wanted = int(grid.day_number(pd.DatetimeIndex([until]))[0]) + 1
        rows = slice(rows.start, min(max(wanted, rows.start + n_known), rows.stop))
    now, combined = _advance(past, record, rows, n_known, debut)
    bucks = tuple(debut.index)
    table = np.full((rows.stop, len(bucks)), np.nan)
    for b, buck in enumerate(bucks):
        first_own = int(debut[buck])
        for s, weight in enumerate(combined[b].smoothed, first_own):
            run = now.runs[s]
            start = grid.rows(*past.calendar.bounds(s)).start
            around_ = run.around[:, run.bucks.index(buck)] @ weight.sum(axis=1)
            table[start : start + len(around_), b] = around_
    return Presence(
        bucks=bucks,
        seasons=seasons,
        debut={str(b): int(s) for b, s in debut.items()},
        grid=grid,
        record=record,
        runs=now.runs,
        combined=combined,
        rates=rate_prior(past.judgement).rates,
        around=pd.DataFrame(table, index=grid.days[: rows.stop], columns=list(bucks)),
        wrong=_wrong_names(now, len(bucks)),
        calendar=past.calendar,
        judgement=past.judgement.at_sites(record.n_sites),
    )


def around(
    past: PastSeasons,
    visits: pd.DataFrame,
    effort: pd.DataFrame,
    as_of: pd.Timestamp,
    *,
    until: pd.Timestamp | None = None,
) -> pd.DataFrame:
    """``around`` of `presence`; without columns where no buck was ever seen."""
    found = presence(past, visits, effort, as_of, until=until)
    if found is not None:
        return found.around
    first, after = (pd.Timestamp(day) for day in past.calendar.bounds(past.season))
    last = after - pd.Timedelta(days=1)
    last = last if until is None else min(until, last)
    return pd.DataFrame(index=pd.date_range(first, last, freq="D", unit="us"))


def _advance(
    past: PastSeasons, record: BuckDays, rows: slice, n_known: int, debut: pd.Series
) -> tuple[PastSeasons, list[Combined]]:
    """One season run behind those before it, and what all say of each buck seen by its end."""
    season, calendar = past.season, past.calendar
    judgement = past.judgement.at_sites(record.n_sites)
    n_days = rows.stop - rows.start
    here = np.flatnonzero(debut.to_numpy() <= season)
    bucks = tuple(str(b) for b in debut.index[here])
    prior = rate_prior(judgement, record.n_sites)
    seen, share = record.visits[rows, here] > 0, record.share[rows, here]
    common = pattern_chains(calendar, season, judgement)
    told = past.log_by_wrong_share + log_by_wrong_share(
        common, record, slice(rows.start, rows.start + n_known), here, prior, judgement
    )
    told_of_pairs = dict(past.log_by_pair)
    of_pairs = log_by_pair(
        common, record, slice(rows.start, rows.start + n_known), here, prior, judgement,
        wrong_names(told, judgement).share,
    )  # fmt: skip
    for numbers, log in of_pairs.items():
        pair = str(debut.index[numbers[0]]), str(debut.index[numbers[1]])
        told_of_pairs[pair] = told_of_pairs.get(pair, 0.0) + log
    past = replace(past, log_by_wrong_share=told, log_by_pair=told_of_pairs)
    mixed_up = _wrong_names(past, len(here))
    wrong = record.wrong_tags(mixed_up.share, mixed_up.by_number(list(debut.index)))[rows, here]
    known = past.known.reindex(debut.index, fill_value=0.0)
    few = judgement.off_few_cameras / np.maximum(record.n_cameras[here], 1.0)
    own = {**habits(known.iloc[here], judgement), "off_start": judgement.off_start * (1 + few)}
    chains = pattern_chains(calendar, season, judgement, own)
    chains = replace(chains, transition=chains.transition[: n_days - 1])
    if past.runs:
        _start_where_he_was(chains, bucks, past.runs[season - 1], judgement.carried_over)
    parts = [
        (ways, sighting_states(seen, effort, wrong, prior.rates, judgement))
        for ways, effort in ways_of_effort(share, chains)
    ]
    passed = [
        forward(chains.start[:, ways], chains.transition[:, :, ways], emission)
        for ways, emission in parts
    ]
    log_way, log, gone, is_quiet = _quiet_way_within(passed, judgement)
    before = prior_states(common)[:, 0, :QUIET]
    stays = 1 - before[..., GONE]
    expected = before[:n_known, :, AROUND].sum(axis=-1)
    run = SeasonRun(
        bucks=bucks,
        n_known=n_known,
        log_evidence=log[:n_known],
        gone=gone[:n_known],
        gone_later=1 - stays[-1] / np.maximum(stays[:n_known], 1e-12),
        apart=np.einsum(
            "tb,tij->bij",
            np.maximum(np.minimum(share, 1.0), seen)[:n_known],
            np.abs(expected[:, :, None] - expected[:, None, :]),
        ),
        log_way=log_way[n_known - 1],
        now=np.concatenate([p.filtered[n_known - 1] for p in passed], axis=1),
        chains=chains,
        around=np.empty(0),
        last_day=np.empty(0),
    )
    runs = {**past.runs, season: run}
    combined = _combined(runs, bucks, judgement, prior)
    states, chance = _days_by_pattern(chains, parts, passed, combined, is_quiet[-1])
    last_day = states[-1, :, YEAR_ROUND]
    runs[season] = replace(
        run,
        around=states[..., AROUND].sum(axis=-1),
        last_day=last_day / np.maximum(1 - last_day[:, [GONE]], 1e-6),
    )
    first, peak = calendar.bounds(season)[0], calendar.rut_peak_day(season)
    known = add_season(known, list(bucks), states, chance, first, peak, judgement)
    opened = replace(past, season=season + 1, runs=runs, known=known)
    return opened, combined


def _wrong_names(known: PastSeasons, n_bucks: int) -> WrongNames:
    pairs = confused_pairs(known.log_by_pair, n_bucks, known.judgement)
    return replace(wrong_names(known.log_by_wrong_share, known.judgement), pairs=pairs)


def _quiet_way_within(
    passed: Sequence[Forward], judgement: Judgement
) -> tuple[Floats, Floats, Floats, Floats]:
    """Log probability by way and by pattern, chance that he is gone by pattern, and chance of the
    quiet way given the year-round pattern, which it is part of."""
    usual, quiet = passed
    log_way = np.concatenate([p.log_evidence for p in passed], axis=2)
    log_way[:, :, YEAR_ROUND] += np.log1p(-judgement.quiet_share)
    log_way[:, :, QUIET] += np.log(judgement.quiet_share)
    log, gone = log_way[:, :, :QUIET].copy(), usual.filtered[..., GONE].copy()
    log[:, :, YEAR_ROUND] = np.logaddexp(log_way[:, :, YEAR_ROUND], log_way[:, :, QUIET])
    is_quiet = np.exp(log_way[:, :, QUIET] - log[:, :, YEAR_ROUND])
    gone[:, :, YEAR_ROUND] += is_quiet * (quiet.filtered[:, :, 0, :, GONE] - gone[:, :, YEAR_ROUND])
    return log_way, log, gone, is_quiet


def _days_by_pattern(
    chains: PatternChains,
    parts: Sequence[tuple[slice, Floats]],
    passed: Sequence[Forward],
    combined: Sequence[Combined],
    is_quiet: Floats,
) -> tuple[Floats, Floats]:
    """Smoothed states given each pattern, and the chance of each: the rate has done its work."""
    weight = np.stack([c.smoothed[-1] for c in combined])
    by_way = np.concatenate([weight, weight[:, :1] * is_quiet[:, None]], axis=1)
    by_way[:, YEAR_ROUND] *= 1 - is_quiet
    chance = weight.sum(axis=2)
    by_way /= np.maximum(chance[:, PATTERN_OF_WAY, None], 1e-300)
    states, of_quiet = (
        smooth(chains.transition[:, :, ways], emission, forth, by_way[:, ways])
        for (ways, emission), forth in zip(parts, passed, strict=True)
    )
    states[:, :, YEAR_ROUND] += of_quiet[:, :, 0]
    return states, chance


def _combined(
    runs: Mapping[int, SeasonRun], bucks: Sequence[str], judgement: Judgement, prior: RatePrior
) -> list[Combined]:
    steps = season_steps(judgement, prior)
    his = [[own_season(run, b) for run, b in own_runs(runs, buck)] for buck in bucks]
    by_rate = np.stack([log_by_first_rate(seasons, steps) for seasons in his])
    weights = learned_rate_weights(by_rate, prior)
    return [combine_seasons(s, w, steps) for s, w in zip(his, weights, strict=True)]


def season_steps(judgement: Judgement, prior: RatePrior) -> SeasonSteps:
    """From one season to the next, by judgement."""
    alive, gone = season_transition(judgement)
    return SeasonSteps(
        prior=pattern_prior(judgement), alive=alive, gone=gone, rate=prior.season_step
    )


def own_season(run: SeasonRun, b: int, marks: Ints | None = None) -> OwnSeason:
    """What a season says of its buck ``b``, by the end of some of its days; None: of the last."""
    at = np.array([run.n_known - 1]) if marks is None else marks
    return OwnSeason(
        log_evidence=run.log_evidence[at, b], gone=run.gone[at, b], gone_later=run.gone_later[at]
    )


def own_runs(runs: Mapping[int, SeasonRun], buck: str) -> list[tuple[SeasonRun, int]]:
    """His seasons in order, each with his place in it."""
    return [(run, run.bucks.index(buck)) for _, run in sorted(runs.items()) if buck in run.bucks]


def _start_where_he_was(
    chains: PatternChains, bucks: Sequence[str], before: SeasonRun, carried_over: float
) -> None:
    """Start a year-round buck where the season before left him."""
    known = [b for b, buck in enumerate(bucks) if buck in before.bucks]
    last = np.zeros((len(bucks), chains.start.shape[-1]))
    last[known] = carried_over * before.last_day[[before.bucks.index(bucks[b]) for b in known]]
    last[:, [s for s in range(last.shape[1]) if s not in (HERE, OFF, AWAY)]] = 0.0
    for way in (YEAR_ROUND, LOST, QUIET):
        chains.start[:, way] *= 1 - last.sum(axis=1, keepdims=True)
        chains.start[:, way] += last


def _record(
    past: PastSeasons, visits: pd.DataFrame, effort: pd.DataFrame, first: int, after: int
) -> tuple[EffortGrid, BuckDays]:
    """What was recorded from one season's start to another's."""
    start, end = (pd.Timestamp(past.calendar.bounds(season)[0]) for season in (first, after))
    last = end - pd.Timedelta(days=1)
    grid = effort_grid(effort[effort["day"] <= last], start, last)
    bucks = sorted(visits["buck"].unique())
    return grid, buck_days(visits, bucks, grid, past.judgement, past.unsure)
