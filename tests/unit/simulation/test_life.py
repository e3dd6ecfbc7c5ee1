"""Patterns and whereabouts: who comes when, who leaves when, and who comes back."""

from __future__ import annotations

import numpy as np
import pytest
from simulation.life import (
    AWAY,
    FALL_RANGE,
    NOT_ALIVE,
    PATTERNS,
    RUT_RANGE,
    SUMMER_RANGE,
    Life,
    draw_life,
    draw_mix,
)

PEAK = 164  # 12 November
ONLY = {name: np.eye(4)[i] for i, name in enumerate(PATTERNS)}


def _life(mix: np.ndarray, n_bucks: int = 300, n_seasons: int = 3, **changes: float) -> Life:
    settings = {"persistence": 1.0, "p_newcomer": 0.0, "p_death": 0.0} | changes
    return draw_life(
        np.random.default_rng(8),
        n_bucks=n_bucks,
        season_lengths=[365] * n_seasons,
        rut_peak_days=[PEAK] * n_seasons,
        mix=mix,
        **settings,
    )


def test_year_round_bucks_are_away_for_a_while_at_most() -> None:
    stage = _life(ONLY["year-round"]).stage
    assert np.isin(stage, (AWAY, SUMMER_RANGE, FALL_RANGE)).all()
    away = (stage == AWAY).reshape(300, 3, 365).sum(axis=2)
    assert away.max() <= 45
    assert 5 < away.mean() < 15
    long = (away >= 7).mean()
    assert 0.4 < long < 0.6, "about half are away for a week or more in a season"


def test_fall_bucks_come_between_late_august_and_mid_october_and_stay_to_february() -> None:
    here = (_life(ONLY["fall"]).stage == FALL_RANGE).reshape(-1, 365)
    arrives = here.argmax(axis=1)
    assert arrives.min() >= 80 and arrives.max() <= 146
    assert not here[:, :80].any()
    # 1 February is day 245; a few are off on an excursion on any one day.
    assert here[:, 240].mean() > 0.9


def test_summer_bucks_are_gone_before_october() -> None:
    stage = _life(ONLY["summer"]).stage.reshape(-1, 365)
    assert (stage[:, :70] == SUMMER_RANGE).all()
    assert not (stage[:, 122:270] == SUMMER_RANGE).any()
    assert (stage[:, 360] == SUMMER_RANGE).mean() == pytest.approx(0.7, abs=0.05), "back in spring"
    in_rut = (stage == RUT_RANGE).any(axis=1).mean()
    assert in_rut == pytest.approx(0.15, abs=0.05)


def test_rut_visits_last_some_ten_days_and_return_near_the_same_days() -> None:
    stage = _life(ONLY["rut"], n_seasons=4).stage.reshape(300, 4, 365)
    here = stage == RUT_RANGE
    near_peak = here[:, :, PEAK - 35 : PEAK + 45]
    assert 7 < near_peak.sum(axis=2).mean() < 13
    assert here.sum() - near_peak.sum() < 0.1 * here.sum()
    assert not np.isin(stage, (SUMMER_RANGE, FALL_RANGE)).any()
    # Middle day of each buck's visits: years of one buck differ less than bucks do.
    day = np.arange(-35, 45)
    n_days = near_peak.sum(axis=2)
    middle = (near_peak * day).sum(axis=2) / np.where(n_days > 3, n_days, np.nan)
    assert 3 < np.nanmean(middle) < 7, "middle or later part of the rut"
    all_years = middle[np.isfinite(middle).all(axis=1)]
    assert len(all_years) > 100
    within = np.sqrt(all_years.var(axis=1, ddof=1).mean())
    # 4.5 from year to year, and extra short trips blur it.
    assert 4 < within < 8


def test_patterns_persist_as_often_as_asked() -> None:
    mix = np.full(4, 0.25)
    pattern = _life(mix, n_bucks=2000, persistence=0.85).pattern
    kept = (pattern[:, 1:] == pattern[:, :-1]).mean()
    # What does not persist is drawn afresh, and one time in four is the same again.
    assert kept == pytest.approx(0.85 + 0.15 * 0.25, abs=0.015)


def test_newcomers_and_deaths() -> None:
    life = _life(ONLY["year-round"], p_newcomer=0.5, p_death=0.2)
    alive = (life.stage != NOT_ALIVE).reshape(300, 3, 365)
    assert (~alive[:, 0].any(axis=1)).mean() == pytest.approx(0.5, abs=0.1)
    died = alive.any(axis=(1, 2)) & ~alive[:, -1, -1]
    assert died.any()
    for buck in np.flatnonzero(died):
        days = np.flatnonzero(alive[buck].ravel())
        assert (np.diff(days) == 1).all(), "the dead do not come back"
        assert 109 <= days[-1] % 365 < 225, "within the hunting months"


def test_mixes_differ_between_properties_and_stay_within_bounds() -> None:
    rng = np.random.default_rng(0)
    mixes = np.array([draw_mix(rng, (0.35, 0.55)) for _ in range(200)])
    assert mixes.sum(axis=1) == pytest.approx(np.ones(200))
    resident = mixes[:, :2].sum(axis=1)
    assert resident.min() >= 0.35 and resident.max() <= 0.55
    assert resident.std() > 0.04
