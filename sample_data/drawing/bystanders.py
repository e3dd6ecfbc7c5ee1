"""Everything on a card that is not a named buck: does, fawns, squirrels, wind, people."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from drawing.ground import LAST_DAY, PULLED, SET_OUT, SITES, ZONE, Placement, check_days
from drawing.movement import Event
from drawing.sky import HOUR, Sun

# kind: share, (evening, morning, night, day) shares
KINDS = {
    "doe": (0.26, (0.35, 0.27, 0.28, 0.10)),
    "doe;fawn": (0.20, (0.36, 0.28, 0.22, 0.14)),
    "young buck": (0.09, (0.34, 0.27, 0.31, 0.08)),
    "squirrel": (0.14, (0.10, 0.25, 0.00, 0.65)),
    "raccoon": (0.08, (0.08, 0.05, 0.87, 0.00)),
    "turkey": (0.05, (0.20, 0.35, 0.00, 0.45)),
    "coyote": (0.04, (0.15, 0.20, 0.60, 0.05)),
    "opossum": (0.03, (0.00, 0.02, 0.98, 0.00)),
    "empty": (0.11, (0.15, 0.15, 0.20, 0.50)),
}


def bystander_events(placement: Placement, rng: np.random.Generator, sun: Sun) -> list[Event]:
    """Visits of anything but a named buck while a camera stands at a site."""
    site = SITES[placement.site]
    names = list(KINDS)
    shares = np.array([KINDS[name][0] for name in names])
    shares = shares / shares.sum()
    events = []
    quiet_days = 0
    day, last = placement.start, placement.end or LAST_DAY
    while day <= last:
        visits = int(rng.poisson(site.bystanders_a_day))
        # Something lives near every camera: a week without one picture would be a second mishap.
        if visits == 0 and quiet_days >= 3:
            visits = 1
        quiet_days = 0 if visits else quiet_days + 1
        for _ in range(visits):
            kind = names[int(rng.choice(len(names), p=shares))]
            if kind == "doe;fawn" and (day.month < 7 and rng.random() < 0.5):
                kind = "doe"  # fawns lie hidden in June
            frames = 1 + int(min(rng.poisson(0.85), 4))
            events.append(Event(site.name, _moment(rng, sun, day, kind), "", kind, frames))
        day += timedelta(days=1)
    return events


def _moment(rng: np.random.Generator, sun: Sun, day: date, kind: str) -> np.datetime64:
    rise, _, down = sun.at(day)
    next_rise = sun.at(day + timedelta(days=1))[0]
    part = rng.choice(4, p=KINDS[kind][1])
    if part == 0:
        return down + _hours(rng.normal(0.0, 0.9))
    if part == 1:
        return rise + _hours(rng.normal(0.2, 0.9))
    if part == 2:
        return down + _hours(rng.uniform(0.8, float((next_rise - down) / HOUR) - 0.8))
    return rise + _hours(rng.uniform(1.0, float((down - rise) / HOUR) - 1.0))


def person_events(placement: Placement, rng: np.random.Generator) -> list[tuple[Event, str]]:
    """The man who sets, checks and pulls the camera, with ``set``, ``old card`` or ``new card``.

    A check leaves a picture as he walks up (on the card he takes home) and one as he walks away
    (on the fresh card).
    """
    season = placement.start.year
    stops: list[tuple[datetime, str]] = []
    if placement.start in SET_OUT.values():
        stops.append((_clock(placement.start, 14, rng), "set"))
    for day in check_days(placement.camera, season):
        inside = placement.start <= day <= (placement.end or LAST_DAY)
        if not inside or day == placement.start:
            if day == placement.start:
                stops.append((_clock(day, 12, rng) + timedelta(minutes=15), "new card"))
            continue
        walk_up = _clock(day, 10, rng)
        stops.append((walk_up, "old card"))
        final = day == placement.end or day in PULLED.values() or day == LAST_DAY
        if not final:
            stops.append(
                (walk_up + timedelta(minutes=4, seconds=int(rng.integers(60))), "new card")
            )
    return [(Event(placement.site, _utc(moment), "", "person", 1), kind) for moment, kind in stops]


def _clock(day: date, hour: int, rng: np.random.Generator) -> datetime:
    minute = int(rng.integers(5, 110))
    start = datetime(day.year, day.month, day.day, hour, tzinfo=ZoneInfo(ZONE))
    return start + timedelta(minutes=minute, seconds=int(rng.integers(60)))


def _utc(moment: datetime) -> np.datetime64:
    return np.datetime64(moment.astimezone(ZoneInfo("UTC")).replace(tzinfo=None), "s")


def _hours(hours: float) -> np.timedelta64:
    return np.timedelta64(round(hours * 3600), "s")
