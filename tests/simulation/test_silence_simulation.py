"""How many outages are found, and how many running days are called silent, on simulated cameras.

Seeded. Run ``pytest -s tests/simulation/test_silence_simulation.py`` to see the figures. The
limits are the aims: 95 % of outages of ten days and more on a camera with 2 photos a day found
within 2 days at each end, and at most 2 % of running days called silent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from deerlog.ingest.effort.silence import silent_stretches

START = np.datetime64("2023-06-01", "us")
DAYS = 300


@dataclass(frozen=True)
class Camera:
    """How a simulated camera is visited."""

    per_day: float = 2.0
    season_ratio: float = 1.0  # busiest over quietest time of year
    spell_sd: float = 0.0  # log sd of a visiting rate that wanders from day to day
    spell_days: float = 4.0  # its correlation time
    photos_a_visit: float = 1.0  # geometric, within twenty minutes


def event_days(camera: Camera, rng: np.random.Generator) -> np.ndarray:
    """Days since the start of each photo."""
    day = np.arange(DAYS)
    swing = (camera.season_ratio - 1) / (camera.season_ratio + 1)
    rate = camera.per_day / camera.photos_a_visit
    rate = rate * (1 + swing * np.sin(2 * np.pi * day / 365 + rng.uniform(0, 2 * np.pi)))
    if camera.spell_sd:
        keep = np.exp(-1 / camera.spell_days)
        spell = rng.standard_normal(DAYS)
        for i in range(1, DAYS):
            spell[i] = keep * spell[i - 1] + np.sqrt(1 - keep**2) * spell[i]
        rate = rate * np.exp(camera.spell_sd * spell - camera.spell_sd**2 / 2)
    n = rng.poisson(rate)
    hour = rng.choice([6.5, 18.5, 0.0, 12.0], size=n.sum(), p=[0.3, 0.35, 0.25, 0.1])
    time = np.repeat(day, n) + (hour + rng.normal(0, 1.5, n.sum())) / 24
    if camera.photos_a_visit > 1:
        photos = rng.geometric(1 / camera.photos_a_visit, size=len(time))
        time = np.repeat(time, photos) + rng.uniform(0, 20 / 1440, photos.sum())
    return np.sort(time[(time >= 0) & (time < DAYS)])


@dataclass(frozen=True)
class Figures:
    """Shares over simulated outages.

    Attributes
    ----------
    found
        Of outages, found at all.
    within
        Of outages, found within 2 days at each end.
    knowable
        Of outages, those whose ends anyone could place within 2 days: no more than 4 days lie
        between the failure and the last photo before it, and between the recovery and the first
        after it. In a longer quiet the photos do not tell where in it the camera died.
    lost
        Of running days, called silent.
    """

    found: float
    within: float
    knowable: float
    lost: float


def figures(camera: Camera, outage: tuple[float, float], n: int, seed: int) -> Figures:
    """Kill simulated cameras for some days, and ask when they were silent."""
    rng = np.random.default_rng(seed)
    found = within = knowable = 0
    lost = running = 0.0
    for _ in range(n):
        events = event_days(camera, rng)
        length = rng.uniform(*outage)
        first = rng.uniform(20, DAYS - 20 - length)
        after = first + length
        events = events[(events < first) | (events >= after)]
        quiet = first - events[events < first].max(), events[events >= after].min() - after
        times = START + (events * 86_400e6).astype("timedelta64[us]")
        hit = close = False
        for silent in silent_stretches(times, START, START + np.timedelta64(DAYS, "D")):
            low = float((silent.start - START) / np.timedelta64(1, "D"))
            high = float((silent.end - START) / np.timedelta64(1, "D"))
            shared = max(0.0, min(high, after) - max(low, first))
            lost += (high - low) - shared
            hit |= shared > 0
            close |= abs(low - first) <= 2 and abs(high - after) <= 2
        found += hit
        within += close
        knowable += max(quiet) <= 4
        running += DAYS - length
    return Figures(found / n, within / n, knowable / n, lost / running)


WEEKS = (10.0, 30.0)


@pytest.mark.parametrize(
    ("name", "camera", "outage", "found", "within"),
    [
        ("2 a day, 10 days dead", Camera(), (10.0, 10.01), 0.95, 0.95),
        ("2 a day, threefold season, 10 to 30 days", Camera(season_ratio=3), WEEKS, 0.95, 0.95),
        # Where photos come in visits, or deer in spells, the ends of an outage are less knowable,
        # and in a long quiet spell the outage itself is. The aim of 95 % within 2 days at each end
        # is missed there; what is reached is held, and no running days are given for it.
        ("2 photos a day in visits of 2", Camera(photos_a_visit=2), WEEKS, 0.95, 0.87),
        ("2 a day, threefold, spells", Camera(2, 3, 0.5, 4), WEEKS, 0.95, 0.87),
        ("2 a day, threefold, long spells", Camera(2, 3, 0.8, 7), WEEKS, 0.85, 0.70),
        ("10 a day, threefold, long spells, 3 to 5 days", Camera(10, 3, 0.8, 7), (3.0, 5.0),
         0.75, 0.75),
        ("1 in 2 days, threefold, spells", Camera(0.5, 3, 0.5, 4), WEEKS, 0.3, 0.1),
    ],
)  # fmt: skip
def test_outages_and_running_days(
    name: str, camera: Camera, outage: tuple[float, float], found: float, within: float
) -> None:
    result = figures(camera, outage, n=200 if within >= 0.95 else 120, seed=20240601)
    print(
        f"\n{name}: found {100 * result.found:.1f} %, within 2 days at each end "
        f"{100 * result.within:.1f} % (knowable {100 * result.knowable:.1f} %), "
        f"running days lost {100 * result.lost:.1f} %"
    )
    assert result.lost <= 0.02
    assert result.found >= found
    assert result.within >= within


def test_a_camera_that_never_fails_loses_few_days() -> None:
    lost = figures(Camera(2, 3, 0.5, 4), (0.0, 0.01), n=60, seed=11).lost
    print(f"\nno outage at all, threefold season and spells: running days lost {100 * lost:.1f} %")
    assert lost <= 0.02
