"""Photos into visits."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from deerlog.ingest.tags.sightings import visit_numbers

START = np.datetime64("2024-11-01T06:00", "us")


def at(*minutes: float) -> np.ndarray:
    return START + np.array([round(m * 60e6) for m in minutes], dtype="timedelta64[us]")


def sites(*names: str) -> np.ndarray:
    return np.array(names, dtype=object)


def test_a_gap_of_exactly_the_limit_is_one_visit() -> None:
    assert list(visit_numbers(sites("a", "a"), at(0, 30), 30)) == [0, 0]
    assert list(visit_numbers(sites("a", "a"), at(0, 30.001), 30)) == [0, 1]


def test_a_visit_may_be_longer_than_the_gap() -> None:
    assert list(visit_numbers(sites(*"aaaa"), at(0, 29, 58, 87), 30)) == [0, 0, 0, 0]


def test_sites_are_apart_and_input_order_is_free() -> None:
    got = visit_numbers(sites("b", "a", "a", "b"), at(1, 100, 0, 0), 30)
    assert list(got) == [2, 1, 0, 2]


def test_no_photos() -> None:
    assert len(visit_numbers(sites(), at(), 30)) == 0


@given(
    photos=st.lists(st.tuples(st.sampled_from("abc"), st.integers(0, 600)), max_size=30),
    gap=st.integers(0, 60),
    seed=st.integers(0, 99),
)
def test_same_visits_in_any_order(photos: list[tuple[str, int]], gap: int, seed: int) -> None:
    site, time = sites(*(p[0] for p in photos)), at(*(p[1] for p in photos))
    number = visit_numbers(site, time, gap)
    shuffled = np.random.default_rng(seed).permutation(len(photos))
    assert (visit_numbers(site[shuffled], time[shuffled], gap) == number[shuffled]).all()
    for i, (name, minute) in enumerate(photos):
        for j, (other, later) in enumerate(photos):
            if name != other:
                assert number[i] != number[j]
            elif abs(minute - later) <= gap:
                assert number[i] == number[j]
