"""How fast is too fast, and when a clock is blamed."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from deerlog.ingest.clocks.travel import impossible_trips, least_seconds

FLAT_OUT, KEPT_UP = 13.4, 3.6  # 30 and 8 miles an hour in metres a second


def seen(*rows: tuple[str, str, str], at: dict[str, tuple[float, float]]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["buck", "site", "time"])
    table["time"] = pd.to_datetime("2023-11-" + table["time"], utc=True)
    table["camera"] = table["site"].str.lower()
    table["x_m"], table["y_m"] = zip(*(at[site] for site in table["site"]), strict=True)
    return table


@pytest.mark.parametrize(
    ("distance_m", "believable", "possible"),
    [
        (0, -60, -60),  # nowhere, and two clocks a minute apart
        (60, -60, -60),  # two positions good to 30 m
        (61, 1 / FLAT_OUT - 60, 1 / FLAT_OUT - 60),
        (460, 400 / FLAT_OUT - 60, 400 / FLAT_OUT - 60),  # a sprint
        (820, 400 / FLAT_OUT + 100 - 60, 760 / FLAT_OUT - 60),  # 360 m at 3.6 m/s are 100 s
    ],
)
def test_times_from_the_speeds_of_a_deer(
    distance_m: float, believable: float, possible: float
) -> None:
    got = least_seconds(np.array([float(distance_m)]))
    assert [float(t[0]) for t in got] == pytest.approx([believable, possible])


AT = {"A": (1000.0, 500.0), "B": (4000.0, 4500.0), "C": (-3000.0, 9000.0), "D": (9000.0, -500.0)}
AT |= {name: (20_000.0, 5000.0 * i) for i, name in enumerate("EFGH")}
"""A and B are 5 km apart: 3 east, 4 north."""


def trips(*rows: tuple[str, str, str]) -> list[pd.Series]:
    return [trip for _, trip in impossible_trips(seen(*rows, at=AT)).iterrows()]


def test_a_trip_is_told_as_it_was() -> None:
    (found,) = trips(("Ten", "B", "01 06:00:01"), ("Ten", "A", "01 06:00:00"))
    assert found.distance_m == pytest.approx(5000)
    assert found.seconds == 1.0
    assert (found.camera_a, found.site_a, found.camera_b, found.site_b) == ("a", "A", "b", "B")
    assert found.time_a == np.datetime64("2023-11-01T06:00:00")
    assert found.time_b == np.datetime64("2023-11-01T06:00:01")
    (at_once,) = trips(("Ten", "B", "01 06:00"), ("Ten", "A", "01 06:00"))
    assert at_once.seconds == 0


@pytest.mark.parametrize(
    ("minutes", "n_found", "impossible"),
    [(5, 1, True), (6, 1, False), (20, 1, False), (21, 0, False)],
)
def test_five_kilometres_in_minutes(minutes: int, n_found: int, impossible: bool) -> None:
    """4,940 m flat out take 369 s, with a sprint alone 1,291 s; a minute is taken off both."""
    found = trips(("Ten", "A", "01 06:00"), ("Ten", "B", f"01 06:{minutes:02d}"))
    assert [f.impossible for f in found] == [impossible] * n_found


def blamed(*ways: tuple[str, str, str, int]) -> list[tuple[str, ...]]:
    """Trips a minute long, each buck, from, to, day; which cameras each finding names."""
    rows = [(b, s, f"{d:02d} {h}") for b, a, z, d in ways for s, h in ((a, "06:00"), (z, "06:01"))]
    return [found.cameras for found in trips(*rows)]


def test_three_trips_of_one_buck_on_three_days_speak_for_a_clock() -> None:
    three = [("Ten", "A", "B", 1), ("Ten", "B", "C", 3), ("Ten", "D", "B", 5)]
    assert blamed(*three) == [("b",)] * 3
    assert blamed(*three[:2]) == [()] * 2, "two are not enough"
    assert blamed(*three, ("Ten", "A", "C", 7)) == [()] * 4, "and all must be at that camera"
    # On two days only, but the second day's trips are apart by hours.
    rows = [
        ("Ten", "A", "01 06:00"), ("Ten", "B", "01 06:01"),
        ("Ten", "B", "03 06:00"), ("Ten", "C", "03 06:01"),
        ("Ten", "D", "03 18:00"), ("Ten", "B", "03 18:01"),
    ]  # fmt: skip
    assert {found.cameras for found in trips(*rows)} == {()}


def test_three_trips_of_two_bucks_do_so_on_any_day() -> None:
    ways = [("Ten", "A", "B", 1), ("Six", "B", "C", 1), ("Six", "D", "B", 2)]
    assert blamed(*ways) == [("b",)] * 3
    assert blamed(*ways[:2]) == [()] * 2


def test_clocks_come_first_and_of_them_the_one_that_most_speaks_against() -> None:
    at_b = [("Ten", "A", "B", 1), ("Six", "C", "B", 2), ("Ten", "A", "B", 3), ("Six", "C", "B", 4)]
    at_d = [("Ten", "E", "D", 11), ("Six", "F", "D", 12), ("Six", "E", "D", 13)]
    alone = [("One", "G", "H", 20)]
    found = blamed(*at_d, *alone, *at_b)
    assert found == [("b",)] * 4 + [("d",)] * 3 + [()]


def test_sightings_are_followed_in_order_of_time_for_each_buck() -> None:
    """From A to B in a minute and back an hour later; another buck between is no trip."""
    found = trips(
        ("Ten", "B", "01 06:01"), ("Six", "C", "01 06:00"), ("Ten", "A", "01 06:00"),
        ("Ten", "A", "01 07:00"),
    )  # fmt: skip
    assert [(f.buck, f.site_a, f.site_b, f.n_trips) for f in found] == [("Ten", "A", "B", 1)]
