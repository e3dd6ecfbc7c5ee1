"""Is he around, on the days past and the days ahead: the presence model run forward.

The same chains as the residency score, with what a forecast gains from and a label does not need:
each buck's own dates of coming and going, and where he was when the season before ended.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis import presence
from deerlog.analysis.buck_days import BuckDays, buck_days
from deerlog.analysis.effort_grid import EffortGrid, effort_grid
from deerlog.analysis.forecast_judgement import ForecastJudgement
from deerlog.analysis.judgement import Judgement
from deerlog.analysis.own_dates import DateSeen, dates_seen, with_own_dates
from deerlog.analysis.patterns import (
    AROUND,
    AWAY,
    HERE,
    LEFT,
    PATTERNS,
    pattern_chains,
    pattern_prior,
    season_transition,
)
from deerlog.analysis.season_evidence import combine_seasons
from deerlog.analysis.sighting_rates import learned_rate_weights, rate_prior
from deerlog.timekeeping.seasons import SeasonCalendar

Floats = npt.NDArray[np.float64]

YEAR_ROUND = PATTERNS.index("year-round")


@dataclass(frozen=True, kw_only=True)
class BuckPast:
    """What past seasons say of one buck as a season opens.

    Attributes
    ----------
    weight
        Shape (patterns, rates): chance of each pattern and sighting rate in the season to come.
    judgement
        With his own dates.
    start
        Shape (states,): where a year-round buck starts the season.
    dates
        By season: his dates; see `deerlog.analysis.own_dates.dates_seen`.
    """

    weight: Floats
    judgement: Judgement
    start: Floats
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
    rates_before = rate_prior(judgement)
    rates = rates_before.rates
    visits = visits[visits["season"] < season]
    if visits.empty:
        none = pd.DataFrame(index=pd.DatetimeIndex([], dtype="datetime64[us]"))
        return PastSeasons(season=season, bucks={}, around=none, rate_weights=rates_before.weights)
    seasons = list(range(int(visits["season"].min()), season))
    grid, record, bucks = _record(visits, effort, calendar, seasons[0], season, judgement)
    debut = {str(b): int(s) for b, s in visits.groupby("buck")["season"].min().items()}
    states, logs = {}, {}
    for s in seasons:
        rows = grid.rows(*calendar.bounds(s))
        chains = pattern_chains(calendar, s, judgement)
        emission = _emission(record, rows, rates).reshape(rows.stop - rows.start, -1, len(AROUND))
        passed = presence.forward(chains.start, chains.transition, emission)
        shape = (len(PATTERNS), len(bucks), len(rates))
        states[s] = presence.smooth(chains.transition, emission, passed).reshape(
            -1, *shape, len(AROUND)
        )
        logs[s] = passed.log_evidence[-1].reshape(shape)
    prior, transition = pattern_prior(judgement), season_transition(judgement)
    his_logs = [
        [logs[s][None, :, b] for s in seasons if s >= debut[buck]] for b, buck in enumerate(bucks)
    ]
    his_rates, newcomer_rates = learned_rate_weights(his_logs, prior, transition, rates_before)
    around = np.full((len(grid.days), len(bucks)), np.nan)
    past = {}
    for b, buck in enumerate(bucks):
        combined = combine_seasons(
            his_logs[b], prior, his_rates[b], transition, rates_before.season_step
        )
        own = [s for s in seasons if s >= debut[buck]]
        dates = {}
        for i, s in enumerate(own):
            weight = combined.smoothed[i]
            here = np.einsum("tkrs,kr->tks", states[s][:, :, b], weight)
            around[grid.rows(*calendar.bounds(s)), b] = here[..., AROUND].sum(axis=(1, 2))
            chance = weight.sum(axis=1)
            given = here / np.maximum(chance, 1e-12)[None, :, None]
            dates[s] = dates_seen(
                given, chance, calendar.bounds(s)[0], calendar.rut_peak_day(s)
            )
        past[buck] = BuckPast(
            weight=transition.T @ combined.smoothed[-1] @ rates_before.season_step,
            judgement=with_own_dates(judgement, list(dates.values()), forecast.own_date_sd),
            start=_carried_start(given[-1, YEAR_ROUND], forecast.carried_over),
            dates=dates,
        )
    return PastSeasons(
        season=season,
        bucks=past,
        around=pd.DataFrame(around, index=grid.days, columns=bucks),
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
    season = past.season
    bucks = sorted(visits["buck"].unique())
    first, after = (pd.Timestamp(day) for day in calendar.bounds(season))
    last = after - pd.Timedelta(days=1)
    last = last if until is None else min(until, last)
    if not bucks:
        return pd.DataFrame(index=pd.date_range(first, last, freq="D", unit="us"))
    start_season = int(visits["season"].min())
    grid, record, bucks = _record(visits, effort, calendar, start_season, season + 1, judgement)
    rows = grid.rows(first.date(), (last + pd.Timedelta(days=1)).date())
    n_days = rows.stop - rows.start
    rates_before = rate_prior(judgement)
    rates = rates_before.rates
    common = pattern_chains(calendar, season, judgement)
    starts, transitions = [], []
    for buck in bucks:
        his = past.bucks.get(buck)
        chains = common if his is None else pattern_chains(calendar, season, his.judgement)
        start = chains.start.copy()
        if his is not None:
            start[YEAR_ROUND] = his.start
        starts.append(start)
        transitions.append(chains.transition[: n_days - 1])
    n_patterns, n_states = len(PATTERNS), len(AROUND)
    # Chains in order of buck, then pattern; each has the record of its own buck.
    start = np.concatenate(starts)
    transition = np.concatenate(transitions, axis=1)
    emission = np.repeat(_emission(record, rows, rates), n_patterns, axis=1)
    passed = presence.forward(start, transition, emission)
    smoothed = presence.smooth(transition, emission, passed)
    here = (smoothed @ AROUND.astype(float)).reshape(n_days, len(bucks), n_patterns, len(rates))
    logs = passed.log_evidence[-1].reshape(len(bucks), n_patterns, len(rates))
    prior = pattern_prior(judgement)
    newcomers = [b for b, buck in enumerate(bucks) if buck not in past.bucks]
    newcomer_rates = np.tile(past.rate_weights, (len(bucks), 1))
    if not past.bucks:
        newcomer_rates, _ = learned_rate_weights(
            [[logs[b][None]] for b in newcomers], prior, season_transition(judgement), rates_before
        )
    now = np.empty((n_days, len(bucks)))
    for b, buck in enumerate(bucks):
        his = past.bucks.get(buck)
        weight = prior[:, None] * newcomer_rates[b] if his is None else his.weight
        joint = weight * np.exp(logs[b] - logs[b].max())
        now[:, b] = np.einsum("tkr,kr->t", here[:, b], joint / joint.sum())
    table = pd.DataFrame(now, index=grid.days[rows], columns=bucks)
    return pd.concat([past.around.reindex(columns=bucks), table])


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


def _emission(record: BuckDays, rows: slice, rates: Floats) -> Floats:
    """Chance of each day's record in every state, shape (days, bucks, rates, states)."""
    chance = presence.sighting_emission(
        record.visits[rows] > 0, record.share[rows], rates, record.wrong_tags[rows]
    )
    return np.where(AROUND, chance[..., 1:], chance[..., :1])


def _carried_start(last_day: Floats, carried_over: float) -> Floats:
    """Where a year-round buck starts a season, from where he was when the last one ended."""
    usual = np.zeros(len(AROUND))
    usual[HERE], usual[AWAY] = 0.85, 0.15
    kept = np.zeros(len(AROUND))
    for state in (HERE, AWAY, LEFT):
        kept[state] = last_day[state]
    total = kept.sum()
    return usual if total <= 0 else carried_over * kept / total + (1 - carried_over) * usual
