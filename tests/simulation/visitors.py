"""Visitors whose days of three seasons are known, and whether the days named for the fourth hold.

    cd tests
    python -m simulation.visitors [--count 80] [--seed 1]

Nothing here is the model's: a buck's usual arrival is uniform over seven weeks, his years lie about
it with long tails (Student's t, 4 degrees of freedom), the lengths of his stays are gamma, he skips
seasons, and he is known by what cameras caught of him, clumped and with days missed at both ends.
The stays go through the presence model as on a property. Printed for arrivals spread by 3, 6 and 12
days: the share of the true stay inside the days named in July, their length in stays, and the same
of the property's rut (`RUT_BAND`), which knows nothing of him.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from deerlog.analysis.forecast.sighting_grid import sighting_grid
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.residency.residency import residency
from deerlog.analysis.season.own_days import days_of_visits
from deerlog.analysis.season.stays import stays
from deerlog.timekeeping.seasons import SeasonCalendar

CALENDAR = SeasonCalendar()
SEASONS = (2021, 2022, 2023, 2024)
"""The last is the one whose days are asked for, on `ASKED_ON`."""
ASKED_ON = pd.Timestamp("2024-07-15")
RUT_BAND = (-7, 14)
"""First and last day of the rut as a phase, days after its peak."""
USUAL_ARRIVAL = (-28.0, 21.0)
YEAR_TAILS = 4
MEAN_STAY, STAY_SHAPE = 10.0, 6.0
"""Mean and gamma shape of a stay's days: two in three last 6 to 14."""
SEEN_A_DAY, CLUMPING = 0.9, 0.6
"""Visits expected a day around, at all cameras, and the gamma shape of their noise by day."""
SKIPS = 0.2
SITES = ("Alder", "Birch", "Cedar")


@dataclass(frozen=True, kw_only=True)
class Held:
    """What the days named for a visitor held, beside the rut band: shares, and lengths in stays."""

    inside: float
    length: float
    inside_rut: float
    length_rut: float
    seasons: int


def visitors(draw: np.random.Generator, count: int, spread: float) -> np.ndarray:
    """First and last day of each stay, days after the peak, shape (count, seasons, 2); NaN where
    a visitor skipped a season (never the last, nor all before it)."""
    usual = draw.uniform(*USUAL_ARRIVAL, count)
    scale = spread / np.sqrt(YEAR_TAILS / (YEAR_TAILS - 2))
    shape = (count, len(SEASONS))
    arrives = np.round(usual[:, None] + scale * draw.standard_t(YEAR_TAILS, shape))
    lasts = np.maximum(np.round(draw.gamma(STAY_SHAPE, MEAN_STAY / STAY_SHAPE, shape)), 2)
    found = np.stack([arrives, arrives + lasts - 1], axis=-1)
    skipped = draw.random(shape) < SKIPS
    skipped[:, -1] = False
    skipped[skipped[:, :-1].all(axis=1), 0] = False
    found[skipped] = np.nan
    return found


def visits_of(draw: np.random.Generator, truth: np.ndarray) -> pd.DataFrame:
    """What cameras caught of visitors before `ASKED_ON`, beside a buck who lives there all year."""
    rows: list[tuple[str, pd.Timestamp]] = []

    def caught(buck: str, first: pd.Timestamp, last: pd.Timestamp) -> None:
        for day in pd.date_range(first, last, unit="us"):
            noise = draw.gamma(CLUMPING, 1 / CLUMPING)
            rows.extend([(buck, day)] * int(draw.poisson(SEEN_A_DAY * noise)))

    for n, of_buck in enumerate(truth):
        for season, (first, last) in zip(SEASONS[:-1], of_buck, strict=False):
            if np.isfinite(first):
                peak = pd.Timestamp(CALENDAR.rut_peak_day(season))
                caught(f"visitor {n}", *(peak + pd.Timedelta(days=d) for d in (first, last)))
    caught("resident", pd.Timestamp(CALENDAR.bounds(SEASONS[0])[0]), ASKED_ON)
    day = pd.DatetimeIndex([d for _, d in rows], dtype="datetime64[us]")
    return pd.DataFrame(
        {
            "buck": pd.Series([b for b, _ in rows], dtype="str"),
            "site": pd.Series(draw.choice(SITES, len(rows)), dtype="str"),
            "day": day,
            "season": CALENDAR.season_of(day),
            "phase": CALENDAR.phase_of(day),
            "half": pd.Series(draw.choice(["AM", "PM"], len(rows)), dtype="str"),
            "in_light": draw.random(len(rows)) < 0.35,
        }
    ).sort_values(["buck", "day"], kind="stable", ignore_index=True)


def held(draw: np.random.Generator, count: int, spread: float) -> list[Held]:
    """What was held of the coming stay of each visitor of whom a stay is known."""
    truth = visitors(draw, count, spread)
    visits = visits_of(draw, truth)
    first = pd.Timestamp(CALENDAR.bounds(SEASONS[0])[0])
    running = pd.date_range(first, ASKED_ON, unit="us")
    effort = pd.DataFrame(
        [(f"cam {s}", s, d, 1.0) for s in SITES for d in running],
        columns=["camera", "site", "day", "camera_day"],
    ).astype({"camera": "str", "site": "str", "day": "datetime64[us]"})
    judgement = Judgement()
    around = residency(visits, effort, CALENDAR, as_of=ASKED_ON).around
    grid = sighting_grid(visits, effort, first, ASKED_ON)
    table = stays(around, grid, CALENDAR)
    found = []
    for n, of_buck in enumerate(truth):
        own = days_of_visits(
            table[table["buck"] == f"visitor {n}"],
            grid,
            CALENDAR,
            SEASONS[-1],
            usual_arrival=(judgement.rut_arrival_after_peak, judgement.rut_arrival_sd),
            usual_length=judgement.rut_stay_days,
            skip=judgement.rut_skip,
        )
        if own is None:
            continue
        stay = np.arange(of_buck[-1, 0], of_buck[-1, 1] + 1)
        low, high = RUT_BAND
        found.append(
            Held(
                inside=float(((stay >= own.first) & (stay <= own.last)).mean()),
                length=(own.last - own.first + 1) / len(stay),
                inside_rut=float(((stay >= low) & (stay <= high)).mean()),
                length_rut=(high - low + 1) / len(stay),
                seasons=own.seasons,
            )
        )
    return found


def line(found: Sequence[Held]) -> str:
    """Means over visitors; lengths as the ratio of all days named to all days stayed."""
    stay = np.array([1 / h.length_rut for h in found])
    inside = np.array([h.inside for h in found])
    length = float((np.array([h.length for h in found]) * stay).sum() / stay.sum())
    rut = float(1 / stay.mean())
    return (
        f"{len(found):4d}  {inside.mean():6.1%} (SE {inside.std() / len(found) ** 0.5:.1%})"
        f"  {length:5.2f}   {np.mean([h.inside_rut for h in found]):6.1%}  {rut:5.2f}"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--count", type=int, default=80)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    print("spread  past  n     inside           stays   rut in  stays")
    for spread in (3.0, 6.0, 12.0):
        found = held(np.random.default_rng([given.seed, int(spread)]), given.count, spread)
        print(f"{spread:5.0f}   all {line(found)}")
        for seasons in (1, 2, 3):
            part = [h for h in found if h.seasons == seasons]
            if part:
                print(f"{spread:5.0f}   {seasons:3d} {line(part)}")


if __name__ == "__main__":
    main()
