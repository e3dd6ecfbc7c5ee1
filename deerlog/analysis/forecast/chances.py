"""The chance of a visit in shooting light: buck by site by half by day.

Is he around, times how he uses the site while he is, times the share of it in shooting light.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy.special import expit, ndtri

from deerlog.analysis.arrays import Bools, Floats
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.light_shares import LightShares, light_shares
from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.forecast.site_use import LearnedUse, count_in_periods, learn_site_use
from deerlog.analysis.visits import HALVES
from deerlog.one_thread import one_thread
from deerlog.timekeeping.seasons import SeasonCalendar

CLUMPING_SHAPES = np.array([0.3, 0.5, 0.8, 1.25, 2.0, 3.2, 5.0, 8.0, 13.0, 20.0, 50.0])
"""Among which the record chooses; at 50 visits come as good as independently."""
TAIL = 0.025
"""What lies below, and above, a 95 % interval."""
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(7)


def half_log_odds(day_log_odds: Floats, share: Floats, shape: float) -> Floats:
    """Log odds of a visit in a part of the day that holds a share of the visits, from those of the
    day.

    A buck who comes to a site at all on a day often comes again that day: his rate varies from day
    to day. With gamma noise of shape k on the rate, the chance of no visit at an expected count c
    is (1 + c / k) ** -k; the smaller k, the more visits come together. With a k of 1 the odds of
    the part are ``share`` times those of the day.
    """
    # log of one less the chance, for the day and then for the part; odds = exp(u) - 1.
    quiet = np.logaddexp(0.0, day_log_odds)
    u = shape * np.log1p(share * np.expm1(quiet / shape))
    return np.asarray(np.log(np.expm1(u)))


@dataclass(frozen=True, kw_only=True)
class Forecast:
    """Chances of D days, B bucks, S sites and the two halves.

    ``around`` (D, B): chance that he is around. ``log_odds``, ``sd`` (D, B, S, 2): log odds of a
    visit in shooting light in a half if he is around and the camera runs, and their posterior
    standard deviation. ``floor`` (B, S, 2): chance that another buck's visit is written down under
    his name.
    """

    days: pd.DatetimeIndex
    bucks: tuple[str, ...]
    sites: tuple[str, ...]
    around: Floats
    log_odds: Floats
    sd: Floats
    floor: Floats

    def chance_if_around(self, z: float | Floats | None = None) -> Floats:
        """Chance of a visit given that he is around, shape (D, B, S, 2).

        The mean over what is not known of how he uses the site; or at ``z`` posterior standard
        deviations.
        """
        if z is not None:
            return np.asarray(expit(self.log_odds + z * self.sd))
        mean = np.zeros_like(self.log_odds)
        for node, weight in zip(_NODES, _WEIGHTS / _WEIGHTS.sum(), strict=True):
            mean += weight * expit(self.log_odds + node * self.sd)
        return mean

    def chance(self) -> Floats:
        """Chance of at least one visit in shooting light under his name, shape (D, B, S, 2)."""
        return self._under_his_name(self.around[:, :, None, None] * self.chance_if_around())

    def interval(self) -> tuple[Floats, Floats]:
        """Lower and upper end of that chance's 95 % interval, shape (D, B, S, 2) each.

        What is not known is whether he is around, and how he uses the site if he is.
        """
        mean = self.chance()
        ends = []
        for share in (TAIL, 1 - TAIL):
            z, here = z_if_around(self.around, share)
            there = np.where(here[..., None, None], self.chance_if_around(z[..., None, None]), 0.0)
            ends.append(self._under_his_name(there))
        return np.minimum(ends[0], mean), np.maximum(ends[1], mean)

    def _under_his_name(self, there: Floats) -> Floats:
        return np.asarray(1 - (1 - there) * (1 - self.floor[None]))


def z_if_around(around: Floats, share: float) -> tuple[Floats, Bools]:
    """Where a share of all that may be lies: standard deviations up from his mean use if he is
    around, and whether he is; where he is not the first is 0. Shapes as ``around``."""
    gone = 1 - around
    here = np.asarray(share > gone)
    rest = np.where(here, (share - gone) / np.maximum(around, 1e-12), 0.5)
    return np.asarray(ndtri(rest)), here


@dataclass(frozen=True, kw_only=True)
class ExpectedVisits:
    """What was to be expected of known half-days, whatever their weather, shape (T, 2) each.

    ``expected``: sum over bucks and sites, for what ran, of the chance of a visit in shooting
    light. ``response``: by how much the logarithm of that sum moves as every log odds moves by 1;
    from 0 to 1, and less the busier the sites.
    """

    expected: Floats
    response: Floats


@dataclass(frozen=True, kw_only=True)
class Learned:
    """What a record teaches: how each buck uses each site, which share of it falls in shooting
    light, and how the visits of a day clump (see `half_log_odds`)."""

    grid: SightingGrid
    around: pd.DataFrame
    judgement: ForecastJudgement
    use: LearnedUse
    light: LightShares
    clumping_shape: float

    def forecast(self, days: pd.DatetimeIndex) -> Forecast:
        """Chances on some days, in order; `ValueError` when one is known already."""
        if len(days) and days[0] <= self.grid.days[-1]:
            raise ValueError("a forecast is for days after the day it is made")
        return self._on(days)

    def expected_visits(self) -> ExpectedVisits:
        """What was to be expected of every known half-day, with all that is known now.

        Not a forecast: it is there to hold the weather's part against.
        """
        made = self._on(self.grid.days)
        chance = made.chance_if_around()
        weight = chance * made.around[:, :, None, None] * self.grid.running[:, None, :, None]
        weight[self.grid.unsure] = 0.0
        expected = weight.sum(axis=(1, 2))
        moved = (weight * (1 - chance)).sum(axis=(1, 2))
        return ExpectedVisits(expected=expected, response=moved / np.maximum(expected, 1e-300))

    def _on(self, days: pd.DatetimeIndex) -> Forecast:
        with one_thread():
            periods, use, use_sd = self.use.on(days)
        share, share_sd = self.light.at(periods.light_cells)
        up, down = (
            half_log_odds((use + z * use_sd)[..., None], share, self.clumping_shape)
            for z in (1, -1)
        )
        of_period = (up + down) / 2, np.hypot((up - down) / 2, share_sd)
        log_odds, sd = (
            np.einsum("dp,bsph->dbsh", periods.days, part, optimize=True) for part in of_period
        )
        return Forecast(
            days=days, bucks=self.grid.bucks, sites=self.grid.sites,
            around=_chance_around(self.around, self.grid, days),
            log_odds=log_odds, sd=sd, floor=_wrong_tag_chance(self.grid, self.judgement),
        )  # fmt: skip


def learn(
    grid: SightingGrid,
    visits: pd.DataFrame,
    around: pd.DataFrame,
    calendar: SeasonCalendar,
    sites: pd.DataFrame,
    judgement: ForecastJudgement | None = None,
    *,
    before: Learned | None = None,
) -> Learned:
    """Learn from all that is known by the last day of ``grid``, the day a forecast is made: the
    slow part of it, whatever the days.

    ``visits``, sure tags only, are none later (`ValueError`). ``around``, by day and buck, of
    `presence.around`, reaches to the last day that will be asked for; a day or buck that it lacks
    counts as gone. ``sites`` is ``site``, ``setting``, ``x_m``, ``y_m`` (metres east and north, NaN
    where unknown); the first row of a site counts, and one that it lacks is of setting ``other``
    and like no other. ``before``, learned on an earlier day, makes this quicker and no different.
    """
    judgement = judgement or ForecastJudgement()
    if len(visits) and visits["day"].max() > grid.days[-1]:
        raise ValueError("a forecast may not know visits after the day it is made")
    so_far = _chance_around(around, grid, grid.days)
    place = sites.drop_duplicates("site").set_index("site").reindex(list(grid.sites))
    setting = tuple(place["setting"].fillna("other").astype(str))
    position = place[["x_m", "y_m"]].to_numpy(dtype=float)
    used, lit = (None, None) if before is None else (before.use, before.light)
    opener = calendar.opener_of(visits["day"]) if calendar.openings else None
    with one_thread():
        use = learn_site_use(grid, so_far, calendar, position, judgement, before=used)
        light = light_shares(
            visits, grid.bucks, grid.sites, setting, judgement, opener=opener, before=lit
        )
    return Learned(
        grid=grid, around=around, judgement=judgement, use=use, light=light,
        clumping_shape=_clumping_shape(grid, use, light, judgement),
    )  # fmt: skip


def _chance_around(around: pd.DataFrame, grid: SightingGrid, days: pd.DatetimeIndex) -> Floats:
    """Shape (D, B); 0 where nothing is said of a day or a buck."""
    said = around.reindex(index=days, columns=list(grid.bucks))
    return np.asarray(np.nan_to_num(said.to_numpy(dtype=float)))


def _clumping_shape(
    grid: SightingGrid, use: LearnedUse, light: LightShares, judgement: ForecastJudgement
) -> float:
    """The most probable shape: of the days with a visit, how many had one in shooting light?"""
    seen = count_in_periods(grid.seen, use.known)
    lit = count_in_periods(grid.seen_in_light, use.known)
    share = light.at(use.known.light_cells)[0].transpose(0, 2, 1, 3)
    spread = np.log(CLUMPING_SHAPES / judgement.clumping_shape) / judgement.clumping_shape_sd
    log_posterior = -0.5 * spread**2
    for b, rows in enumerate(use.rows):
        n = seen[b].ravel()[rows]
        came = n > 0
        odds = use.fit.odds_at_rows(b)[came, None]
        at, n = rows[came], n[came, None]
        k = np.minimum(lit[b].reshape(-1, len(HALVES))[at], n)
        parts = share[b].reshape(-1, len(HALVES))[at]
        for i, shape in enumerate(CLUMPING_SHAPES):
            given_day = expit(half_log_odds(odds, parts, shape)) / expit(odds)
            given_day = np.clip(given_day, 1e-12, 1 - 1e-12)
            log_posterior[i] += (k * np.log(given_day) + (n - k) * np.log1p(-given_day)).sum()
    return float(CLUMPING_SHAPES[log_posterior.argmax()])


def _wrong_tag_chance(grid: SightingGrid, judgement: ForecastJudgement) -> Floats:
    """Chance in a half-day that another's visit stands under a buck's name, shape (B, S, 2)."""
    n_bucks, n_sites = max(len(grid.bucks), 2), max(len(grid.sites), 1)
    watched = np.maximum(grid.running.sum(axis=0), 30.0)[:, None]
    visits_a_day = grid.seen_in_light.sum(axis=(0, 1)) / watched
    mixed_up = judgement.wrong_tag_share * visits_a_day / (n_bucks - 1)
    # A stranger may pass at any site; half of deer's visits are taken to fall in shooting light.
    stranger = 0.5 * judgement.stranger_rate / (len(HALVES) * n_sites)
    return np.broadcast_to(mixed_up + stranger, (len(grid.bucks), *visits_a_day.shape))
