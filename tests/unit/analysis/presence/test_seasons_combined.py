"""Seasons joined, against every sequence of patterns, rates and losses written out."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import numpy.typing as npt
import pytest

from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import (
    PATTERNS,
    RESIDENT,
    pattern_prior,
    season_transition,
)
from deerlog.analysis.presence.seasons_combined import (
    OwnSeason,
    SeasonSteps,
    combine_seasons,
    log_by_first_rate,
    log_odds_resident,
)

Floats = npt.NDArray[np.float64]
K = len(PATTERNS)
ALIVE, GONE = season_transition(Judgement())
STEP = np.array([[0.9, 0.1], [0.2, 0.8]])
"""From one season's rate to the next's."""
STEPS = SeasonSteps(prior=pattern_prior(Judgement()), alive=ALIVE, gone=GONE, rate=STEP)


def drawn(seed: int, n_seasons: int = 3) -> tuple[list[OwnSeason], Floats]:
    """A few marks a season, and weights of two rates."""
    rng = np.random.default_rng(seed)
    seasons = []
    for _ in range(n_seasons):
        later = np.sort(rng.uniform(0, 0.3, (3, K)), axis=0)[::-1]
        later[-1] = 0.0
        seasons.append(
            OwnSeason(
                log_evidence=np.cumsum(rng.normal(-2, 2, (3, K, 2)), axis=0),
                gone=rng.uniform(0, 1, (3, K, 2)),
                gone_later=later,
            )
        )
    return seasons, rng.dirichlet(np.ones(2))


def every_sequence(
    logs: list[Floats], gone: list[Floats], weights: Floats
) -> dict[tuple[tuple[int, ...], tuple[int, ...]], float]:
    """Probability of each sequence of patterns and of rates, with the record; no two are joined."""
    joint = {}
    for patterns in product(range(K), repeat=len(logs)):
        for rates in product(range(2), repeat=len(logs)):
            chance = STEPS.prior[patterns[0]] * weights[rates[0]]
            for s, (before, after) in enumerate(pairwise(patterns)):
                g = gone[s][before, rates[s]]
                chance *= (1 - g) * ALIVE[before, after] + g * GONE[after]
            for before, after in pairwise(rates):
                chance *= STEP[before, after]
            told = sum(log[k, r] for log, k, r in zip(logs, patterns, rates, strict=True))
            joint[patterns, rates] = chance * np.exp(told)
    return joint


@pytest.mark.parametrize("seed", range(2))
def test_patterns_and_rates_by_every_sequence(seed: int) -> None:
    seasons, weights = drawn(seed)
    got = combine_seasons(seasons, weights, STEPS)
    logs, gone = [s.log_evidence[-1] for s in seasons], [s.gone[-1] for s in seasons]
    joint = every_sequence(logs, gone, weights)
    total = sum(joint.values())
    smoothed = np.zeros((3, K, 2))
    by_first_rate = np.zeros(2)
    for (patterns, rates), chance in joint.items():
        by_first_rate[rates[0]] += chance / weights[rates[0]]
        for season in range(3):
            smoothed[season, patterns[season], rates[season]] += chance / total
    np.testing.assert_allclose(got.smoothed, smoothed, rtol=1e-10, atol=1e-15)
    np.testing.assert_allclose(log_by_first_rate(seasons, STEPS), np.log(by_first_rate), rtol=1e-9)
    for known in (1, 2, 3):
        part = every_sequence(logs[:known], gone, weights)
        filtered = np.zeros((K, 2))
        for (patterns, rates), chance in part.items():
            filtered[patterns[-1], rates[-1]] += chance / sum(part.values())
        np.testing.assert_allclose(got.filtered[known - 1], filtered.sum(axis=1), rtol=1e-10)
        assert got.p_gone[known - 1] == pytest.approx((filtered * gone[known - 1]).sum())


@pytest.mark.parametrize("seed", range(2))
def test_log_odds_at_every_mark_by_every_sequence(seed: int) -> None:
    """Odds of living here in the last season, from the record up to each mark."""
    seasons, weights = drawn(seed)
    before = combine_seasons(seasons, weights, STEPS).before
    prior, by_mark = log_odds_resident(seasons, before, STEPS)
    nothing = np.zeros((K, 2))
    unseen = [np.tile(s.gone_later[0][:, None], (1, 2)) for s in seasons]

    def odds(logs: list[Floats], gone: list[Floats]) -> float:
        joint = every_sequence(logs, gone, weights)
        here = sum(c for (patterns, _), c in joint.items() if RESIDENT[patterns[-1]])
        return float(np.log(here) - np.log(sum(joint.values()) - here))

    assert prior == pytest.approx(odds([nothing] * 3, unseen), rel=1e-10)
    for i, season in enumerate(seasons):
        known = [s.log_evidence[-1] for s in seasons[:i]]
        for mark in range(3):
            now = season.gone[mark]
            later = now + (1 - now) * season.gone_later[mark][:, None]
            logs = [*known, season.log_evidence[mark], *[nothing] * (2 - i)]
            gone = [*(s.gone[-1] for s in seasons[:i]), later, *unseen[i + 1 :]]
            assert by_mark[i][mark] == pytest.approx(odds(logs, gone), rel=1e-9, abs=1e-10)


def test_overwhelming_evidence_stays_finite_and_counted() -> None:
    """Far past where a chance rounds to 1, the odds still move by what was argued."""
    resident = np.where(RESIDENT, 0.0, -80.0)[:, None] * np.ones((1, 2))
    season = OwnSeason(
        log_evidence=np.array([resident, 2 * resident]),
        gone=np.zeros((2, K, 2)),
        gone_later=np.zeros((2, K)),
    )
    before = combine_seasons([season], np.full(2, 0.5), STEPS).before
    prior, (odds,) = log_odds_resident([season], before, STEPS)
    np.testing.assert_allclose(np.diff(odds, prepend=prior), [80, 80], rtol=1e-9)


def test_who_is_gone_is_absent_in_the_next_season() -> None:
    seasons, weights = drawn(3, n_seasons=2)
    flat = [
        OwnSeason(
            log_evidence=np.zeros((1, K, 2)),
            gone=np.full((1, K, 2), gone),
            gone_later=np.zeros((1, K)),
        )
        for gone in (1.0, 0.0)
    ]
    got = combine_seasons(flat, weights, STEPS)
    np.testing.assert_allclose(got.filtered[1], GONE, rtol=1e-12)
    assert len(seasons) == 2
