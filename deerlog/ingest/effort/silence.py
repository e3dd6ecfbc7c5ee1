"""Silences longer than a camera's own rate of photos makes believable.

How unevenly its deer come is measured too, and how likely it is then that none comes for days.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

# --- What is fixed by judgement, with its reason ------------------------------------------------
BELIEVABLE = 1e-3
"""A gap less probable than this under the camera's own local rate is a silence. Our choice."""
NEIGHBOUR_DAYS = 30.0
"""How far to each side the local rate is taken from. Our choice: a rate that changes threefold
between summer and winter moves by a fifth over it, and 2 photos a day give 60 events a side."""
OWN_SIDE_DAYS = 14.0
"""A side with at least this much running time must find the gap hard to believe by itself too, so
that a site gone cold is not called a dead camera. Our choice: two weeks, a card-pull interval."""
OWN_SIDE_LENIENCE = 3.0
"""How many times likelier than `BELIEVABLE` a gap may be by one side alone, which knows the rate
from half the days. Our choice, by simulation: without it one outage in ten more is missed on a
camera with a visit a day; at ten times, 1.8 % of running days (here 1.4 %) are called silent where
deer come in long spells."""
SHORTEST_DAYS = 2.0
"""Shorter gaps are never called silent. Our choice: a day without deer is ordinary anywhere."""
FEWEST_EVENTS = 8
"""Events nearby below which a rate is not known well enough to judge by. Our choice."""
CLUSTER_MINUTES = 60.0
"""Events closer than this are one: photos of one group of deer are no independent proof that the
next would come. Our choice, twice the usual gap between visits."""
NIGHT_DAYS = 0.5
"""Taken off each gap: deer that move by night leave half of each day empty. Our choice."""

AT_CHECK_DAYS = 0.5
"""A first photo so soon before a card was changed is of whoever changed it. Our choice: the walk of
an afternoon."""
_DAY = np.timedelta64(1, "D")
CLUMP_SCALES = (1, 3, 5)
"""Block lengths in days at which clumping is measured; the worst counts. Our choice: a group of
does that stays a few nights, a spell of weather. Longer blocks are too few to measure anything, and
blocks of at most three days call over 2 % of running days silent where deer come in spells."""
CLUMP_PRIOR = (1.2, 10)
"""The clumping taken for granted before any data, and how many pairs of blocks it weighs. Our
choice: with few days a camera cannot show how unevenly its deer come."""


@dataclass(frozen=True)
class SilentStretch:
    """A stretch in which a camera very probably did not run.

    ``start``, ``end``: likely bounds of the outage, half-open, UTC (naive ``datetime64[us]``): a
    camera runs on for about its usual waiting time after its last photo, and as long before its
    next one, unless someone was there to start it again: that photo is then the evidence of it.
    ``last_event``, ``first_event``: the events around the gap; NaT at the start or the end of the
    placement. ``expected_events``: those the local rate would have given during the gap (photos
    within an hour are one). ``log10_p``: common logarithm of the probability of a gap this long
    while the camera runs, by the rate on both sides of it.
    """

    start: np.datetime64
    end: np.datetime64
    last_event: np.datetime64
    first_event: np.datetime64
    expected_events: float
    log10_p: float


class _Gap(NamedTuple):
    """A gap in days since the start of a placement; whether an event bounds it, on either side."""

    left: float
    right: float
    bounded: tuple[bool, bool]


class _Judged(NamedTuple):
    log_p: float  # by both sides together
    log_p_deciding: float  # by the side that finds it likeliest, where a side says more
    expected_events: float
    rate: float  # of clumps, a day


def silent_stretches(
    event_times: npt.NDArray[np.datetime64],
    start: np.datetime64,
    end: np.datetime64,
    *,
    checks: npt.NDArray[np.datetime64] | None = None,
    believable: float = BELIEVABLE,
) -> list[SilentStretch]:
    """The gaps of one placement that its own local rate makes unbelievable, in order of time.

    The rate is that of the days around the gap, without the gap itself and without other silences
    (found in turn, so that a camera which died twice does not hide one outage behind the other).
    Deer come unevenly, so the counts are taken as negative binomial with a clumping (variance
    over mean) measured on the same camera; the rate's own uncertainty is integrated out. The gap
    before the first event and the one after the last are judged in the same way, by one side.
    Empty where there are too few events to know a rate: not enough to tell.

    ``event_times``: instants of photos or starts of visits of any kind at one placement, shape
    (n,), UTC (naive ``datetime64``), any order; those outside ``[start, end)``, the time for which
    the camera is supposed to have run, and NaT are not used. ``checks``: instants at which someone
    was at the camera (the first photo of each card). ``believable``: probability below which a gap
    is a silence. ValueError if ``end`` is before ``start``.
    """
    first = start.astype("datetime64[us]")
    span = float((end - first) / _DAY)
    if span < 0:
        raise ValueError(f"a placement that ends ({end}) before it starts ({start})")
    every = np.sort((np.asarray(event_times, dtype="datetime64[us]") - first) / _DAY)
    every = every[(every >= 0) & (every < span)]
    events = _separate(every)
    if len(events) < FEWEST_EVENTS:
        return []
    candidates = _candidates(every, span)
    silent: dict[int, _Judged] = {}
    for _ in range(len(candidates) + 1):
        known = {i: candidates[i] for i in silent}
        found: dict[int, _Judged] = {}
        for i, gap in enumerate(candidates):
            others = [g for k, g in known.items() if k != i]
            judged = _judge(gap, others, events, span)
            if judged and (judged.log_p_deciding < math.log(believable) or i in silent):
                found[i] = judged
        done = found.keys() == silent.keys()
        silent = found
        if done:
            break
    at = np.asarray([] if checks is None else checks, dtype="datetime64[us]")
    visited = (at - first) / _DAY
    return [_stretch(candidates[i], silent[i], first, visited) for i in sorted(silent)]


def _separate(every: Floats) -> Floats:
    """The events that count: each the first that is CLUSTER_MINUTES after the one before it.

    Measured from the last event that counted, so that a busy feeder with a photo each ten minutes
    all day gives one event an hour and not one a week.
    """
    after = np.searchsorted(every, every + CLUSTER_MINUTES / 1440.0, side="right").tolist()
    kept, i = [], 0
    while i < len(after):
        kept.append(i)
        i = after[i]
    return every[kept]


def _candidates(every: Floats, span: float) -> list[_Gap]:
    """The gaps long enough to be looked at."""
    edges = np.concatenate(([0.0], every, [span])).tolist()
    return [
        _Gap(left, right, (i > 0, i < len(every)))
        for i, (left, right) in enumerate(pairwise(edges))
        if right - left >= SHORTEST_DAYS
    ]


def _judge(gap: _Gap, others: list[_Gap], events: Floats, span: float) -> _Judged | None:
    """How likely a gap is while the camera runs; None if too little is known, or it is likely."""
    sides = [
        _window(gap.right if way > 0 else gap.left, way, others, events, span) for way in (-1, 1)
    ]
    n, running = sides[0][0] + sides[1][0], sides[0][1] + sides[1][1]
    if n < FEWEST_EVENTS:
        return None
    length = gap.right - gap.left - NIGHT_DAYS
    # Cheap first: what even clump-free events would not make unlikely, clumped ones will not.
    if log_p_empty(n, running, length, 1.0) > math.log(0.05):
        return None
    clump = clumping([(g.left, g.right) for g in [gap, *others]], events, span)
    log_p = deciding = log_p_empty(n, running, length, clump)
    for n_side, running_side in sides:
        if running_side >= OWN_SIDE_DAYS:
            own = log_p_empty(n_side, running_side, length, clump)
            deciding = max(deciding, own - math.log(OWN_SIDE_LENIENCE))
    rate = n / running
    return _Judged(log_p, deciding, rate * (gap.right - gap.left), rate * onsets(clump))


def _window(
    edge: float, way: int, others: list[_Gap], events: Floats, span: float
) -> tuple[int, float]:
    """Events and running days within NEIGHBOUR_DAYS of running time on one side of a gap.

    ``way`` is -1 before it and 1 after it. Other silences are stepped over, not counted; the event
    at the edge itself is left out, since it is there by the gap's definition.
    """
    reach, left = edge, NEIGHBOUR_DAYS
    limit = 0.0 if way < 0 else span
    stops = sorted(((g.left, g.right)[::way] for g in others), key=lambda stop: way * stop[0])
    n, running = 0, 0.0
    for near, far in [*stops, (limit, limit)]:
        if way * near < way * reach:
            continue
        until = reach + way * min(left, abs(near - reach))
        low, high = sorted((reach, until))
        n += int(np.searchsorted(events, high, "left") - np.searchsorted(events, low, "right"))
        running += high - low
        left -= high - low
        if left <= 0:
            break
        reach = far
    return n, running


def _stretch(gap: _Gap, judged: _Judged, first: np.datetime64, visited: Floats) -> SilentStretch:
    """The outage in a gap: its ends as camera-days are right on average."""
    # How long it is from a photo to the failure is exponential, and averages one waiting time.
    # Never more than a quarter of the gap, which must stay mostly inside its own bounds.
    wait = min(1.0 / judged.rate, (gap.right - gap.left) / 4.0)
    restarted = bool(((visited > gap.left) & (visited <= gap.right + AT_CHECK_DAYS)).any())

    def at(day: float) -> np.datetime64:
        instant: np.datetime64 = first + np.timedelta64(round(day * 86_400e6), "us")
        return instant

    nat = np.datetime64("NaT", "us")
    return SilentStretch(
        start=at(gap.left + (wait if gap.bounded[0] else 0.0)),
        end=at(gap.right - (wait if gap.bounded[1] and not restarted else 0.0)),
        last_event=at(gap.left) if gap.bounded[0] else nat,
        first_event=at(gap.right) if gap.bounded[1] else nat,
        expected_events=judged.expected_events,
        log10_p=judged.log_p / math.log(10.0),
    )


def log_p_empty(n: int, running: float, length: float, clump: float) -> float:
    """Natural log of the probability of no event in ``length`` days, the rate integrated out.

    Negative binomial counts of mean m and variance clump x m are empty with probability
    clump ** (-m / (clump - 1)); the rate has a gamma posterior worth n / clump independent events
    (half an event added: Jeffreys' prior).
    """
    if running <= 0 or length <= 0:
        return 0.0
    return -(n / clump + 0.5) * math.log1p(onsets(clump) * length * clump / running)


def onsets(clump: float) -> float:
    """Clumps an event stands for: negative binomial counts of mean m are empty with exp(-m x)."""
    return 1.0 if clump - 1.0 < 1e-6 else math.log(clump) / (clump - 1.0)


def clumping(gaps: Sequence[tuple[float, float]], events: Floats, span: float) -> float:
    """Variance over mean of the camera's counts, at its worst scale, at least 1.

    From differences of successive blocks, so that a slow seasonal change does not count as
    clumping. All in days since the start of the placement: ``gaps``, the ends of those in question
    (blocks that touch one are left out); ``events``, sorted, shape (n,); ``span``, its length.
    """
    prior, weight = CLUMP_PRIOR
    worst = 1.0
    for scale in CLUMP_SCALES:
        n_blocks = int(span // scale)
        if n_blocks < 2:
            continue
        edges = np.arange(n_blocks + 1) * float(scale)
        counts = np.diff(np.searchsorted(events, edges)).astype(np.float64)
        usable = np.ones(n_blocks, dtype=bool)
        for left, right in gaps:
            usable &= (edges[1:] <= left) | (edges[:-1] >= right)
        pair = usable[1:] & usable[:-1]
        n_pairs = int(pair.sum())
        mean = float(counts[usable].mean()) if usable.any() else 0.0
        if mean <= 0:
            continue
        variance = 0.5 * float(np.square(np.diff(counts)[pair]).mean()) if n_pairs else 0.0
        own = variance / mean
        worst = max(worst, (weight * prior + n_pairs * own) / (weight + n_pairs))
    return worst
