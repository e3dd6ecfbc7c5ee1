"""How each buck uses each site while he is around: visits a day, today and ahead."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.forecast_judgement import ForecastJudgement
from deerlog.analysis.mixed_logit import MixedLogit, fit_mixed_logit
from deerlog.analysis.sighting_grid import SightingGrid
from deerlog.timekeeping.seasons import PHASES, SeasonCalendar

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

FREE_SD = 5.0


@dataclass(frozen=True, kw_only=True)
class SiteUse:
    """Use of the sites on the days asked for.

    Attributes
    ----------
    period
        Shape (days,): which column of the following each day asked for falls in.
    log_rate, sd
        Shape (B, S, periods): log of expected visits a day while he is around, and its posterior
        standard deviation.
    """

    period: Ints
    log_rate: Floats
    sd: Floats
    fit: MixedLogit


@dataclass(frozen=True)
class _Periods:
    """Stretches of days within which use is taken as even."""

    of_day: Ints
    season: Ints
    phase: Ints
    middle: Floats


def site_use(
    grid: SightingGrid,
    around: Floats,
    calendar: SeasonCalendar,
    position_m: Floats,
    days: pd.DatetimeIndex,
    judgement: ForecastJudgement,
) -> SiteUse:
    """Fit what is known and say it for other days.

    Parameters
    ----------
    grid
        All that is known; its last day is the day the forecast is made.
    around
        Shape (T, B): chance that he was around on each day of the grid.
    position_m
        Shape (S, 2), metres east and north; NaN where unknown.
    days
        Days asked for.
    """
    known = _periods(grid.days, grid.days[-1], calendar)
    asked = _periods(days, grid.days[-1], calendar)
    n_known = len(known.middle)
    trials, successes = _counts(grid, around, known)
    both = _Periods(
        of_day=np.concatenate([known.of_day, asked.of_day + n_known]),
        season=np.concatenate([known.season, asked.season]),
        phase=np.concatenate([known.phase, asked.phase]),
        middle=np.concatenate([known.middle, asked.middle]),
    )
    shared, shared_sd = _shared_design(both, len(grid.sites), judgement)
    n_rows = n_known * len(grid.sites)
    covariance = _covariance(both, n_known, position_m, judgement)
    fit = fit_mixed_logit(
        successes.reshape(len(grid.bucks), n_rows),
        trials.reshape(len(grid.bucks), n_rows),
        shared[:n_rows],
        covariance[:n_rows],
        shared_sd,
    )
    variance = _covariance_of(1.0, 1.0, 1.0, 1.0, 1.0, 1.0, judgement)
    mean, sd = fit.log_odds(
        shared[n_rows:], covariance[n_rows:], np.full(len(covariance) - n_rows, variance)
    )
    shape = (len(grid.bucks), len(asked.middle), len(grid.sites))
    return SiteUse(
        period=asked.of_day,
        log_rate=mean.reshape(shape).transpose(0, 2, 1),
        sd=sd.reshape(shape).transpose(0, 2, 1),
        fit=fit,
    )


RECENT_SPAN_DAYS = 140
RECENT_PERIOD_DAYS = 14
LONG_PERIOD_DAYS = 62


def _periods(days: pd.DatetimeIndex, today: pd.Timestamp, calendar: SeasonCalendar) -> _Periods:
    """Cut days into periods: by phase, finer near ``today``."""
    season = calendar.season_of(days)
    phase = np.asarray(pd.Index(PHASES).get_indexer(pd.Index(calendar.phase_of(days))))
    gap = np.asarray((days - today) / pd.Timedelta(days=1)).astype(np.int64)
    chunk = np.where(
        gap > -RECENT_SPAN_DAYS,
        (gap - 1) // RECENT_PERIOD_DAYS,
        -1000 + calendar.season_day(days) // LONG_PERIOD_DAYS,
    )
    key = np.stack([season, phase, chunk], axis=1)
    _, first, of_day = np.unique(key, axis=0, return_index=True, return_inverse=True)
    of_day = of_day.reshape(-1)
    count = np.bincount(of_day)
    middle = np.bincount(of_day, gap) / count
    return _Periods(of_day=of_day, season=season[first], phase=phase[first], middle=middle)


def _counts(grid: SightingGrid, around: Floats, periods: _Periods) -> tuple[Floats, Floats]:
    """Days he could have been seen and days he was, shape (B, periods, S)."""
    n = len(periods.middle)
    shape = (len(grid.bucks), n, len(grid.sites))
    trials, successes = np.empty(shape), np.empty(shape)
    for i in range(n):
        here = periods.of_day == i
        trials[:, i] = around[here].T @ grid.running[here]
        successes[:, i] = grid.seen[here].sum(axis=0)
    # A wrong tag, or a visit on a day the camera is not known to have run.
    trials = np.maximum(trials, successes)
    return np.where(trials < 1e-3, 0.0, trials), successes


def _shared_design(
    periods: _Periods, n_sites: int, judgement: ForecastJudgement
) -> tuple[Floats, Floats]:
    n = len(periods.middle)
    design = np.zeros((n, n_sites, 1 + n_sites + len(PHASES)))
    design[:, :, 0] = 1
    design[:, np.arange(n_sites), 1 + np.arange(n_sites)] = 1
    design[np.arange(n), :, 1 + n_sites + periods.phase] = 1
    sd = np.array(
        [FREE_SD, *[judgement.quality_sd] * n_sites, *[judgement.phase_sd] * len(PHASES)]
    )
    return design.reshape(n * n_sites, -1), sd


def _covariance(
    periods: _Periods, n_known: int, position_m: Floats, judgement: ForecastJudgement
) -> Floats:
    """Prior covariance of a buck's own part of the log rate.

    Returns
    -------
    Shape (periods * sites, known * sites).
    """
    known = slice(0, n_known)
    stage = (periods.phase > 0).astype(np.int64)
    same_stage = stage[:, None] == stage[None, known]
    same_season = same_stage & (periods.season[:, None] == periods.season[None, known])
    gap = np.abs(periods.middle[:, None] - periods.middle[None, known])
    recent = np.exp(-gap / judgement.recent_days)
    space = _nearness(position_m, judgement.reach_m)
    site = np.eye(len(position_m))

    def time(a: npt.ArrayLike) -> Floats:
        return np.asarray(a, dtype=float)[:, None, :, None]

    def place(a: Floats) -> Floats:
        return a[None, :, None, :]

    full = _covariance_of(
        place(space), place(site), time(same_stage), time(same_season), time(recent), 1.0, judgement
    )
    n_sites = len(position_m)
    return np.asarray(full).reshape(len(periods.middle) * n_sites, n_known * n_sites)


def _covariance_of(space, site, same_stage, same_season, recent, one, j):
    level = (
        j.level_sd**2 * one + j.stage_level_sd**2 * same_stage
        + j.season_level_sd**2 * same_season + j.recent_level_sd**2 * recent
    )
    where = (
        j.home_sd**2 + j.stage_sd**2 * same_stage
        + j.season_sd**2 * same_season + j.recent_sd**2 * recent
    )
    return level + where * space + j.site_sd**2 * site


def _nearness(position_m: Floats, reach_m: float) -> Floats:
    known = np.isfinite(position_m).all(axis=1)
    gap = position_m[:, None, :] - position_m[None, :, :]
    near = np.exp(-0.5 * np.nan_to_num((gap**2).sum(axis=2)) / reach_m**2)
    # A site whose place is not known is like no other.
    return np.asarray(np.where(known[:, None] & known[None, :], near, np.eye(len(position_m))))
