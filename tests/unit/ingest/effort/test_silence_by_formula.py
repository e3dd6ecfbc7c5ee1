"""Silences against the formulas they stand on, worked out in another way."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from scipy.integrate import quad
from scipy.stats import gamma, nbinom, poisson

from deerlog.errors import Problem
from deerlog.ingest.effort.effort import Effort, silence_problems
from deerlog.ingest.effort.silence import (
    SilentStretch,
    clumping,
    log_p_empty,
    onsets,
    silent_stretches,
)

START = np.datetime64("2024-06-01T00:00", "us")


def at(days: object) -> np.ndarray:
    return START + np.round(np.asarray(days, dtype=float) * 86_400e6).astype("timedelta64[us]")


def day_of(instant: np.datetime64) -> float:
    return float((instant - START) / np.timedelta64(1, "D"))


@pytest.mark.parametrize(
    ("n", "running", "length", "clump"),
    [(9, 30.0, 4.0, 1.0), (9, 30.0, 4.0, 2.5), (3, 12.0, 9.0, 1.3), (0, 5.0, 2.0, 4.0)],
)
def test_the_chance_of_no_event_is_that_of_counts_with_an_unknown_rate(
    n: int, running: float, length: float, clump: float
) -> None:
    """Negative binomial counts, their rate gamma as after n / clump independent events."""

    def empty(rate: float) -> float:
        mean = rate * length
        if clump == 1.0:
            return float(poisson.pmf(0, mean))
        return float(nbinom.pmf(0, mean / (clump - 1), 1 / clump))  # variance: clump times mean

    known = gamma(n / clump + 0.5, scale=clump / running)
    top = known.ppf(1 - 1e-12)
    wanted, _ = quad(lambda rate: empty(rate) * known.pdf(rate), 0, top, limit=200)
    assert log_p_empty(n, running, length, clump) == pytest.approx(math.log(wanted), rel=1e-4)
    assert log_p_empty(n, 0.0, length, clump) == log_p_empty(n, running, 0.0, clump) == 0.0
    assert log_p_empty(n, running, 1e-3, clump) < 0 and log_p_empty(n, 1e-3, length, clump) < 0


def test_clumps_without_clumping_are_events() -> None:
    assert onsets(1.0) == 1.0
    assert onsets(1 + 1e-4) == pytest.approx(1.0, abs=1e-4)
    assert onsets(1 + 1e-5) < 1.0
    # Negative binomial counts of mean m and variance c m are empty as often as m x onsets clumps.
    assert nbinom.pmf(0, 3 / 1.5, 1 / 2.5) == pytest.approx(math.exp(-3 * onsets(2.5)))


def clumping_by_hand(gaps: list[tuple[float, float]], events: np.ndarray, span: float) -> float:
    worst = 1.0
    for days in (1, 3, 5):
        blocks = [(days * k, days * (k + 1)) for k in range(int(span // days))]
        counts = {
            block: ((events >= block[0]) & (events < block[1])).sum()
            for block in blocks
            if all(block[1] <= left or block[0] >= right for left, right in gaps)
        }
        pairs = [(a, b) for a, b in pairwise(blocks) if {a, b} <= counts.keys()]
        if len(blocks) < 2 or not sum(counts.values()):
            continue
        half = [(float(counts[b]) - float(counts[a])) ** 2 / 2 for a, b in pairs]
        mean = sum(counts.values()) / len(counts)
        own = sum(half) / len(pairs) / mean if pairs else 0.0
        # Ten pairs' worth of 1.2 before any data.
        worst = max(worst, (10 * 1.2 + len(pairs) * own) / (10 + len(pairs)))
    return worst


@pytest.mark.parametrize("seed", range(6))
def test_clumping_is_half_the_squared_differences_of_blocks_over_their_mean(seed: int) -> None:
    rng = np.random.default_rng(seed)
    span = float(rng.choice([2.5, 9.0, 40.3]))
    spells = rng.uniform(0, span, 6)
    events = np.sort(
        np.clip(spells[rng.integers(0, 6, 60)] + rng.normal(0, 0.4, 60), 0, span - 0.01)
    )
    for gaps in ([], [(0.3 * span, 0.4 * span)], [(0.0, 3.0), (6.0, 9.0)]):
        wanted = clumping_by_hand(gaps, events, span)
        assert clumping(gaps, events, span) == pytest.approx(wanted)
        assert wanted >= 1
    assert clumping([(0.0, span)], events, span) == 1.0


def judged_by_hand(
    gap: tuple[float, float], others: list[tuple[float, float]], events: np.ndarray, span: float
) -> tuple[float, float, float, float]:
    """Log probability by both sides and by the one that decides, events expected, clump rate."""

    def ran(day: float) -> float:
        """Days run until then: the other silences are cut out of time."""
        return day - sum(min(max(day - left, 0.0), right - left) for left, right in others)

    edges = [edge for pair in [gap, *others] for edge in pair]
    inside = np.array([ran(day) for day in events if day not in edges])
    before = min(30.0, ran(gap[0]) - ran(0.0))
    after = min(30.0, ran(span) - ran(gap[1]))
    n_before = int(((inside > ran(gap[0]) - before) & (inside < ran(gap[0]))).sum())
    n_after = int(((inside > ran(gap[1])) & (inside < ran(gap[1]) + after)).sum())
    length = gap[1] - gap[0] - 0.5
    clump = clumping([gap, *others], events, span)
    n, running = n_before + n_after, before + after
    log_p = deciding = log_p_empty(n, running, length, clump)
    for n_side, days in ((n_before, before), (n_after, after)):
        if days >= 14:
            own = log_p_empty(n_side, days, length, clump) - math.log(3)
            deciding = max(deciding, own)
    return log_p, deciding, n / running * (gap[1] - gap[0]), n / running * onsets(clump)


def record(pieces: list[tuple[float, float, float]], seed: int) -> np.ndarray:
    """Events in stretches of (from, to, a day), some minutes off an even spacing."""
    rng = np.random.default_rng(seed)
    parts = [np.arange(a + 0.1, b, 1 / n) + rng.uniform(0, 0.05, len(np.arange(a + 0.1, b, 1 / n)))
             for a, b, n in pieces]  # fmt: skip
    return np.round(np.concatenate(parts) * 86_400) / 86_400  # whole seconds


def gap_of(found: SilentStretch, span: float) -> tuple[float, float]:
    left = 0.0 if np.isnat(found.last_event) else day_of(found.last_event)
    return left, span if np.isnat(found.first_event) else day_of(found.first_event)


@pytest.mark.parametrize(
    ("pieces", "span", "n_found"),
    [
        ([(0, 50, 3), (60, 110, 2)], 110.0, 1),
        ([(0, 20, 2), (32, 45, 3)], 45.0, 1),  # less than thirty days on either side
        ([(0, 40, 1), (65, 100, 1)], 100.0, 1),
        ([(0, 40, 0.7), (75, 120, 0.7)], 120.0, 1),
        ([(0, 70, 0.3), (130, 200, 0.3)], 200.0, 1),
        ([(12, 60, 2)], 60.0, 1),
        ([(0, 48, 2)], 60.0, 1),
        ([(0, 30, 2), (44, 48, 2), (61, 90, 3)], 90.0, 2),
        ([(0, 20, 2), (34, 52, 3), (70, 75, 3), (90, 99, 2)], 99.0, 3),
    ],
)
def test_each_silence_with_its_chance_and_its_bounds(
    pieces: list[tuple[float, float, float]], span: float, n_found: int
) -> None:
    events = record(pieces, seed=len(pieces))
    found = silent_stretches(at(events), START, at(span))
    assert len(found) == n_found
    gaps = [gap_of(silence, span) for silence in found]
    for silence, gap in zip(found, gaps, strict=True):
        others = [other for other in gaps if other != gap]
        log_p, deciding, expected, rate = judged_by_hand(gap, others, events, span)
        assert silence.log10_p == pytest.approx(log_p / math.log(10), rel=1e-6)
        assert silence.expected_events == pytest.approx(expected, rel=1e-6)
        assert deciding < math.log(1e-3)
        # A camera runs on for 1 / rate on average.
        wait = min(1 / rate, (gap[1] - gap[0]) / 4)
        start = gap[0] if np.isnat(silence.last_event) else gap[0] + wait
        end = gap[1] if np.isnat(silence.first_event) else gap[1] - wait
        assert (day_of(silence.start), day_of(silence.end)) == pytest.approx((start, end), abs=1e-6)
        assert (silence.end - silence.start) / np.timedelta64(1, "D") == pytest.approx(
            end - start, abs=1e-6
        )


def test_a_silence_is_what_the_side_that_finds_it_likeliest_does_not_believe() -> None:
    """Gaps of growing length between a busy and a slower half: judged as by hand, one by one."""
    told = []
    for gap_days in np.arange(2.5, 9.0, 0.5):
        events = record([(0, 40, 3), (40 + gap_days, 80, 0.9)], seed=3)
        found = silent_stretches(at(events), START, at(80))
        left, right = events[events < 40].max(), events[events > 40].min()
        both, deciding, _, _ = judged_by_hand((left, right), [], events, 80.0)
        assert bool(found) == (deciding < math.log(1e-3))
        told.append((bool(found), both < math.log(1e-3)))
    assert {(True, True), (False, True), (False, False)} == set(told)


def test_the_shortest_silence_has_two_days_and_the_fewest_events_are_eight() -> None:
    busy = np.concatenate((np.arange(0, 20, 1 / 23), np.arange(0, 20, 1 / 23) + 20 + 2 - 1 / 23))
    busy = busy[busy < 40]
    left = busy[busy < 20].max()
    for right, n_found in ((left + 2.0, 1), (left + 2.0 - 1 / 1440, 0)):
        events = np.concatenate((busy[busy < 20], busy[busy > 20] - busy[busy > 20].min() + right))
        assert len(silent_stretches(at(events), START, at(events.max() + 0.01))) == n_found
    # Eight events an hour and more apart, then nothing for months. The last is the gap's own edge.
    for n, n_found in ((9, 1), (8, 0)):
        assert len(silent_stretches(at(0.1 + np.arange(n) * 0.5), START, at(100))) == n_found


def test_events_within_an_hour_are_one() -> None:
    def expected(minutes: float) -> float:
        pairs = np.arange(0.25, 40, 1.0)[:, None] + [0, minutes / 1440]
        (tail,) = silent_stretches(at(pairs.ravel()), START, at(80))
        return tail.expected_events

    assert expected(61) == pytest.approx(2 * expected(60), rel=0.05)
    # Counted from the last that counted: of a photo each 25 minutes every third is an event.
    every = np.arange(0, 10, 25 / 1440)
    (tail,) = silent_stretches(at(every), START, at(20))
    assert tail.expected_events == pytest.approx(10.0 * 86_400 / (75 * 60), rel=0.01)


def told(*, last: str = "2024-12-31", seen: pd.DataFrame) -> list[Problem]:
    """What is said of one silence, the record ending on a day."""
    start, end = pd.Timestamp("2024-10-01 06:00"), pd.Timestamp("2024-10-11 18:00")
    found = {"camera": ["Seep"], "site": ["Creek"], "start": [start], "end": [end]}
    silences = pd.DataFrame(found | {"expected_visits": [20.4]})
    days = pd.DataFrame({"day": [pd.Timestamp(last)]})
    none = pd.DataFrame()
    return [*silence_problems(Effort(days, none, none, silences, silences.iloc[:0]), seen)]


def sightings(*rows: tuple[str, str, str]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["buck", "site", "local"])
    return table.assign(local=pd.to_datetime(table["local"]).dt.tz_localize("America/Chicago"))


def test_whoever_was_there_a_month_before_or_after_is_touched() -> None:
    (problem,) = told(
        seen=sightings(
            ("Oak", "Creek", "2024-09-01 06:00"), ("Early", "Creek", "2024-09-01 05:59"),
            ("Ash", "Creek", "2024-11-10 17:59"), ("Late", "Creek", "2024-11-10 18:00"),
            ("Else", "Ridge", "2024-10-05 12:00"),
        ),
    )  # fmt: skip
    assert problem.bucks == ("Ash", "Oak")
    assert (problem.harm, problem.camera, problem.paste) == (
        20.0, "Seep", "Seep,2024-10-01,2024-10-11,running",
    )  # fmt: skip
    assert "from 2024-10-01 to 2024-10-11 (10 days)" in problem.why
    assert "about 20 visits, so it is very unlikely" in problem.why


@pytest.mark.parametrize(("last", "lately"), [("2024-10-25", True), ("2024-10-26", False)])
def test_what_ended_in_the_last_fortnight_is_news(last: str, lately: bool) -> None:
    (problem,) = told(last=last, seen=sightings())
    assert problem.lately is lately


def test_a_photo_at_the_very_start_is_one_and_at_the_very_end_none() -> None:
    later = np.concatenate(([0.0], np.arange(20.25, 80, 0.5)))
    (head,) = silent_stretches(at(later), START, at(80))
    assert head.last_event == START
    (tail,) = silent_stretches(at(np.concatenate((later[1:] - 20, [80.0]))), START, at(80))
    assert np.isnat(tail.first_event)
