"""The model of looks, cut into blocks and priors, against what its words say."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from deerlog.ingest.clocks import look_model
from deerlog.ingest.clocks.light_faults import _known_look, _one_a_moment, light_faults
from deerlog.ingest.clocks.look_model import (
    BLUR_DEG,
    MISLABELS,
    SHIFTS_MINUTES,
    THRESHOLD_DEG,
    Looks,
    log_likelihood,
    log_likelihood_stuck,
    possible_cameras,
)
from deerlog.ingest.clocks.shift_path import (
    N_SHIFTS,
    P_AFTER_CHANGE,
    P_START,
    SMALL_SHIFTS,
    USUAL_FAULTS,
    WHOLE_HOURS,
    clock_nights,
    record_blocks,
    shift_prior,
)

ZONE = "America/New_York"
NO_CHANGES = "America/Phoenix"
CAMERAS = possible_cameras()


def every(hours: float, first: str, n: int) -> np.ndarray:
    step = np.timedelta64(round(hours * 3600), "s")
    return np.datetime64(first, "us") + np.arange(n) * step


def test_shifts_cover_the_day_once() -> None:
    assert sorted(SHIFTS_MINUTES % 1440) == list(range(0, 1440, 10))
    assert SHIFTS_MINUTES.max() == 720 and SHIFTS_MINUTES.min() == -710


@pytest.mark.parametrize("right_and_stuck", [P_START, P_AFTER_CHANGE])
def test_the_prior_of_shifts_is_the_stated_one(right_and_stuck: tuple[float, float]) -> None:
    right, stuck = right_and_stuck
    prior = shift_prior(right_and_stuck)
    of = dict(zip(SHIFTS_MINUTES.tolist(), prior, strict=False))
    assert sum(SMALL_SHIFTS.values()) == pytest.approx(1)
    assert sum(of[shift] for shift in SMALL_SHIFTS) == pytest.approx(right)
    assert of[0] == pytest.approx(right * SMALL_SHIFTS[0]) and of[0] > 3 * of[10]
    assert prior[N_SHIFTS:] == pytest.approx([stuck / 2] * 2)
    fault = 1 - right - stuck
    # Each way is as likely, a usual fault likelier than another whole hour, that than any other.
    for shift in (10, 20, 30, 60, 120, 180, 240, 250, 600, 710):
        assert of[shift] == pytest.approx(of[-shift])
    for usual, less in ((60, 30), (720, 30), (30, 120), (120, 240), (240, 250)):
        assert of[usual] > of[less]
    assert of[130] == pytest.approx(of[40]) == pytest.approx(of[-700])
    left_over = 1 - sum(USUAL_FAULTS.values()) - WHOLE_HOURS
    hours = [h for h in range(-660, 720, 60) if h and h not in USUAL_FAULTS]
    others = left_over / (len(SHIFTS_MINUTES) - len(SMALL_SHIFTS))
    assert of[250] == pytest.approx(fault * others)
    assert of[240] == pytest.approx(fault * (others + WHOLE_HOURS / len(hours)))
    assert of[60] == pytest.approx(fault * (others + USUAL_FAULTS[60]))


def test_the_prior_of_cameras_is_the_stated_one() -> None:
    weight = np.exp(CAMERAS.log_prior)
    mean = weight @ CAMERAS.threshold_deg
    sd = np.sqrt(weight @ (CAMERAS.threshold_deg - mean) ** 2)
    assert (mean, sd) == pytest.approx(THRESHOLD_DEG, abs=0.15)
    # Open fields at 5 degrees below, closed canopy at 8 above: both well within.
    assert weight[CAMERAS.threshold_deg <= -4].sum() > 0.15
    assert weight[CAMERAS.threshold_deg >= 8].sum() > 0.02
    assert sum(prior for _, prior in MISLABELS) == pytest.approx(1)
    for share, prior in MISLABELS:
        assert weight[CAMERAS.mislabel == share].sum() == pytest.approx(prior)
        assert 0 < share < 0.5
    for blur in BLUR_DEG:
        assert weight[CAMERAS.blur_deg == blur].sum() == pytest.approx(1 / len(BLUR_DEG))


@pytest.mark.parametrize("g", [0, 31, 77])
def test_the_change_over_has_its_threshold_width_and_wrong_looks(g: int) -> None:
    threshold, blur = CAMERAS.threshold_deg[g], CAMERAS.blur_deg[g]
    wrong = CAMERAS.mislabel[g]

    def p(height: float) -> float:
        return float(CAMERAS.p_coloured([height])[0, g])

    assert p(threshold) == pytest.approx(0.5)
    assert (p(-90), p(90)) == pytest.approx((wrong, 1 - wrong), abs=1e-9)

    def slope(height: float) -> float:
        return (p(height + 1e-3) - p(height - 1e-3)) / 2e-3 / (1 - 2 * wrong)

    reach = threshold - 12 * blur, threshold + 12 * blur
    variance, _ = quad(lambda h: (h - threshold) ** 2 * slope(h), *reach, limit=200)
    assert np.sqrt(variance) == pytest.approx(blur, rel=1e-3)


def looks(sines: np.ndarray, coloured: np.ndarray) -> Looks:
    """Under a sun that stands still, so that every shift is alike."""
    none = np.zeros(len(sines))
    return Looks(every(1, "2024-01-01", len(sines)), coloured, sines, none, none)


def test_looks_in_the_middle_of_a_class_are_counted_exactly() -> None:
    rng = np.random.default_rng(2)
    classes = rng.integers(0, look_model._N_BINS, 60)
    sines = -0.4375 + (classes + 0.5) * 0.0175
    coloured = rng.random(60) < 0.5
    block = np.sort(rng.integers(0, 3, 60))
    p = CAMERAS.p_coloured(np.degrees(np.arcsin(sines)))
    each = np.log(np.where(coloured[:, None], p, 1 - p))
    wanted = np.array([each[block == b].sum(axis=0) for b in range(3)])
    got = log_likelihood(looks(sines, coloured), block, 3, CAMERAS, [0, 60])
    np.testing.assert_allclose(got, np.stack([wanted, wanted], axis=1), rtol=1e-9)


def test_beyond_the_last_class_nothing_changes_and_many_looks_are_so_many_times_one() -> None:
    low, high, top = -0.95, 0.42, 0.99  # 25 degrees up is as good as any day
    one = log_likelihood(looks(np.array([low, high, top]), np.array([False, True, True])),
                         np.array([0, 1, 2]), 3, CAMERAS, [0])  # fmt: skip
    np.testing.assert_allclose(one[1], one[2], atol=2e-3)
    assert (one[0] > -0.35).all(), "grey in the middle of the night"
    n = 20_000  # more than are counted at a time
    many = log_likelihood(
        looks(np.full(n, 0.0), np.arange(n) % 2 == 0), np.zeros(n, np.int64), 1, CAMERAS, [0]
    )
    two = log_likelihood(
        looks(np.zeros(2), np.array([True, False])), np.zeros(2, np.int64), 1, CAMERAS, [0]
    )
    np.testing.assert_allclose(many, two * n / 2)


def test_a_stuck_picture_is_wrong_one_time_in_fifty() -> None:
    coloured = np.array([True, True, False, True, False])
    block = np.array([0, 0, 0, 1, 1])
    got = log_likelihood_stuck(looks(np.zeros(5), coloured), block, 2)
    right, wrong = np.log(0.98), np.log(0.02)
    wanted = [[right + 2 * wrong, 2 * right + wrong], [right + wrong, right + wrong]]
    np.testing.assert_allclose(got, wanted)


def test_three_days_without_a_look_are_a_break_and_so_is_a_visit_to_the_camera() -> None:
    three_days = np.timedelta64(3, "D")
    first = every(6, "2023-07-01", 20)
    for gap, cause in ((three_days, "break"), (three_days - np.timedelta64(1, "s"), "unknown")):
        times = np.concatenate([first, first - first[0] + first[-1] + gap])
        blocks = record_blocks(times, ZONE, None)
        assert blocks.cause[20] == cause
        assert (blocks.cause == "break").sum() == (cause == "break")
    # A card's first photo is where it was changed: that very look is the first after it.
    checks = np.array([first[7], "NaT", first[12] - np.timedelta64(1, "s")], dtype="datetime64[us]")
    blocks = record_blocks(first, ZONE, checks)
    assert np.flatnonzero(blocks.cause == "break").tolist() == [7, 12]
    assert (np.diff(blocks.block)[[6, 11]] == 1).all()


@pytest.mark.parametrize(
    ("hours", "n", "n_blocks"),
    [
        (6, 2000, 64),  # as many as there are at most
        (6, 100, 12),  # eight looks each
        (1, 48, 2),  # of a day at least
        (0.5, 7, 1),
    ],
)
def test_blocks_are_even_and_neither_too_many_nor_too_short(
    hours: float, n: int, n_blocks: int
) -> None:
    times = every(hours, "2023-06-01", n)
    blocks = record_blocks(times, NO_CHANGES, None)
    # The very last look may begin one more.
    assert blocks.n_blocks in (n_blocks, n_blocks + 1)
    sizes = np.bincount(blocks.block)[:n_blocks]
    assert sizes.max() - sizes.min() <= 1
    assert len(blocks.p_change) == blocks.n_blocks - 1


def test_a_gap_over_two_clock_nights_leaves_local_time_where_it_was() -> None:
    fall, spring = every(6, "2023-10-20", 12), every(6, "2024-04-01", 12)
    blocks = record_blocks(np.concatenate([fall, spring]), ZONE, None)
    assert np.flatnonzero(blocks.cause == "clock change").tolist() == [12]
    assert blocks.clock_night_minutes[blocks.block[12] - 1] == 0
    one = record_blocks(np.concatenate([fall, every(6, "2024-01-01", 12)]), ZONE, None)
    assert one.clock_night_minutes[one.block[12] - 1] == -60
    assert one.nights[0] == np.datetime64("2023-11-05T06:00")


def test_a_zone_that_moves_by_half_an_hour() -> None:
    """Lord Howe Island (IANA): half an hour, in the other season."""
    nights, moved = clock_nights(
        np.datetime64("2024-01-01", "us"), np.datetime64("2024-12-31", "us"), "Australia/Lord_Howe"
    )
    assert moved.tolist() == [-30, 30]
    assert nights.tolist() == np.array(["2024-04-06T15", "2024-10-05T16"], "M8[us]").tolist()


def faults(n: int, n_coloured: int, *, turned: bool = True) -> int:
    """How many faults there are in looks that say night by day, so many of them coloured."""
    noon, midnight = every(24, "2023-07-01T18:00", n), every(24, "2023-07-01T06:00", n)
    look = np.array([1.0] * n_coloured + [0.0] * (n - n_coloured))
    times = np.where((look > 0.5) == turned, midnight, noon)
    found = light_faults(
        "Ridge", times, times, look, latitude=40.0, longitude=-90.0, zone="America/Chicago"
    )
    return len(found)


def test_fifteen_looks_and_four_of_each_are_enough() -> None:
    assert faults(15, 4) == faults(15, 11) == 1
    assert faults(14, 7) == faults(15, 3) == faults(15, 12) == 0
    assert faults(15, 7, turned=False) == 0


def test_pictures_of_one_look_in_ten_minutes_are_one() -> None:
    start = np.datetime64("2023-07-01T12:00", "us")
    seconds = [0, 599, 600, 601, 5 * 600 + 1, 5 * 600 + 2, 6 * 600 - 1, 6 * 600]
    look = np.array([0.0, 0.0, 0.0, 1.0, 1.0, 0.0, 1.0, 1.0])
    times = start + np.array(seconds, dtype="timedelta64[s]")
    assert len(_one_a_moment(times, look, np.ones(8, dtype=bool))) == 6


def test_looks_that_are_neither_are_unknown_and_a_flash_that_changes_tells() -> None:
    nan = np.nan
    known = _known_look(np.array([0.2, 0.21, 0.39, 0.6, nan]), None)
    np.testing.assert_array_equal(known, [0.2, nan, nan, 0.6, nan])
    # Where the picture has a look the flash is not asked; a look in between stays unknown.
    known = _known_look(np.array([1.0, nan, nan, 0.3, nan]), [1.0, 0.0, 1.0, 1.0, nan])
    np.testing.assert_array_equal(known, [1.0, 1.0, 0.0, nan, nan])
    same = _known_look(np.full(5, nan), [1.0, 1.0, nan, 1.0, 1.0])
    assert np.isnan(same).all(), "a flash that always fires tells nothing"
