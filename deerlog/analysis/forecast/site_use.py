"""How each buck uses each site while he is around: visits a day, so far and ahead."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import logit

from deerlog.analysis.arrays import Bools, Floats, Ints
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.mixed_logit import MixedLogit, Record, fit_mixed_logit
from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.timekeeping.seasons import PHASES, SeasonCalendar

LEAST_TRIALS = 0.05
"""Rows with fewer days of him and a running camera together, and no visit, say too little to be
worth their cost."""
RECENT_SPAN_DAYS = 84
RECENT_PERIOD_DAYS = 21
"""How far back a buck's own use is followed in stretches within the phases, and how long they are;
before that it is even in each season's summer, and from September on (our choice)."""
KNOT_DAYS = 10
"""Days ahead are worked out so far apart at most, and those between lie between."""
BLEND_DAYS = 5
"""So many days on either side of a border of phases belong to both of them in part (our choice)."""
STRAIGHT_FROM_KM = 1.0
"""From so far off on, the fall-off goes straight on in place of ever steeper, and a slope adds no
more: nothing is known of the shape of a kernel where hardly anything is seen (our choice)."""
STAGES = 2
"""Summer, and from the early season on: his ground may be another."""


@dataclass(frozen=True, kw_only=True)
class Periods:
    """P stretches or points of time.

    ``days`` (D, P): what weight each has in the use on each of D days; rows add up to 1. ``phases``
    (P, phases): how far it belongs to each of `PHASES`; rows add up to 1. ``opener`` (P, 1): 1
    where it is in an opener, else 0; (P, 0) where no hunting season is given. ``stretch`` (P,):
    which of Q stretches of even own use it lies in. Of those, (Q,): ``season`` and ``middle``, the
    mean of their days, from the day the forecast is made; ``stages`` (Q, STAGES): how far they
    belong to summer and to the rest of the season.
    """

    days: Floats
    phases: Floats
    opener: Floats
    stretch: Ints
    season: Ints
    middle: Floats
    stages: Floats

    @property
    def light_cells(self) -> Floats:
        """How far each belongs to each cell of `LightShares`; rows add up to 1."""
        if not self.opener.shape[1]:
            return self.phases
        return np.hstack([self.phases * (1 - self.opener), self.phases * self.opener])


@dataclass(frozen=True, kw_only=True)
class LearnedUse:
    """What is known of how each buck uses each site, whichever days are asked for.

    ``known`` are the periods it was learned from. By buck: ``rows``, places among periods times
    sites that told something of him, and ``effects``, places among stretches times sites that these
    lie in, each once.
    """

    grid: SightingGrid
    known: Periods
    rows: tuple[Ints, ...]
    effects: tuple[Ints, ...]
    fit: MixedLogit
    _ground: _Ground
    _calendar: SeasonCalendar
    _judgement: ForecastJudgement

    def on(self, days: pd.DatetimeIndex) -> tuple[Periods, Floats, Floats]:
        """Use of the sites on some days, all of them known or all of them ahead: their P periods,
        and the log odds of a visit on a day while he is around with their posterior standard
        deviation, (B, S, P) each."""
        j, ground, today = self._judgement, self._ground, self.grid.days[-1]
        cut = _knots if len(days) and days[0] > today else _periods
        asked = cut(days, today, self._calendar)
        n_sites, n = len(self.grid.sites), len(asked.stretch)
        # Of every period and site, the place among stretches times sites.
        every = (asked.stretch[:, None] * n_sites + np.arange(n_sites)).ravel()
        prior = _Prior.between(asked, self.known, ground.position_km, j)
        shared, (variance, of_slopes) = _shared_design(asked, n_sites), _own_variance(asked, j)
        mean, sd = np.empty((2, len(self.grid.bucks), n, n_sites))
        for b, effects in enumerate(self.effects):
            far, offset = ground.of(b, asked)
            covariance = prior.of(every, effects, offset, ground.of(b, self.known)[1])
            own = variance + of_slopes * np.square(offset).sum(axis=1).reshape(-1, n_sites)
            found = self.fit.log_odds(
                b, np.hstack([shared, far[every]]), covariance, own.ravel()[every]
            )
            mean[b], sd[b] = np.reshape(found, (2, n, n_sites))
        return asked, mean.transpose(0, 2, 1), sd.transpose(0, 2, 1)


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

    A day with a visit is a success, a day that he was around (``around``, (T, B)) and the camera
    ran a trial. The log odds of a success are a site's own quality, a phase's activity and the
    opener's, which all bucks share, and each buck's own use. That falls off with the square of the
    distance from where he was seen most, as a half-normal kernel about an activity centre does
    (Efford 2004, Oikos 106:598), equally fast for all bucks; where his centre lies is his own
    (slopes east and north), and what is left is alike at sites near each other: on the same ground
    stage (summer, or from September on), in the same season and within some weeks, as far as
    `ForecastJudgement` holds.

    ``position_m`` (S, 2): metres east and north, NaN where unknown. ``before``, learned on an
    earlier day, is a start that is soon corrected, nothing more.
    """
    today, n_sites, j = grid.days[-1], len(grid.sites), judgement
    known = _periods(grid.days, today, calendar)
    trials, successes = _trials(grid, around, known)
    ground = _Ground.of_visits(trials, successes, known, position_m / 1000.0)
    prior = _Prior.between(known, known, ground.position_km, j)
    shared = _shared_design(known, n_sites)
    rows_of, effects_of, records = [], [], []
    for b in range(len(grid.bucks)):
        n, k = trials[b].ravel(), successes[b].ravel()
        rows = np.flatnonzero((n > LEAST_TRIALS) | (k > 0))
        places = known.stretch[rows // n_sites] * n_sites + rows % n_sites
        order = np.argsort(places, kind="stable")
        rows, places = rows[order], places[order]
        effects, effect = np.unique(places, return_inverse=True)
        far, offset = ground.of(b, known)
        rows_of.append(rows)
        effects_of.append(effects)
        records.append(
            Record(
                successes=k[rows],
                trials=n[rows],
                design=np.hstack([shared[rows], far[places]]),
                effect=effect,
                covariance=prior.of(effects, effects, offset, offset),
            )
        )
    opener_sd = [j.opener_sd] * known.opener.shape[1]
    mean = np.concatenate(
        [np.zeros(1 + n_sites), j.phase_means, np.zeros(len(opener_sd)), j.fall_off_per_km2]
    )
    of_phases = [*[j.phase_sd] * len(PHASES), *opener_sd]
    sd = [j.overall_sd, *[j.quality_sd] * n_sites, *of_phases, *j.fall_off_sd]
    if before is not None and before.grid.sites == grid.sites and before._calendar == calendar:
        start = before.fit.shared, *_carried(before, grid, known, rows_of, effects_of)
    else:
        level = mean.copy()
        level[0] = logit((successes.sum() + 0.5) / (trials.sum() + 1.0))
        start = (
            level,
            [np.zeros(len(effects)) for effects in effects_of],
            [np.zeros(len(rows)) for rows in rows_of],
        )
    return LearnedUse(
        grid=grid,
        known=known,
        rows=tuple(rows_of),
        effects=tuple(effects_of),
        fit=fit_mixed_logit(records, mean, np.array(sd), start=start),
        _ground=ground,
        _calendar=calendar,
        _judgement=j,
    )


def _carried(
    before: LearnedUse,
    grid: SightingGrid,
    known: Periods,
    rows_of: list[Ints],
    effects_of: list[Ints],
) -> tuple[list[Floats], list[Floats]]:
    """Pulls and variances learned on an earlier day, at the own effects and the rows of today."""
    n_sites, place = len(grid.sites), {buck: b for b, buck in enumerate(before.grid.bucks)}
    old = before.known

    def period_now(middle: Floats) -> Ints:
        day = before.grid.days[-1] + pd.to_timedelta(middle.round(), unit="D")
        row = np.clip(grid.days.searchsorted(day), 0, len(grid.days) - 1)
        return np.asarray(known.days[row].argmax(axis=1))

    stretch_now = known.stretch[period_now(old.middle)]
    n_days = len(old.days)
    of_period = old.days.T @ np.arange(1 - n_days, 1) / old.days.sum(axis=0)
    same_period = period_now(of_period)
    pulls: list[Floats] = []
    variances: list[Floats] = []
    for buck, rows, effects in zip(grid.bucks, rows_of, effects_of, strict=True):
        pull = np.zeros((len(known.middle), n_sites))
        variance = np.zeros((len(known.stretch), n_sites))
        if buck in place:
            was = before.effects[place[buck]]
            at = stretch_now[was // n_sites], was % n_sites
            np.add.at(pull, at, before.fit.pulls[place[buck]])
            was = before.rows[place[buck]]
            at = same_period[was // n_sites], was % n_sites
            variance[at] = before.fit.variances[place[buck]]
        pulls.append(pull.ravel()[effects])
        variances.append(variance.ravel()[rows])
    return pulls, variances


def _phases(days: pd.DatetimeIndex, calendar: SeasonCalendar) -> Floats:
    """How far each day belongs to each phase, shape (D, phases)."""
    if not len(days):
        return np.zeros((0, len(PHASES)))
    first = days[0] - pd.Timedelta(days=BLEND_DAYS + 1)
    every = pd.date_range(first, days[-1] + pd.Timedelta(days=BLEND_DAYS))
    phase = pd.Index(PHASES).get_indexer(pd.Index(calendar.phase_of(every)))
    so_far = np.cumsum(np.eye(len(PHASES))[phase], axis=0)
    at = _gap(days, first)
    window = so_far[at + BLEND_DAYS] - so_far[at - BLEND_DAYS - 1]
    return np.asarray(window / (2 * BLEND_DAYS + 1))


def _opener(days: pd.DatetimeIndex, calendar: SeasonCalendar) -> Floats:
    """1 on the days of an opener, shape (D, 1), or (D, 0) where no hunting season is given."""
    return np.asarray(calendar.opener_of(days)[:, None][:, : len(calendar.openings)], dtype=float)


def _gap(days: pd.DatetimeIndex, today: pd.Timestamp) -> Ints:
    return np.asarray((days - today) / pd.Timedelta(days=1)).astype(np.int64)


def _periods(days: pd.DatetimeIndex, today: pd.Timestamp, calendar: SeasonCalendar) -> Periods:
    """Cut days at seasons and phases, and finer near ``today``."""
    season, gap = calendar.season_of(days), _gap(days, today)
    phase = np.asarray(pd.Index(PHASES).get_indexer(pd.Index(calendar.phase_of(days))))
    # Cut on the same days whichever day is today, so that one week's answer begins the next.
    count = np.asarray((days - pd.Timestamp(0)) // pd.Timedelta(days=RECENT_PERIOD_DAYS))
    recent = np.where(gap > -RECENT_SPAN_DAYS, count, -1)
    own = np.where(recent < 0, phase > 0, phase)
    own_key = np.stack([season, own, recent], axis=1)
    _, first, stretch = np.unique(own_key, axis=0, return_index=True, return_inverse=True)
    in_stretch = np.eye(len(first))[stretch.reshape(-1)]
    in_stretch /= in_stretch.sum(axis=0)
    opener = _opener(days, calendar)
    key = np.column_stack([stretch.reshape(-1), phase, opener.astype(np.int64)])
    _, of_period, period = np.unique(key, axis=0, return_index=True, return_inverse=True)
    in_period = np.eye(len(of_period))[period.reshape(-1)]
    phases = _phases(days, calendar)
    return Periods(
        days=in_period,
        phases=in_period.T @ phases / in_period.sum(axis=0)[:, None],
        opener=opener[of_period],
        stretch=stretch.reshape(-1)[of_period],
        season=season[first],
        middle=in_stretch.T @ gap,
        stages=in_stretch.T @ _stages(phases),
    )


def _stages(phases: Floats) -> Floats:
    return np.stack([phases[..., 0], 1 - phases[..., 0]], axis=-1)


def _knots(days: pd.DatetimeIndex, today: pd.Timestamp, calendar: SeasonCalendar) -> Periods:
    """Points at most `KNOT_DAYS` apart, between which use goes straight, and one on either side of
    each border of an opener."""
    gap = _gap(days, today)
    turns = np.flatnonzero(np.diff(calendar.opener_of(pd.date_range(days[0], days[-1]))))
    n = int(np.ceil((gap[-1] - gap[0]) / KNOT_DAYS)) + 1
    at = np.linspace(gap[0], gap[-1], n).round()
    at = np.unique(np.concatenate([at, gap[0] + turns, gap[0] + turns + 1]))
    knots = today + pd.to_timedelta(at, unit="D")
    weights = np.stack([np.interp(gap, at, one) for one in np.eye(len(at))], axis=1)
    phases = _phases(knots, calendar)
    return Periods(
        days=weights,
        phases=phases,
        opener=_opener(knots, calendar),
        stretch=np.arange(len(at)),
        season=calendar.season_of(knots),
        middle=at,
        stages=_stages(phases),
    )


def _trials(grid: SightingGrid, around: Floats, periods: Periods) -> tuple[Floats, Floats]:
    """Days he could have been seen and days he was, shape (B, P, S)."""
    trials = np.stack(
        [(around * held[:, None]).T @ grid.running for held in periods.days.T], axis=1
    )
    day, buck, site = np.nonzero(grid.unsure)
    no_trial = (around[day, buck] * grid.running[day, site])[:, None] * periods.days[day]
    np.subtract.at(trials.transpose(0, 2, 1), (buck, site), no_trial)
    successes = count_in_periods(grid.seen, periods)
    # More successes than trials: a wrong tag, or a camera that ran though nobody knows of it.
    return np.maximum(trials, successes), successes


def count_in_periods(seen: Bools, periods: Periods) -> Floats:
    """Days in each period on which something was seen: (T, B, S, ...) to (B, P, S, ...)."""
    counted = np.zeros((seen.shape[1], periods.days.shape[1], *seen.shape[2:]))
    day, buck, *rest = np.nonzero(seen)
    np.add.at(counted, (buck, periods.days.argmax(axis=1)[day], *rest), 1.0)
    return counted


def _shared_design(periods: Periods, n_sites: int) -> Floats:
    """What all bucks share: an overall level, each site's quality, each phase's activity and
    the opener's; shape (P * S, 1 + S + phases + 1), one less where no hunting season is given."""
    n = len(periods.stretch)
    level, site = np.ones((n * n_sites, 1)), np.tile(np.eye(n_sites), (n, 1))
    of_time = np.hstack([periods.phases, periods.opener])
    return np.hstack([level, site, np.repeat(of_time, n_sites, axis=0)])


@dataclass(frozen=True, kw_only=True)
class _Ground:
    """Where the sites lie from where each buck was seen most.

    ``position_km`` (S, 2); NaN where unknown. ``offset_km`` (B, STAGES, S, 2), ``far_km2`` (B,
    STAGES, S): of each site from his middle on the ground of that stage, and how far it is,
    squared, both less from `STRAIGHT_FROM_KM` on. A site whose place is not known is as far as
    others are on average.
    """

    position_km: Floats
    offset_km: Floats
    far_km2: Floats

    @classmethod
    def of_visits(
        cls, trials: Floats, successes: Floats, periods: Periods, position_km: Floats
    ) -> _Ground:
        """His middle is where his visits a day are, drawn a little to that of the whole year."""
        placed: Bools = np.asarray(np.isfinite(position_km).all(axis=1))
        at = np.where(placed[:, None], position_km, 0.0)
        stages = periods.stages[periods.stretch]
        by_stage = [np.einsum("bps,pg->bgs", a, stages) for a in (successes, trials)]
        rate = by_stage[0] / (by_stage[1] + RECENT_PERIOD_DAYS) * placed
        whole = rate.sum(axis=1)
        middle = (whole @ at) / np.maximum(whole.sum(axis=1), 1e-12)[:, None]
        drawn = 0.2 * whole.sum(axis=1) + 1e-12
        of_stage = (rate @ at + (drawn[:, None] * middle)[:, None]) / (
            rate.sum(axis=2) + drawn[:, None]
        )[..., None]
        offset = np.where(placed[:, None], at - of_stage[:, :, None], 0.0)
        far = np.square(offset).sum(axis=-1)
        # From there on the fall-off goes straight on and slopes go no further.
        beyond = np.sqrt(np.maximum(far, STRAIGHT_FROM_KM**2)) / STRAIGHT_FROM_KM
        offset, far = offset / beyond[..., None], far * (2 / beyond - 1 / beyond**2)
        usual = far.sum(axis=-1, keepdims=True) / max(placed.sum(), 1)
        return cls(position_km=position_km, offset_km=offset, far_km2=np.where(placed, far, usual))

    def of(self, buck: int, periods: Periods) -> tuple[Floats, Floats]:
        """The fall-off's columns and the offset, shape (Q * S, 2) each, for one buck."""
        # The fall-off of all the year, and what the fall's is more.
        each = periods.stages[:, None, :] * self.far_km2[buck].T[None]
        far = -0.5 * np.stack([each.sum(axis=2), each[..., 1]], axis=2)
        offset = np.einsum("pg,gsx->psx", periods.stages, self.offset_km[buck])
        return far.reshape(-1, STAGES), offset.reshape(-1, 2)


@dataclass(frozen=True, kw_only=True)
class _Prior:
    """Prior covariance of own use between times and sites: what all bucks have in common of it.

    ``common`` and ``slope``, both (Q * S, Q' * S): of use itself, and of its slope to one side.
    """

    common: Floats
    slope: Floats

    @classmethod
    def between(
        cls, left: Periods, right: Periods, position_km: Floats, judgement: ForecastJudgement
    ) -> _Prior:
        j, n_sites = judgement, len(position_km)
        same_stage = left.stages @ right.stages.T
        same_season = same_stage * np.equal.outer(left.season, right.season)
        recent = np.exp(-np.abs(left.middle[:, None] - right.middle) / j.recent_days)

        def over_time(sds: tuple[float, float, float, float]) -> Floats:
            parts = (np.ones_like(recent), same_stage, same_season, recent)
            return np.asarray(sum(sd**2 * part for sd, part in zip(sds, parts, strict=True)))

        near = _nearness(position_km, j.reach_m / 1000.0)
        full = (
            over_time(j.level_sds)[:, None, :, None]
            + over_time(j.where_sds)[:, None, :, None] * near[None, :, None, :]
            + j.site_sd**2 * np.eye(n_sites)[None, :, None, :]
        )
        slope = np.broadcast_to(over_time(j.slope_sds)[:, None, :, None], full.shape)
        shape = (len(left.middle) * n_sites, len(right.middle) * n_sites)
        return cls(common=full.reshape(shape), slope=slope.reshape(shape))

    def of(self, rows: Ints, columns: Ints, left_km: Floats, right_km: Floats) -> Floats:
        """One buck's, with the offsets of all rows and all columns."""
        at = np.ix_(rows, columns)
        return np.asarray(self.common[at] + self.slope[at] * (left_km[rows] @ right_km[columns].T))


def _own_variance(periods: Periods, judgement: ForecastJudgement) -> tuple[Floats, Floats]:
    """Of own use with itself: without the slopes, and for a kilometre of them; shape (Q, 1)."""
    j = judgement
    stage = np.square(periods.stages).sum(axis=1)
    parts = np.stack([np.ones_like(stage), stage, stage, np.ones_like(stage)], axis=1)
    of_use = parts @ (np.square(j.level_sds) + np.square(j.where_sds)) + j.site_sd**2
    return of_use[:, None], (parts @ np.square(j.slope_sds))[:, None]


def _nearness(position: Floats, reach: float) -> Floats:
    """How alike sites are used, 1 at the same spot, shape (S, S)."""
    known: Bools = np.asarray(np.isfinite(position).all(axis=1))
    at = np.where(known[:, None], position, 0.0)
    gap = at[:, None, :] - at[None, :, :]
    near = np.exp(-0.5 * (gap**2).sum(axis=2) / reach**2)
    # A site whose place is not known is like no other.
    return np.where(known[:, None] & known[None, :], near, np.eye(len(at)))
