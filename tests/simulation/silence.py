"""Simulated cameras that die and come back: which silences are found, and how well their ends are.

    cd tests
    python -m simulation.silence

prints, at 2, 5 and 15 photos a day, even and clumped, the running days called silent and the dead
days called running in a camera-year with one outage of four days to four weeks, and how often each
end of a silence that was found is right within a day. Where a person starts the camera again, it
takes a picture of him, on a new card; else it comes back by itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

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
    """Shares over simulated outages, and days of a camera-year.

    Attributes
    ----------
    found, within
        Of outages, found at all, and found within 2 days at each end.
    knowable
        Of outages, those whose ends anyone could place within 2 days: no more than 4 days lie
        between the failure and the last photo before it, and between the recovery and the first
        after it. In a longer quiet the photos do not tell where in it the camera died.
    start, end
        Of outages found, that end right within a day.
    lost
        Of running days, called silent.
    false_days, missed_days
        Running days called silent, and dead days called running, in a year with one outage.
    """

    found: float
    within: float
    knowable: float
    start: float
    end: float
    lost: float
    false_days: float
    missed_days: float


def figures(
    camera: Camera, outage: tuple[float, float], n: int, seed: int, *, by_person: bool = False
) -> Figures:
    """Kill simulated cameras for some days, and ask when they were silent."""
    rng = np.random.default_rng(seed)
    found = within = knowable = good_start = good_end = 0
    lost = missed = running = 0.0
    for _ in range(n):
        events = event_days(camera, rng)
        length = rng.uniform(*outage)
        first = rng.uniform(20, DAYS - 20 - length)
        after = first + length
        events = events[(events < first) | (events >= after)]
        if by_person:
            events = np.sort(np.append(events, after))
        quiet = first - events[events < first].max(), events[events >= after].min() - after
        times, check = (
            START + (np.asarray(days) * 86_400e6).astype("timedelta64[us]")
            for days in (events, [after] if by_person else [])
        )
        until = START + np.timedelta64(DAYS, "D")
        shared_all, ends = 0.0, None
        for silent in silent_stretches(times, START, until, checks=check):
            low = float((silent.start - START) / np.timedelta64(1, "D"))
            high = float((silent.end - START) / np.timedelta64(1, "D"))
            shared = max(0.0, min(high, after) - max(low, first))
            lost += (high - low) - shared
            shared_all += shared
            if shared:
                ends = low - first, high - after
        missed += length - shared_all
        knowable += max(quiet) <= 4
        running += DAYS - length
        if ends:
            found += 1
            within += max(map(abs, ends)) <= 2
            good_start += abs(ends[0]) <= 1
            good_end += abs(ends[1]) <= 1
    return Figures(
        found=found / n,
        within=within / n,
        knowable=knowable / n,
        start=good_start / max(found, 1),
        end=good_end / max(found, 1),
        lost=lost / running,
        false_days=lost / n * 365 / DAYS,
        missed_days=missed / n,
    )


EVEN, CLUMPED = {}, {"photos_a_visit": 2.0, "season_ratio": 2.0, "spell_sd": 0.5}
"""Deer that come at random; and in visits of two photos, in spells of days, twice as often in one
season as in another."""


def main(n: int = 200) -> None:
    """Print the table."""
    print("photos a day  deer     started by  found  start  end    false days  missed days")
    for per_day in (2, 5, 15):
        for deer, how in (("even", EVEN), ("clumped", CLUMPED)):
            for by_person in (True, False):
                camera = Camera(per_day, **how)
                f = figures(camera, (4.0, 28.0), n, seed=31, by_person=by_person)
                print(
                    f"{per_day:12}  {deer:7}  {'a person' if by_person else 'itself':10}  "
                    f"{f.found:5.0%}  {f.start:5.0%}  {f.end:5.0%}  {f.false_days:10.2f}  "
                    f"{f.missed_days:11.2f}"
                )


if __name__ == "__main__":
    main()
