"""Blocks of a record, breaks and clock nights."""

from __future__ import annotations

import numpy as np

from deerlog.ingest.clocks.shift_path import (
    CAUSES,
    P_ANYWHERE,
    P_BREAK,
    P_CLOCK_NIGHT,
    clock_nights,
    record_blocks,
)

ZONE = "America/New_York"


def every(hours: int, first: str, n: int) -> np.ndarray:
    return np.datetime64(first, "us") + np.arange(n) * np.timedelta64(hours, "h")


def test_clock_nights_of_a_year() -> None:
    nights, moved = clock_nights(
        np.datetime64("2023-01-01", "us"), np.datetime64("2024-01-01", "us"), ZONE
    )
    assert list(nights) == [np.datetime64("2023-03-12T07:00"), np.datetime64("2023-11-05T06:00")]
    assert list(moved) == [60, -60]


def test_a_zone_without_clock_changes() -> None:
    nights, _ = clock_nights(
        np.datetime64("2023-01-01", "us"), np.datetime64("2024-01-01", "us"), "America/Phoenix"
    )
    assert len(nights) == 0


def test_blocks_are_in_order_and_none_is_empty() -> None:
    blocks = record_blocks(every(6, "2023-06-01", 2000), ZONE, None)
    assert blocks.block[0] == 0 and blocks.block[-1] == blocks.n_blocks - 1
    assert set(np.diff(blocks.block)) <= {0, 1}
    assert blocks.n_blocks < 80


def test_a_clock_night_and_a_break_always_part_two_blocks() -> None:
    times = every(6, "2023-10-20", 200)
    pull = np.array(["2023-11-20T15:00"], dtype="datetime64[us]")
    blocks = record_blocks(times, ZONE, pull)
    night = int(np.searchsorted(times, np.datetime64("2023-11-05T06:00")))
    check = int(np.searchsorted(times, pull[0]))
    assert blocks.cause[night] == "clock change" and blocks.cause[check] == "break"
    for look in (night, check):
        assert blocks.block[look] == blocks.block[look - 1] + 1
    assert blocks.clock_night_minutes[blocks.block[night] - 1] == -60
    assert blocks.p_change[blocks.block[check] - 1] == P_BREAK
    assert (blocks.clock_night_minutes != 0).sum() == 1
    assert list(blocks.nights) == [np.datetime64("2023-11-05T06:00")]
    at = [CAUSES[blocks.cause[look]] for look in (night, check, check + 1)]
    assert at == [P_CLOCK_NIGHT, P_BREAK, P_ANYWHERE]


def test_a_gap_of_days_is_a_break() -> None:
    times = np.concatenate((every(6, "2023-07-01", 40), every(6, "2023-07-20", 40)))
    assert record_blocks(times, ZONE, None).cause[40] == "break"


def test_a_single_look() -> None:
    assert record_blocks(every(6, "2023-07-01", 1), ZONE, None).n_blocks == 1


def test_few_looks_are_one_block() -> None:
    """Eight looks say something; fifteen are not yet two blocks."""
    for n_looks, n_blocks in ((8, 1), (15, 1), (16, 2), (23, 2), (24, 3)):
        block = record_blocks(every(24, "2023-06-01", n_looks), ZONE, None).block
        assert block[-2] + 1 == n_blocks, "the last look of all may be one by itself"


def test_a_block_is_at_least_a_day_and_there_are_not_many() -> None:
    assert record_blocks(every(1, "2023-06-01", 24), ZONE, None).n_blocks == 1
    assert record_blocks(every(1, "2023-06-01", 49), ZONE, None).n_blocks == 3
    assert record_blocks(every(6, "2023-06-01", 500), ZONE, None).n_blocks <= 65


def test_a_border_beside_a_clock_night_is_not_the_night() -> None:
    times = every(6, "2023-11-01", 40)
    night = int(np.searchsorted(times, np.datetime64("2023-11-05T06:00"), side="left"))
    check = times[night + 1 : night + 2]
    blocks = record_blocks(times, ZONE, check)
    for look, moved in ((night, -60), (night + 1, 0)):
        assert blocks.block[look] == blocks.block[look - 1] + 1
        assert blocks.clock_night_minutes[blocks.block[look] - 1] == moved


def test_a_gap_is_a_break_from_three_days_on() -> None:
    for hours, cause in ((71, "unknown"), (72, "break")):
        first = every(6, "2023-07-01", 20)
        later = first[-1] + np.timedelta64(hours, "h") + (first - first[0])
        assert record_blocks(np.concatenate((first, later)), ZONE, None).cause[20] == cause
