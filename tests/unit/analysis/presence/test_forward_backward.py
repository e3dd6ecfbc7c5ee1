"""Passes over many days, and what a day's record says."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from deerlog.analysis.presence import forward_backward as presence

STAY = np.array([[0.9, 0.1], [0.2, 0.8]])


def emission_of(seen: bool, effort: float, wrong: float, *rates: float) -> np.ndarray:
    """(rates, 2): last axis gone, around."""
    return presence.sighting_emission(
        np.array([[seen]]), np.array([[effort]]), np.array(rates), np.array([[wrong]])
    )[0, 0]


def test_seen_and_not_seen_are_all_there_is() -> None:
    both = emission_of(True, 0.7, 0.01, 0.1, 2.0) + emission_of(False, 0.7, 0.01, 0.1, 2.0)
    np.testing.assert_allclose(both, 1, rtol=0, atol=1e-15)


def test_a_sighting_argues_for_around_and_a_blank_day_against() -> None:
    gone, around = emission_of(True, 1.0, 0.001, 0.3)[0]
    assert around > 100 * gone
    gone, around = emission_of(False, 1.0, 0.001, 0.3)[0]
    assert around < gone


def test_a_day_with_no_effort_says_nothing() -> None:
    got = emission_of(False, 0.0, 0.0, 0.1, 0.5, 3.0)
    assert (got == 1.0).all()
    # Other bucks tagged that day: still nothing about him.
    got = emission_of(False, 0.0, 0.02, 0.1, 0.5, 3.0)
    assert np.ptp(got) == 0


def test_a_tag_on_an_unwatched_day_counts_but_not_for_the_rate() -> None:
    got = emission_of(True, 0.0, 0.001, 0.05, 0.5, 3.0)
    assert (got[:, 1] == 1.0).all()
    usual = emission_of(True, 1.0, 0.001, 0.05, 0.5, 3.0)
    np.testing.assert_allclose(got[:, 0] / got[:, 1], usual[:, 0] / usual[:, 1], rtol=1e-12)


def test_a_small_chance_keeps_its_digits() -> None:
    # Seven times the usual cameras, seen six times a day: exp(-42) is 5.7e-19, below 1 - 1.
    around = emission_of(False, 7.0, 0.0, 6.0)[0, 1]
    assert around == pytest.approx(np.exp(-42.0), rel=1e-12)
    gone = emission_of(True, 1.0, 1e-12, 1.0)[0, 0]
    assert gone == pytest.approx(1e-12, rel=1e-9)


def test_no_underflow_over_a_thousand_days() -> None:
    n = 1000
    emission = np.full((n, 1, 2), 1e-8)
    transition = np.broadcast_to(STAY, (n - 1, 1, 2, 2))
    passed = presence.forward(np.array([[0.5, 0.5]]), transition, emission)
    assert passed.log_evidence[-1, 0, 0] == pytest.approx(n * np.log(1e-8), rel=1e-12)
    smoothed = presence.smooth(transition, emission, passed)
    np.testing.assert_allclose(smoothed.sum(axis=-1), 1, rtol=0, atol=1e-12)


def test_an_impossible_record_has_no_evidence_and_says_so() -> None:
    emission = np.ones((4, 1, 2))
    emission[1] = 0.0
    transition = np.broadcast_to(STAY, (3, 1, 2, 2))
    passed = presence.forward(np.array([[0.5, 0.5]]), transition, emission)
    assert passed.log_evidence[0, 0, 0] == 0
    assert (passed.log_evidence[1:, 0, 0] == -np.inf).all()
    assert not np.isnan(presence.smooth(transition, emission, passed)).any()


def test_one_day() -> None:
    emission = np.array([[[0.2, 0.6]]])
    none = np.empty((0, 1, 2, 2))
    passed = presence.forward(np.array([[0.5, 0.5]]), none, emission)
    assert passed.log_evidence[0, 0, 0] == pytest.approx(np.log(0.4))
    assert presence.smooth(none, emission, passed)[0, 0, 0, 1] == pytest.approx(0.75)


@given(seed=st.integers(0, 10**6), pad=st.integers(1, 30))
def test_days_that_say_nothing_change_nothing_before_them(seed: int, pad: int) -> None:
    rng = np.random.default_rng(seed)
    n, k, s = int(rng.integers(1, 12)), 2, 3
    start = rng.dirichlet(np.ones(s), k)
    transition = rng.dirichlet(np.ones(s), (n + pad - 1, k, s))
    emission = np.ones((n + pad, 2, s))
    emission[:n] = rng.uniform(0.01, 1, (n, 2, s))
    short = presence.forward(start, transition[: n - 1], emission[:n])
    long = presence.forward(start, transition, emission)
    np.testing.assert_allclose(long.log_evidence[-1], short.log_evidence[-1], atol=1e-12)
    np.testing.assert_allclose(
        presence.smooth(transition, emission, long)[:n],
        presence.smooth(transition[: n - 1], emission[:n], short),
        atol=1e-12,
    )


@given(seed=st.integers(0, 10**6))
def test_series_and_chains_do_not_mix(seed: int) -> None:
    """A batch gives what one chain and one series at a time give."""
    rng = np.random.default_rng(seed)
    start = rng.dirichlet(np.ones(3), 2)
    transition = rng.dirichlet(np.ones(3), (5, 2, 3))
    emission = rng.uniform(0, 1, (6, 4, 3))
    passed = presence.forward(start, transition, emission)
    smoothed = presence.smooth(transition, emission, passed)
    for k in range(2):
        for i in range(4):
            one = presence.forward(start[[k]], transition[:, [k]], emission[:, [i]])
            np.testing.assert_allclose(
                passed.log_evidence[:, k, i], one.log_evidence[:, 0, 0], atol=1e-12
            )
            alone = presence.smooth(transition[:, [k]], emission[:, [i]], one)
            np.testing.assert_allclose(smoothed[:, k, i], alone[:, 0, 0], atol=1e-12)
