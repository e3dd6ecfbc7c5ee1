"""Is he around, on the days past and the days ahead: the presence model run forward.

The same chains as the residency score, with what a forecast gains from and a label does not need:
each buck's own dates of coming and going, and where he was when the season before ended.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.effort_grid import EffortGrid, effort_grid
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.presence import forward_backward as presence
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.own_dates import DateSeen, OwnDates, dates_seen, own_dates
from deerlog.analysis.presence.patterns import (
    AROUND,
    AWAY,
    HERE,
    LEFT,
    LOST,
    PATTERNS,
    RUT,
    YEAR_ROUND,
    PatternChains,
    date_hazard,
    pattern_chains,
    pattern_prior,
    season_transition,
)
from deerlog.analysis.presence.season_evidence import combine_seasons
from deerlog.analysis.presence.sightings import (
    BuckDays,
    buck_days,
    learned_rate_weights,
    rate_prior,
)
from deerlog.timekeeping.seasons import SeasonCalendar

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class BuckPast:
    """What past seasons say of one buck as a season opens.

    Attributes
    ----------
    weight
        Shape (patterns, rates): chance of each pattern and sighting rate in the season to come.
    own
        His own dates.
    last_day
        Shape (states,): where he was on the last day before, had he been a year-round buck.
    dates
        By season: his dates; see `deerlog.analysis.presence.own_dates.dates_seen`.
    """

    weight: Floats
    own: OwnDates
    last_day: Floats
    dates: Mapping[int, dict[str, DateSeen]]


@dataclass(frozen=True, kw_only=True)
class PastSeasons:
    """The seasons before one, for every buck known by its start.

    Attributes
    ----------
    season
        The season that opens.
    bucks
        By name.
    around
        Smoothed chance of being around, by day and buck; NaN in seasons before he was first seen.
    rate_weights
        Shape (rates,): sighting rates to expect of a newcomer.
    """

    season: int
    bucks: Mapping[str, BuckPast]
    around: pd.DataFrame
    rate_weights: Floats


def presence_judgement(judgement: Judgement, forecast: ForecastJudgement) -> Judgement:
    """The label's judgement with the absences that forecasts do best with."""
    return replace(
        judgement,
        absence_start=forecast.absence_start,
        absence_days=forecast.absence_days,
    )


def past_seasons(
    visits: pd.DataFrame,
    effort: pd.DataFrame,
    calendar: SeasonCalendar,
    season: int,
    judgement: Judgement,
    forecast: ForecastJudgement,
) -> PastSeasons:
    """Run every season before one.

    Parameters
    ----------
    visits
        Of `deerlog.analysis.visits.buck_visits`, sure tags only; those of ``season`` and later are
        left out.
    effort
        ``camera, site, day, camera_day``; likewise.
    judgement
        Of `presence_judgement`.
    """
    prior_rates = rate_prior(judgement)
    visits = visits[visits["season"] < season]
    if visits.empty:
        none = pd.DataFrame(index=pd.DatetimeIndex([], dtype="datetime64[us]"))
        return PastSeasons(season=season, bucks={}, around=none, rate_weights=prior_rates.weights)
    seasons = list(range(int(visits["season"].min()), season))
    grid, record, bucks = _record(visits, effort, calendar, seasons[0], season, judgement)
    debut = {str(b): int(s) for b, s in visits.groupby("buck")["season"].min().items()}
    runs = {
        s: _run_season(
            [pattern_chains(calendar, s, judgement)] * len(bucks),
            record,
            grid.rows(*calendar.bounds(s)),
            prior_rates.rates,
            judgement.quiet_share,
        )
        for s in seasons
    }
    prior, transition = pattern_prior(judgement), season_transition(judgement)
    his_logs = [
        [runs[s].log_evidence[None, b] for s in seasons if s >= debut[buck]]
        for b, buck in enumerate(bucks)
    ]
    his_rates, newcomer_rates = learned_rate_weights(his_logs, prior, transition, prior_rates)
    table = np.full((len(grid.days), len(bucks)), np.nan)
    past = {}
    for b, buck in enumerate(bucks):
        combined = combine_seasons(
            his_logs[b], prior, his_rates[b], transition, prior_rates.season_step
        )
        dates: dict[int, dict[str, DateSeen]] = {}
        own = [s for s in seasons if s >= debut[buck]]
        for s, weight in zip(own, combined.smoothed, strict=True):
            states = np.einsum("tkrs,kr->tks", runs[s].states[:, b], weight)
            table[grid.rows(*calendar.bounds(s)), b] = states[..., AROUND].sum(axis=(1, 2))
            chance = weight.sum(axis=1)
            states = states / np.maximum(chance, 1e-12)[None, :, None]
            dates[s] = dates_seen(states, chance, calendar.bounds(s)[0], calendar.rut_peak_day(s))
        past[buck] = BuckPast(
            weight=transition.T @ combined.smoothed[-1] @ prior_rates.season_step,
            own=own_dates(judgement, list(dates.values()), forecast.own_date_sd),
            last_day=forecast.carried_over * states[-1, YEAR_ROUND],
            dates=dates,
        )
    return PastSeasons(
        season=season,
        bucks=past,
        around=pd.DataFrame(table, index=grid.days, columns=bucks),
        rate_weights=newcomer_rates,
    )


def around(
    past: PastSeasons,
    visits: pd.DataFrame,
    effort: pd.DataFrame,
    calendar: SeasonCalendar,
    as_of: pd.Timestamp,
    judgement: Judgement,
    *,
    until: pd.Timestamp | None = None,
) -> pd.DataFrame:
    """Chance that each buck is around, by day.

    Parameters
    ----------
    past
        Of `past_seasons`, for the season of ``as_of``.
    as_of
        The last day known; visits and effort after it are left out.
    until
        Last day wanted; the end of the season where None, and never beyond it.

    Returns
    -------
    DataFrame
        Index: every day from the first season's start; columns: bucks seen by ``as_of``. Smoothed
        up to ``as_of``, the forecast after it. NaN in seasons before a buck was first seen.
    """
    visits = visits[visits["day"] <= as_of]
    effort = effort[effort["day"] <= as_of]
    first, after = (pd.Timestamp(day) for day in calendar.bounds(past.season))
    last = after - pd.Timedelta(days=1)
    last = last if until is None else min(until, last)
    if visits.empty:
        return pd.DataFrame(index=pd.date_range(first, last, freq="D", unit="us"))
    first_season = int(visits["season"].min())
    grid, record, bucks = _record(
        visits, effort, calendar, first_season, past.season + 1, judgement
    )
    rows = grid.rows(first.date(), (last + pd.Timedelta(days=1)).date())
    prior_rates = rate_prior(judgement)
    common = pattern_chains(calendar, past.season, judgement)
    run = _run_season(
        [_own_chains(past.bucks.get(buck), common, calendar, past.season) for buck in bucks],
        record,
        rows,
        prior_rates.rates,
        judgement.quiet_share,
    )
    prior = pattern_prior(judgement)
    newcomer_rates = np.tile(past.rate_weights, (len(bucks), 1))
    if not past.bucks:
        newcomer_rates, _ = learned_rate_weights(
            [[log[None]] for log in run.log_evidence],
            prior,
            season_transition(judgement),
            prior_rates,
        )
    now = np.empty((rows.stop - rows.start, len(bucks)))
    for b, buck in enumerate(bucks):
        his = past.bucks.get(buck)
        weight = prior[:, None] * newcomer_rates[b] if his is None else his.weight
        joint = weight * np.exp(run.log_evidence[b] - run.log_evidence[b].max())
        here = run.states[:, b][..., AROUND].sum(axis=-1)
        now[:, b] = np.einsum("tkr,kr->t", here, joint / joint.sum())
    table = pd.DataFrame(now, index=grid.days[rows], columns=bucks)
    before = past.around.reindex(columns=bucks)
    return pd.concat([before, table]) if len(before) else table


@dataclass(frozen=True)
class _Run:
    """One season of every buck.

    Attributes
    ----------
    states
        Shape (T, B, K, R, states): smoothed chance of each state given pattern and rate.
    log_evidence
        Shape (B, K, R): log probability of the season's record given pattern and rate.
    """

    states: Floats
    log_evidence: Floats


def _run_season(
    chains: Sequence[PatternChains],
    record: BuckDays,
    rows: slice,
    rates: Floats,
    quiet_share: float,
) -> _Run:
    """Run some days of one season, each buck through chains of his own.

    A year-round buck is run twice, with and without his fall ground off the cameras, and the two
    runs joined by what the record says of them.
    """
    n_days, n_bucks = rows.stop - rows.start, len(chains)
    n_ways = len(PATTERNS) + 1
    usual = _emission(record, rows, rates, np.ones(n_days))
    quiet = _emission(record, rows, rates, chains[0].quiet[:n_days])
    shape = (n_days, n_bucks, n_ways, len(rates), len(AROUND))
    emission = np.empty(shape)
    emission[:, :, :-1] = usual[:, :, None]
    emission[:, :, -1] = quiet
    emission = emission.reshape(n_days, -1, *shape[3:])
    ways = [*range(len(PATTERNS)), YEAR_ROUND]
    start = np.concatenate([c.start[ways] for c in chains])
    transition = np.concatenate([c.transition[: n_days - 1, ways] for c in chains], axis=1)
    passed = presence.forward(start, transition, emission)
    states = presence.smooth(transition, emission, passed).reshape(shape)
    log = passed.log_evidence[-1].reshape(n_bucks, n_ways, len(rates)).copy()
    log[:, YEAR_ROUND] += np.log1p(-quiet_share)
    log[:, -1] += np.log(quiet_share)
    both = np.logaddexp(log[:, YEAR_ROUND], log[:, -1])
    is_quiet = np.exp(log[:, -1] - both)[None, ..., None]
    states[:, :, YEAR_ROUND] += is_quiet * (states[:, :, -1] - states[:, :, YEAR_ROUND])
    log[:, YEAR_ROUND] = both
    return _Run(states=states[:, :, :-1].astype(np.float32), log_evidence=log[:, :-1])


def _own_chains(
    his: BuckPast | None, common: PatternChains, calendar: SeasonCalendar, season: int
) -> PatternChains:
    """The chains with a buck's own dates, and with him where the season before left him."""
    if his is None:
        return common
    chains = pattern_chains(calendar, season, his.own.judgement)
    start, transition = chains.start.copy(), chains.transition.copy()
    for way in (YEAR_ROUND, LOST):
        start[way] *= 1 - his.last_day[[HERE, AWAY, LEFT]].sum()
        for state in (HERE, AWAY, LEFT):
            start[way, state] += his.last_day[state]
    if his.own.rut_departure is not None:
        first, after = calendar.bounds(season)
        peak = (calendar.rut_peak_day(season) - first).days
        middle, sd = his.own.rut_departure
        leaves = date_hazard(np.arange((after - first).days), peak + middle, sd)[:-1]
        transition[:, RUT, HERE, AWAY] = leaves
        transition[:, RUT, HERE, HERE] = 1 - leaves
    return replace(chains, start=start, transition=transition)


def _record(
    visits: pd.DataFrame,
    effort: pd.DataFrame,
    calendar: SeasonCalendar,
    first_season: int,
    after_season: int,
    judgement: Judgement,
) -> tuple[EffortGrid, BuckDays, list[str]]:
    """What was recorded from one season's start to another's."""
    first = pd.Timestamp(calendar.bounds(first_season)[0])
    last = pd.Timestamp(calendar.bounds(after_season)[0]) - pd.Timedelta(days=1)
    grid = effort_grid(effort[effort["day"] <= last], first, last)
    bucks = sorted(visits["buck"].unique())
    return grid, buck_days(visits, bucks, grid, judgement), bucks


def _emission(record: BuckDays, rows: slice, rates: Floats, kept: Floats) -> Floats:
    """Chance of each day's record in every state, shape (days, bucks, rates, states)."""
    chance = presence.sighting_emission(
        record.visits[rows] > 0,
        record.share[rows] * kept[:, None],
        rates,
        record.wrong_tags[rows],
    )
    return np.where(AROUND, chance[..., 1:], chance[..., :1])
