"""Where each rule of time against file numbers begins and ends, and the longest order by trial."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pandas as pd
import pytest

from deerlog.ingest.clocks.clock_order import OrderFinding, numbered_series, order_findings


def judged(
    shown: list[str | np.datetime64],
    numbers: list[int] | None = None,
    zone: str = "America/Chicago",
) -> list[OrderFinding]:
    photos = pd.DataFrame({"shown": np.array(shown, dtype="datetime64[us]")})
    numbers = list(range(1, len(shown) + 1)) if numbers is None else numbers
    photos["path"] = [f"100ABCDE/IMG_{n:04d}.JPG" for n in numbers]
    return order_findings(photos.assign(camera="Ridge"), zone=zone)


def kinds(*shown: str | np.datetime64, numbers: list[int] | None = None) -> list[str]:
    return [found.kind for found in judged(list(shown), numbers)]


def test_what_is_left_in_order_is_the_longest_that_can_be() -> None:
    rng = np.random.default_rng(7)
    cards = [rng.integers(0, 10, rng.integers(1, 9)) for _ in range(120)]
    cards = [hours for hours in cards if (np.diff(hours) < 0).sum() < 5]  # more are no order
    photos = pd.DataFrame(
        {
            "camera": np.repeat([f"{i:03d}" for i in range(len(cards))], [len(c) for c in cards]),
            "path": [f"IMG_{n:04d}.JPG" for hours in cards for n in range(len(hours))],
            "shown": np.datetime64("2023-09-01T06:00", "us")
            + np.concatenate(cards) * np.timedelta64(1, "h"),
        }
    )
    out = {i: set() for i in range(len(cards))}
    for found in order_findings(photos, zone="America/Chicago"):
        assert found.kind == "backwards"
        out[int(photos["camera"][found.rows[0]])] |= {int(row) for row in found.rows}
    begins = 0
    for hours, rows in zip(cards, out.values(), strict=True):
        kept = [int(h) for row, h in enumerate(hours, start=begins) if row not in rows]
        begins += len(hours)
        longest = max(
            n
            for n in range(1, len(hours) + 1)
            if any(list(some) == sorted(some) for some in combinations(hours, n))
        )
        # One that shows the very time of its neighbour counts as in order too.
        assert len(kept) == longest if len(set(hours)) == len(hours) else len(kept) >= longest
        assert kept == sorted(kept)


def test_each_run_is_told_with_its_neighbours() -> None:
    noon = [f"2023-09-{day:02d}T12:00" for day in (1, 2, 3, 9, 8, 4, 5, 6, 7)]
    one, two = judged(noon)
    assert (one.rows, one.before, one.after) == ((3,), 2, 4)  # they step back from one to the next
    assert (two.rows, two.before, two.after) == ((4,), 3, 5)
    (last,) = judged(["2023-09-05", "2023-09-06", "2023-09-07", "2023-09-01", "2023-09-02"])
    assert (last.rows, last.before, last.after) == ((3, 4), 2, None)
    (first,) = judged(["2023-09-05", "2023-09-06", "2023-09-01", "2023-09-02", "2023-09-03"])
    assert (first.rows, first.before, first.after) == ((0, 1), None, 2)


def test_two_minutes_back_are_no_step() -> None:
    around = ["2023-09-01T12:00:00", "2023-09-02T12:00:00", "{}", "2023-09-04T12:00:00"]
    for back, found in (("2023-09-02T11:58:00", []), ("2023-09-02T11:57:59", ["backwards"])):
        assert kinds(*(time.format(back) for time in around)) == found


def test_more_than_sixty_days_forward_between_near_numbers_are_a_jump() -> None:
    assert kinds("2023-03-01T12:00:00", "2023-04-30T12:00:00") == []
    assert kinds("2023-03-01T12:00:00", "2023-04-30T12:00:01") == ["jump"]
    far = ("2023-03-01T12:00", "2023-08-30T12:00", "2023-08-31T12:00")
    assert kinds(*far, numbers=[1, 4, 5]) == ["jump"]
    assert kinds(*far, numbers=[1, 5, 6]) == []
    (found,) = judged(list(far))
    assert (found.rows, found.after) == ((1, 2), None)
    # A jump ends where another fault begins, and is none where one side has a fault.
    assert kinds(*far, "2023-01-05T12:00") == ["jump", "backwards"]


@pytest.mark.parametrize(
    ("times", "found"),
    [
        # A card's first photo within an hour of the new year.
        (["2018-01-01T01:00", "2018-01-02T01:00"], ["reset"]),
        (["2018-01-01T01:01", "2018-01-02T01:00"], []),
        # After a step back within two days of it; the rest of the card is in order.
        (["2017-12-20", "2017-12-21", "2017-12-22", "2015-01-03T00:00", "2017-12-23"], ["reset"]),
        (["2017-12-20", "2017-12-21", "2017-12-22", "2015-01-03T00:01", "2017-12-23"],
         ["backwards"]),
        # In the order of its numbers no first of January is a reset.
        (["2017-12-31T23:00", "2018-01-01T00:10", "2018-01-01T09:00"], []),
    ],
)  # fmt: skip
def test_clocks_at_their_factory_date(times: list[str], found: list[str]) -> None:
    assert kinds(*times) == found


def test_numbers_are_no_order_where_five_steps_and_one_in_twenty_go_back() -> None:
    def backs(n_back: int, n_steps: int) -> list[str]:
        """Days in order, but for so many photos that show the day before the last."""
        day = np.datetime64("2023-03-01T12:00", "us") + np.arange(n_steps + 1) * np.timedelta64(
            1, "D"
        )
        day[3 : 3 + 3 * n_back : 3] -= np.timedelta64(36, "h")
        return kinds(*day)

    assert backs(5, 100) == ["backwards"] * 5, "not more than one in twenty"
    assert backs(5, 99) == []
    assert backs(4, 30) == ["backwards"] * 4, "not five"


def test_only_the_night_the_clocks_go_back_takes_an_hour_off() -> None:
    def around(*times: str) -> list[str]:
        before = [f"2023-{time}" for time in times]
        return kinds("2023-01-15T12:00", *before, "2023-12-15T12:00", numbers=[1, 50, 51, 52, 90])

    assert around("11-05T01:50", "11-05T01:00", "11-05T03:00") == []
    # Everything after the hour is an hour later by its numbers too.
    assert around("11-05T01:50", "11-05T01:10", "11-05T02:09") == []
    assert around("03-12T01:50", "03-12T01:10", "03-12T03:00") == ["backwards"], "forward in spring"
    assert around("11-05T03:50", "11-05T02:30", "11-05T05:00") == ["backwards"], "80 minutes"
    assert around("11-03T01:50", "11-03T01:10", "11-03T05:00") == ["backwards"], "two days before"


@pytest.mark.parametrize(("low", "high", "rolled"), [(3000, 5001, True), (3001, 5000, False)])
def test_a_folder_filled_across_the_roll_over_has_two_thousand_numbers_free(
    low: int, high: int, rolled: bool
) -> None:
    numbers = [1, *range(1000, low + 1, 1000), low, high, *range(high + 1500, 9999, 1500), 9999]
    paths = pd.Series([f"d/IMG_{n:04d}.JPG" for n in sorted(set(numbers))])
    got = numbered_series(paths)["number"].tolist()
    kept = [n + 10_000 if rolled and n <= low else n for n in sorted(set(numbers))]
    assert got == kept


def test_a_folder_filled_across_it_holds_numbers_of_both_ends() -> None:
    for last, rolled in ((8000, True), (7999, False)):
        got = numbered_series(pd.Series(["d/IMG_0001.JPG", f"d/IMG_{last}.JPG"]))["number"]
        assert got.tolist() == ([10_001, last] if rolled else [1, last])
