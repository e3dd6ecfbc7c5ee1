"""Seasons joined, against every sequence of patterns written out."""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np
import numpy.typing as npt
import pytest
from deerlog.analysis.presence.season_evidence import combine_seasons

from deerlog.analysis.presence import season_evidence
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import (
    PATTERNS,
    RESIDENT,
    YEAR_ROUND,
    pattern_chains,
    pattern_prior,
    season_transition,
)
from deerlog.timekeeping.seasons import SeasonCalendar

Floats = npt.NDArray[np.float64]
K = len(PATTERNS)
PRIOR, BETWEEN = pattern_prior(Judgement()), season_transition(Judgement())


def drawn(seed: int, n_seasons: int = 3) -> tuple[list[Floats], Floats]:
    """Log evidence of a few marks a season, and weights of three rates."""
    rng = np.random.default_rng(seed)
    logs = [np.cumsum(rng.normal(-2, 2, (4, K, 3)), axis=0) for _ in range(n_seasons)]
    return logs, rng.dirichlet(np.ones(3))


STEP = np.array([[0.8, 0.15, 0.05], [0.1, 0.8, 0.1], [0.0, 0.3, 0.7]])
"""From one season's rate to the next's."""


def every_sequence(logs: list[Floats], weights: Floats) -> dict[tuple[int, ...], float]:
    """Probability of each sequence of patterns and of rates, with the record; no two are joined.

    Keys: the patterns, then the rates.
    """
    joint = {}
    for sequence in product(range(K), repeat=len(logs)):
        for rates in product(range(len(weights)), repeat=len(logs)):
            chance = PRIOR[sequence[0]] * weights[rates[0]]
            for before, after in pairwise(sequence):
                chance *= BETWEEN[before, after]
            for before, after in pairwise(rates):
                chance *= STEP[before, after]
            told = sum(log[-1, k, r] for log, k, r in zip(logs, sequence, rates, strict=True))
            joint[(*sequence, *rates)] = chance * np.exp(told)
    return joint


@pytest.mark.parametrize("seed", range(4))
def test_patterns_and_rates_by_every_sequence(seed: int) -> None:
    logs, weights = drawn(seed)
    got = combine_seasons(logs, PRIOR, weights, BETWEEN, STEP)
    joint = every_sequence(logs, weights)
    total = sum(joint.values())
    smoothed = np.zeros((3, K, 3))
    for key, chance in joint.items():
        for season in range(3):
            smoothed[season, key[season], key[3 + season]] += chance / total
    np.testing.assert_allclose(got.smoothed, smoothed, rtol=1e-10, atol=1e-15)
    np.testing.assert_allclose(got.rate, smoothed[2].sum(axis=0), rtol=1e-10)
    for known in (1, 2, 3):
        part = every_sequence(logs[:known], weights)
        filtered = np.zeros(K)
        for key, chance in part.items():
            filtered[key[known - 1]] += chance / sum(part.values())
        np.testing.assert_allclose(got.filtered[known - 1], filtered, rtol=1e-10, atol=1e-15)


@pytest.mark.parametrize("seed", range(4))
def test_log_odds_at_every_mark_by_every_sequence(seed: int) -> None:
    """Odds of living here in the last season, from the record up to each mark."""
    logs, weights = drawn(seed)
    got = combine_seasons(logs, PRIOR, weights, BETWEEN, STEP)

    def odds(known: list[Floats]) -> float:
        joint = every_sequence(known, weights)
        last = len(known) - 1
        here = sum(c for key, c in joint.items() if RESIDENT[key[last]])
        return float(np.log(here) - np.log(sum(joint.values()) - here))

    nothing = np.zeros((1, K, 3))
    assert got.prior_log_odds == pytest.approx(odds([nothing] * 3), rel=1e-10)
    for season in range(3):
        for mark in range(4):
            known = [*logs[:season], logs[season][: mark + 1], *[nothing] * (2 - season)]
            assert got.log_odds[season][mark] == pytest.approx(odds(known), rel=1e-9, abs=1e-10)


def test_overwhelming_evidence_stays_finite_and_counted() -> None:
    """Far past where a chance rounds to 1, the odds still move by what was argued."""
    resident = np.where(RESIDENT, 0.0, -80.0)[None, :, None] * np.ones((1, 1, 3))
    logs = [resident, 2 * resident]
    got = combine_seasons([np.concatenate(logs)], PRIOR, np.full(3, 1 / 3), BETWEEN)
    assert np.isfinite(got.log_odds[0]).all()
    steps = np.diff(got.log_odds[0], prepend=got.prior_log_odds)
    np.testing.assert_allclose(steps, [80, 80], rtol=1e-9)
    assert got.filtered[0][RESIDENT].sum() == pytest.approx(1)


def test_one_season_alone_is_bayes() -> None:
    logs, weights = drawn(9, n_seasons=1)
    joint = PRIOR[:, None] * weights * np.exp(logs[0][-1])
    got = combine_seasons(logs, PRIOR, weights, BETWEEN)
    np.testing.assert_allclose(got.filtered[0], joint.sum(axis=1) / joint.sum(), rtol=1e-12)
    assert got.prior_log_odds == pytest.approx(
        np.log(PRIOR[RESIDENT].sum() / PRIOR[~RESIDENT].sum())
    )


def test_a_rate_that_never_drifts_is_one_rate() -> None:
    logs, weights = drawn(5)
    fixed = combine_seasons(logs, PRIOR, weights, BETWEEN)
    step = combine_seasons(logs, PRIOR, weights, BETWEEN, np.eye(3))
    np.testing.assert_allclose(fixed.filtered, step.filtered, rtol=1e-12)
    np.testing.assert_allclose(fixed.smoothed.sum(axis=1), np.tile(fixed.rate, (3, 1)), rtol=1e-9)


def test_season_evidence_is_one_pass_a_buck_and_rate() -> None:
    """Bucks and rates batched give what each alone gives, and the shapes are as told."""
    rng = np.random.default_rng(3)
    chains = pattern_chains(SeasonCalendar(), 2023, Judgement())
    n_days = len(chains.transition) + 1
    seen = rng.uniform(size=(n_days, 2)) < 0.1
    effort = rng.choice([0.0, 1.0], (n_days, 2))
    wrong = np.full((n_days, 2), 0.001)
    rates = np.array([0.05, 0.3, 2.0])
    marks = np.array([6, 200, n_days - 1])
    got = season_evidence.season_evidence(
        chains, seen, effort, rates, wrong, marks, quiet_share=0.3
    )
    assert got.log_evidence.shape == (3, K, 2, 3)
    assert got.around.shape == (n_days, K, 2, 3)
    assert ((got.around >= 0) & (got.around <= 1 + 1e-12)).all()
    for b in range(2):
        for r in range(3):
            alone = season_evidence.season_evidence(
                chains, seen[:, [b]], effort[:, [b]], rates[[r]], wrong[:, [b]], marks,
                quiet_share=0.3,
            )  # fmt: skip
            np.testing.assert_allclose(
                got.log_evidence[:, :, b, r], alone.log_evidence[:, :, 0, 0], rtol=1e-12
            )
            np.testing.assert_allclose(got.around[:, :, b, r], alone.around[:, :, 0, 0], atol=1e-12)


def test_a_quiet_fall_is_a_mixture_of_two_runs() -> None:
    """Year-round evidence and presence lie between all quiet and never quiet, as the shares say."""
    rng = np.random.default_rng(4)
    chains = pattern_chains(SeasonCalendar(), 2023, Judgement())
    n_days = len(chains.transition) + 1
    seen = rng.uniform(size=(n_days, 1)) < np.where(chains.quiet < 1, 0.05, 0.4)[:, None]
    rest = (np.ones((n_days, 1)), np.array([0.1, 0.5]), np.full((n_days, 1), 0.001))
    marks = np.array([60, n_days - 1])

    def run(share: float) -> season_evidence.SeasonEvidence:
        return season_evidence.season_evidence(chains, seen, *rest, marks, quiet_share=share)

    never, mixed, always = run(1e-12), run(0.25), run(1 - 1e-12)
    np.testing.assert_allclose(
        np.exp(mixed.log_evidence[:, YEAR_ROUND]),
        0.75 * np.exp(never.log_evidence[:, YEAR_ROUND])
        + 0.25 * np.exp(always.log_evidence[:, YEAR_ROUND]),
        rtol=1e-9,
    )
    others = np.arange(K) != YEAR_ROUND
    np.testing.assert_allclose(mixed.log_evidence[:, others], never.log_evidence[:, others])
    # He was seen like a buck of 0.5 a day all summer, and far less often after it.
    assert always.log_evidence[-1, YEAR_ROUND, 0, 1] > never.log_evidence[-1, YEAR_ROUND, 0, 1]
    ways = mixed.log_way[[YEAR_ROUND, -1]]
    np.testing.assert_allclose(np.logaddexp(*ways), mixed.log_evidence[-1, YEAR_ROUND], rtol=1e-12)
    np.testing.assert_allclose(mixed.last_states.sum(axis=-1), 1, rtol=1e-9)
    share = np.exp(ways[1] - np.logaddexp(*ways))
    np.testing.assert_allclose(
        mixed.around[:, YEAR_ROUND],
        (1 - share) * never.around[:, YEAR_ROUND] + share * always.around[:, YEAR_ROUND],
        atol=1e-9,
    )
