"""How many wrong clocks the looks of pictures give away, on simulated cameras.

Seeded. Run ``pytest -s tests/simulation/test_clock_light_simulation.py`` to see the figures.
Cameras stand at 28, 40 and 47 degrees north. Each goes grey at its own height of the sun (drawn
between 6 degrees below the horizon and 6 above), cloud and canopy move that by 2 to 3 degrees from
picture to picture, and one look in a hundred is wrong. Deer come at all hours, most at dusk and
dawn. Every call of a camera as wrong is also asked for the right shift, within 20 minutes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest

from deerlog.ingest.clocks.light_faults import ClockFault, light_faults
from deerlog.one_thread import one_thread
from deerlog.timekeeping.sun import sun_height

PLACES = (
    (28.0, -81.5, "America/New_York"),
    (40.0, -90.0, "America/Chicago"),
    (47.0, -92.0, "America/Chicago"),
)
MINUTE = np.timedelta64(60_000_000, "us")


@pytest.fixture(autouse=True)
def on_one_thread() -> Iterator[None]:
    """As a study asks it."""
    with one_thread():
        yield


@dataclass(frozen=True)
class Found:
    """Counts over simulated cameras."""

    flagged: int
    right_shift: int
    inside_interval: int


def deer_times(
    rng: np.random.Generator,
    place: tuple[float, float, str],
    first: np.datetime64,
    days: float,
    n: int,
) -> np.ndarray:
    """True instants of n pictures: any hour, about seven times likelier with the sun low."""
    kept = np.array([], dtype="datetime64[us]")
    while len(kept) < n:
        some = first + (rng.uniform(0, days, 8 * n) * 86_400e6).astype("timedelta64[us]")
        height = sun_height(place[0], place[1], some)
        weight = 0.12 + 0.88 * np.exp(-0.5 * (height / 9) ** 2)
        kept = np.concatenate((kept, some[rng.uniform(size=len(some)) < weight]))
    return np.sort(rng.permutation(kept)[:n])


def local_time(utc: np.ndarray, zone: str) -> np.ndarray:
    """What a clock on local time shows."""
    local = pd.DatetimeIndex(utc, tz="UTC").tz_convert(zone).tz_localize(None)
    return np.asarray(local, dtype="datetime64[us]")


def faults_of(
    rng: np.random.Generator,
    place: tuple[float, float, str],
    n: int,
    shift_minutes: int,
    wrong_from: np.datetime64 | None = None,
    first: np.datetime64 | None = None,
    days: float | None = None,
) -> list[ClockFault]:
    """What is said of one simulated camera."""
    if first is None:
        first = np.datetime64("2023-06-01", "us") + np.timedelta64(int(rng.integers(0, 330)), "D")
    true = deer_times(rng, place, first, days or rng.uniform(20, 90), n)
    seen = sun_height(place[0], place[1], true) + rng.normal(0, rng.uniform(2, 3), n)
    look = (seen > rng.uniform(-6, 6)) ^ (rng.uniform(size=n) < 0.01)
    wrong = true >= (true[0] if wrong_from is None else wrong_from)
    stated = true - np.where(wrong, shift_minutes, 0) * MINUTE
    return light_faults(
        "Ridge",
        stated,
        local_time(stated, place[2]),
        look.astype(float),
        latitude=place[0],
        longitude=place[1],
        zone=place[2],
    )


def found(n_cameras: int, n_photos: int, shift_minutes: int, seed: int) -> Found:
    """Judge cameras in turn at the three places, the shift's sign drawn."""
    rng = np.random.default_rng(seed)
    flagged = right = inside = 0
    for i in range(n_cameras):
        shift = shift_minutes * int(rng.choice([-1, 1])) if shift_minutes != 720 else 720
        faults = faults_of(rng, PLACES[i % 3], n_photos, shift)
        flagged += bool(faults)
        if faults:
            longest = max(faults, key=lambda fault: fault.n_looks)
            off = (longest.shift_minutes - shift + 720) % 1440 - 720
            right += abs(off) <= 20
            inside += longest.low_minutes <= shift <= longest.high_minutes
    return Found(flagged, right, inside)


@pytest.mark.parametrize(
    ("name", "n_cameras", "n_photos", "shift_minutes", "at_least"),
    [
        ("1 h", 100, 60, 60, 95),
        ("12 h", 60, 60, 720, 60),
        ("half an hour", 40, 300, 30, 36),
    ],
)
def test_wrong_clocks_are_found(
    name: str, n_cameras: int, n_photos: int, shift_minutes: int, at_least: int
) -> None:
    result = found(n_cameras, n_photos, shift_minutes, seed=2024)
    print(
        f"\n{name} wrong, {n_photos} photos: {result.flagged} of {n_cameras} found, "
        f"{result.right_shift} with the right shift, {result.inside_interval} inside the interval"
    )
    assert result.flagged >= at_least
    assert result.right_shift >= at_least
    assert result.inside_interval >= 0.9 * result.flagged


def test_right_clocks_are_left_alone() -> None:
    few = found(200, 60, 0, seed=7)
    many = found(50, 300, 0, seed=8)
    print(
        f"\nright clocks called wrong: {few.flagged} of 200 (60 photos), {many.flagged} of 50 (300)"
    )
    assert few.flagged <= 1
    assert many.flagged <= 1


def test_a_clock_left_on_summer_time_is_found_with_its_night() -> None:
    """From the night the clocks go back the camera shows an hour too late."""
    rng = np.random.default_rng(3)
    place = PLACES[1]
    night = np.datetime64("2023-11-05T07:00", "us")
    days, bounds = [], []
    for _ in range(20):
        (fault,) = faults_of(
            rng, place, 200, -60, wrong_from=night, first=np.datetime64("2023-09-20", "us"), days=90
        )
        assert fault.shift_minutes == -60
        days.append(float((fault.begins - night) / np.timedelta64(1, "D")))
        bounds.append(fault.row["opens"] == np.datetime64("2023-11-05T02:00"))
    print(
        f"\nclock night named in {sum(bounds)} of 20, first wrong photo {max(days):.1f} days after"
    )
    assert sum(bounds) >= 19
