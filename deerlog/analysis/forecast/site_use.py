"""How each buck uses each site while he is around: visits a day, so far and ahead."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import logit

from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.mixed_logit import MixedLogit, fit_mixed_logit
from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.timekeeping.seasons import PHASES, SeasonCalendar

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

LEAST_EXPOSURE_DAYS = 1e-3
"""Less than this much of a day of him and a running camera together is none."""


@dataclass(frozen=True, kw_only=True)
class SiteUse:
    """Use of the sites on the days asked for.

    Attributes
    ----------
    period
        Shape (days,): which of the periods below each day asked for falls in.
    log_odds, sd
        Shape (B, S, periods): log odds of a visit on a day while he is around, and their posterior
        standard deviation.
    """

    period: Ints
    log_odds: Floats
    sd: Floats


@dataclass(frozen=True)
class _Periods:
    """Stretches of days within which use is taken as even.

    Attributes
    ----------
    of_day
        Period of each day, shape (days,).
    season, phase
        Shape (periods,); phases as places in `PHASES`.
    middle
        Shape (periods,): mean of its days, counted from the day the forecast is made.
    """

    of_day: Ints
    season: Ints
    phase: Ints
    middle: Floats


@dataclass(frozen=True, kw_only=True)
class LearnedUse:
    """What is known of how each buck uses each site, whichever days are asked for.

    Attributes
    ----------
    bucks, sites
        Of the grid it was learned from.
    position_m
        Shape (S, 2).
    """

    bucks: tuple[str, ...]
    sites: tuple[str, ...]
    position_m: Floats
    today: pd.Timestamp
    calendar: SeasonCalendar
    judgement: ForecastJudgement
    _known: _Periods
    _fit: MixedLogit

    def on(self, days: pd.DatetimeIndex) -> SiteUse:
        """Use of the sites on some days."""
        j = self.judgement
        asked = _periods(days, self.today, self.calendar)
        mean, sd = self._fit.log_odds(
            _shared_design(asked, len(self.sites), j)[0],
            _covariance(asked, self._known, self.position_m, j),
            np.full(len(asked.middle) * len(self.sites), _own_variance(j)),
        )
        shape = (len(self.bucks), len(asked.middle), len(self.sites))
        return SiteUse(
            period=asked.of_day,
            log_odds=mean.reshape(shape).transpose(0, 2, 1),
            sd=sd.reshape(shape).transpose(0, 2, 1),
        )

    def _start(
        self, bucks: tuple[str, ...], sites: tuple[str, ...], periods: _Periods, gap_days: int
    ) -> tuple[Floats, Floats] | None:
        """Where to begin learning on a later day; None where the sites are no longer the same."""
        if sites != self.sites:
            return None
        at = replace(periods, middle=periods.middle + gap_days)
        own = self._fit.own_log_odds(_covariance(at, self._known, self.position_m, self.judgement))
        number = {buck: b for b, buck in enumerate(self.bucks)}
        begun = np.zeros((len(bucks), own.shape[1]))
        for b, buck in enumerate(bucks):
            if buck in number:
                begun[b] = own[number[buck]]
        return self._fit.shared, begun


def learn_site_use(
    grid: SightingGrid,
    around: Floats,
    calendar: SeasonCalendar,
    position_m: Floats,
    judgement: ForecastJudgement,
    *,
    before: LearnedUse | None = None,
) -> LearnedUse:
    """Learn from all that is known how he uses each site.

    A day with a visit is a success, a day that he was around and the camera ran a trial. The log
    odds of a success are a site's own quality and a phase's activity, which all bucks share, and
    each buck's own use: alike at sites near each other, on the same ground stage (summer, or from
    September on), in the same season and within some weeks, as far as `ForecastJudgement` holds.

    Parameters
    ----------
    grid
        All that is known; its last day is the day the forecast is made.
    around
        Shape (T, B): chance that he was around on each day of the grid.
    position_m
        Shape (S, 2), metres east and north; NaN where unknown.
    before
        What had been learned on an earlier day: a start that is soon corrected, nothing more.
    """
    today = grid.days[-1]
    known = _periods(grid.days, today, calendar)
    trials, successes = _trials(grid, around, known)
    shared, shared_sd = _shared_design(known, len(grid.sites), judgement)
    start = _even_start(trials, successes, len(shared_sd))
    if before is not None:
        gap_days = (today - before.today).days
        start = before._start(grid.bucks, grid.sites, known, gap_days) or start
    covariance = _covariance(known, known, position_m, judgement)
    return LearnedUse(
        bucks=grid.bucks,
        sites=grid.sites,
        position_m=position_m,
        today=today,
        calendar=calendar,
        judgement=judgement,
        _known=known,
        _fit=fit_mixed_logit(successes, trials, shared, covariance, shared_sd, start=start),
    )


RECENT_SPAN_DAYS = 126
RECENT_PERIOD_DAYS = 21
"""How far back use is followed in stretches within the phases, and how long they are; before that
each phase is one (our choice)."""


def _periods(days: pd.DatetimeIndex, today: pd.Timestamp, calendar: SeasonCalendar) -> _Periods:
    """Cut days at seasons and phases, and finer near ``today``."""
    season = calendar.season_of(days)
    phase = np.asarray(pd.Index(PHASES).get_indexer(pd.Index(calendar.phase_of(days))))
    gap = np.asarray((days - today) / pd.Timedelta(days=1)).astype(np.int64)
    recent = gap > -RECENT_SPAN_DAYS
    stretch = np.where(recent, (gap - 1) // RECENT_PERIOD_DAYS, 0)
    key = np.stack([season, phase, recent, stretch], axis=1)
    _, first, of_day = np.unique(key, axis=0, return_index=True, return_inverse=True)
    of_day = of_day.reshape(-1)
    middle = np.bincount(of_day, gap) / np.bincount(of_day)
    return _Periods(of_day=of_day, season=season[first], phase=phase[first], middle=middle)


def _trials(grid: SightingGrid, around: Floats, periods: _Periods) -> tuple[Floats, Floats]:
    """Days he could have been seen and days he was, shape (B, periods * S)."""
    shape = (len(grid.bucks), len(periods.middle), len(grid.sites))
    trials, successes = np.empty(shape), np.empty(shape)
    for i in range(len(periods.middle)):
        here = periods.of_day == i
        trials[:, i] = around[here].T @ grid.running[here]
        successes[:, i] = grid.seen[here].sum(axis=0)
    # More successes than trials: a wrong tag, or a camera that ran though nobody knows of it.
    trials = np.maximum(trials, successes)
    trials[trials < LEAST_EXPOSURE_DAYS] = 0.0
    rows = (shape[0], shape[1] * shape[2])
    return trials.reshape(rows), successes.reshape(rows)


def _even_start(trials: Floats, successes: Floats, n_shared: int) -> tuple[Floats, Floats]:
    """To begin at: every buck everywhere as on the whole."""
    shared = np.zeros(n_shared)
    shared[0] = logit((successes.sum() + 0.5) / (trials.sum() + 1.0))
    return shared, np.zeros(trials.shape)


def _shared_design(
    periods: _Periods, n_sites: int, judgement: ForecastJudgement
) -> tuple[Floats, Floats]:
    """What all bucks share: an overall level, each site's quality, each phase's activity.

    Returns
    -------
    design
        Shape (periods * sites, 1 + sites + phases).
    sd
        Shape (1 + sites + phases,): prior spread of each.
    """
    n = len(periods.middle)
    design = np.zeros((n, n_sites, 1 + n_sites + len(PHASES)))
    design[:, :, 0] = 1
    design[:, np.arange(n_sites), 1 + np.arange(n_sites)] = 1
    design[np.arange(n), :, 1 + n_sites + periods.phase] = 1
    j = judgement
    sd = [j.overall_sd, *[j.quality_sd] * n_sites, *[j.phase_sd] * len(PHASES)]
    return design.reshape(n * n_sites, len(sd)), np.array(sd)


def _covariance(
    rows: _Periods, columns: _Periods, position_m: Floats, judgement: ForecastJudgement
) -> Floats:
    """Prior covariance of a buck's own use, shape (row periods * S, column periods * S)."""
    j = judgement
    same_stage: Floats = np.equal.outer(rows.phase > 0, columns.phase > 0).astype(float)
    same_season: Floats = same_stage * np.equal.outer(rows.season, columns.season)
    recent = np.exp(-np.abs(rows.middle[:, None] - columns.middle[None, :]) / j.recent_days)
    # His level at all sites, and how the sites differ, each over time.
    level = (
        j.level_sd**2
        + j.stage_level_sd**2 * same_stage
        + j.season_level_sd**2 * same_season
        + j.recent_level_sd**2 * recent
    )
    where = (
        j.home_sd**2
        + j.stage_sd**2 * same_stage
        + j.season_sd**2 * same_season
        + j.recent_sd**2 * recent
    )
    near = _nearness(position_m, j.reach_m)
    same_site = j.site_sd**2 * np.eye(len(position_m))
    full = (
        level[:, None, :, None]
        + where[:, None, :, None] * near[None, :, None, :]
        + same_site[None, :, None, :]
    )
    return np.asarray(full.reshape(level.shape[0] * len(near), level.shape[1] * len(near)))


def _own_variance(judgement: ForecastJudgement) -> float:
    """What `_covariance` gives of a period and site with itself."""
    j = judgement
    level = j.level_sd**2 + j.stage_level_sd**2 + j.season_level_sd**2 + j.recent_level_sd**2
    where = j.home_sd**2 + j.stage_sd**2 + j.season_sd**2 + j.recent_sd**2
    return level + where + j.site_sd**2


def _nearness(position_m: Floats, reach_m: float) -> Floats:
    """How alike sites are used, 1 at the same spot, shape (S, S)."""
    known: npt.NDArray[np.bool_] = np.asarray(np.isfinite(position_m).all(axis=1))
    at = np.where(known[:, None], position_m, 0.0)
    gap = at[:, None, :] - at[None, :, :]
    near = np.exp(-0.5 * (gap**2).sum(axis=2) / reach_m**2)
    # A site whose place is not known is like no other.
    return np.where(known[:, None] & known[None, :], near, np.eye(len(at)))
