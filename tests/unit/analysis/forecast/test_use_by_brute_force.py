"""Use of sites against the same model written out effect by effect, and fitted by an optimiser."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import pandas as pd
from deerlog.analysis.forecast.judgement import ForecastJudgement
from scipy.optimize import minimize
from scipy.special import expit

from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.forecast.site_use import learn_site_use
from deerlog.timekeeping.seasons import SeasonCalendar

CALENDAR = SeasonCalendar()
J = ForecastJudgement(
    level_sd=0.9, stage_sd=1.1, season_sd=0.8, overall_sd=2.5, reach_m=400.0, recent_days=25.0
)
"""None of them 1, so that a square tells."""
POSITION = np.array([[0.0, 0.0], [300.0, -200.0], [np.nan, np.nan]])
BLOCKS = (("2023-07-03", 8), ("2023-11-08", 8), ("2024-07-01", 8), ("2024-11-06", 12))
"""Summer and rut of two seasons, each within one phase; the last ends today."""

AHEAD = pd.DatetimeIndex(["2024-11-20", "2025-01-10", "2025-07-01"])


class Place(NamedTuple):
    """What one share of days with a visit belongs to; ``at`` in days."""

    buck: int
    site: int
    at: float
    season: int
    phase: str


def place(buck: int, site: int, day: pd.Timestamp) -> Place:
    one = pd.DatetimeIndex([day])
    at = day.timestamp() / 86400
    return Place(buck, site, at, int(CALENDAR.season_of(one)[0]), str(CALENDAR.phase_of(one)[0]))


def record() -> tuple[SightingGrid, np.ndarray]:
    rng = np.random.default_rng(5)
    days = pd.DatetimeIndex(
        np.concatenate([pd.date_range(first, periods=n) for first, n in BLOCKS])
    )
    shape = (len(days), 2, len(POSITION))
    seen = rng.random(shape) < [[0.6, 0.2, 0.3], [0.1, 0.5, 0.2]]
    running = rng.uniform(0.3, 1.0, (len(days), len(POSITION)))
    running[:8, 0] = 0.0
    seen[1:8, :, 0] = False  # of the first day a visit is known, of a camera nothing
    seen[0, :, 0] = True
    grid = SightingGrid(
        days=days.as_unit("us"),
        bucks=("Ash", "Oak"),
        sites=("a", "b", "c"),
        running=running,
        seen=seen,
        seen_in_light=np.repeat(seen[..., None], 2, axis=3),
    )
    return grid, rng.uniform(0.2, 1.0, (len(days), 2))


def shared_by_all(a: Place, b: Place) -> float:
    """Variance that two places have in common for every buck: each effect where both have it."""
    same_site, same_phase = a.site == b.site, a.phase == b.phase
    return J.overall_sd**2 + J.quality_sd**2 * same_site + J.phase_sd**2 * same_phase


def his_own(a: Place, b: Place) -> float:
    """Variance that two places of one buck have in common besides."""
    if a.buck != b.buck:
        return 0.0
    one_stage = (a.phase == "summer") == (b.phase == "summer")
    one_season = one_stage and a.season == b.season
    fading = np.exp(-abs(a.at - b.at) / J.recent_days)
    gap_m = np.hypot(*(POSITION[a.site] - POSITION[b.site]))
    near = np.exp(-0.5 * (gap_m / J.reach_m) ** 2) if np.isfinite(gap_m) else 0.0
    near = 1.0 if a.site == b.site else near
    level = J.level_sd**2 + J.stage_level_sd**2 * one_stage
    level += J.season_level_sd**2 * one_season + J.recent_level_sd**2 * fading
    ground = J.home_sd**2 + J.stage_sd**2 * one_stage
    ground += J.season_sd**2 * one_season + J.recent_sd**2 * fading
    return level + near * ground + J.site_sd**2 * (a.site == b.site)


def covariance(
    part: Callable[[Place, Place], float], rows: list[Place], columns: list[Place]
) -> np.ndarray:
    return np.array([[part(a, b) for b in columns] for a in rows])


def test_the_whole_model() -> None:
    grid, around = record()
    use = learn_site_use(grid, around, CALENDAR, POSITION, J).on(AHEAD)
    # Every block of days at every site, with its trials and successes.
    places, trials, successes = [], [], []
    begins = 0
    for first, n in BLOCKS:
        block = range(begins, begins := begins + n)
        for buck in range(2):
            for site in range(3):
                days_out = sum(around[t, buck] * grid.running[t, site] for t in block)
                came = sum(bool(grid.seen[t, buck, site]) for t in block)
                middle = pd.Timestamp(first) + pd.Timedelta(days=(n - 1) / 2)
                places.append(place(buck, site, middle))
                trials.append(max(days_out, came))
                successes.append(came)
    trials, successes = np.array(trials), np.array(successes)
    asked = [place(b, s, day) for b in range(2) for s in range(3) for day in AHEAD]

    own = covariance(his_own, places, places)
    prior = own + covariance(shared_by_all, places, places)
    root = np.linalg.cholesky(prior + 1e-9 * np.eye(len(prior)))

    def minus_log_posterior(white: np.ndarray) -> tuple[float, np.ndarray]:
        odds = root @ white
        told = successes @ odds - trials @ np.logaddexp(0, odds)
        slope = root.T @ (successes - trials * expit(odds)) - white
        return 0.5 * white @ white - told, -slope

    best = minimize(minus_log_posterior, np.zeros(len(prior)), jac=True, tol=1e-10)
    odds = root @ best.x
    across = covariance(his_own, asked, places)
    wanted = (across + covariance(shared_by_all, asked, places)) @ np.linalg.solve(prior, odds)
    got = use.log_odds[:, :, use.period]
    np.testing.assert_allclose(got, wanted.reshape(got.shape), atol=5e-3)
    # The spread is of what is his own: the shared effects count as known.
    weight = trials * expit(odds) * (1 - expit(odds))
    narrowed = across @ np.linalg.solve(own + np.diag(1 / weight), across.T)
    sd = np.sqrt(np.diag(covariance(his_own, asked, asked) - narrowed))
    np.testing.assert_allclose(use.sd[:, :, use.period], sd.reshape(got.shape), rtol=2e-3)


def test_of_a_buck_without_a_day_only_the_prior_is_known() -> None:
    grid, around = record()
    use = learn_site_use(
        replace(grid, running=grid.running * 0, seen=grid.seen & False), around, CALENDAR,
        POSITION, J,
    ).on(AHEAD)  # fmt: skip
    anywhere = place(0, 1, AHEAD[0])
    np.testing.assert_allclose(use.sd, np.sqrt(his_own(anywhere, anywhere)), rtol=1e-12)


def test_a_site_put_out_since_makes_no_start_but_no_trouble() -> None:
    grid, around = record()
    fewer = replace(
        grid, sites=grid.sites[:2], running=grid.running[:, :2], seen=grid.seen[:, :, :2]
    )
    before = learn_site_use(fewer, around, CALENDAR, POSITION[:2], J)
    begun = learn_site_use(grid, around, CALENDAR, POSITION, J, before=before).on(AHEAD)
    afresh = learn_site_use(grid, around, CALENDAR, POSITION, J).on(AHEAD)
    np.testing.assert_array_equal(begun.log_odds, afresh.log_odds)


def test_time_is_cut_into_three_weeks_near_today_and_into_phases_before() -> None:
    grid, around = record()
    grid = replace(grid, days=grid.days + pd.Timedelta(days=192))  # ends on 28 May
    learned = learn_site_use(grid, around, CALENDAR, POSITION, J)
    today = grid.days[-1]
    asked = today + pd.to_timedelta(np.arange(-150, 4), unit="D")  # all of one late season
    period = learned.on(asked).period
    begins = [int((asked[i] - today).days) for i in range(1, 154) if period[i] != period[i - 1]]
    # 125 days back is the first of the recent ones; the last stretch ends today.
    assert begins == [-125, -104, -83, -62, -41, -20, 1]
