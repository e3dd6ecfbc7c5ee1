"""Visits of the named bucks: where and when each walks past a spot that has a camera."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from deerlog.timekeeping.seasons import SeasonCalendar
from drawing.ground import SITES, Site
from drawing.herd import Buck
from drawing.hunts import SCARED_KEEPS
from drawing.sky import HOUR, Sun, Weather

CALENDAR = SeasonCalendar()
SHOOTING_LIGHT_HOURS = 0.5
COLD_EFFECT_PER_F = -0.02
"""Log of daylight activity per degree F above normal: ten degrees colder, a fifth more."""
_KEPT = 0.7  # room above the usual rate for cold days to add to

# What draws a buck to a kind of spot through the season.
PULL = {
    "summer": {"food": 1.6, "water": 1.0, "travel": 0.7, "bed": 0.5, "scrape": 0.15},
    "early season": {"food": 1.2, "water": 1.0, "travel": 0.9, "bed": 0.7, "scrape": 0.5},
    "pre-rut": {"food": 0.9, "water": 0.6, "travel": 1.0, "bed": 0.6, "scrape": 1.5},
    "rut": {"food": 0.7, "water": 0.3, "travel": 1.4, "bed": 0.8, "scrape": 1.0},
    "late season": {"food": 1.7, "water": 0.3, "travel": 0.7, "bed": 0.5, "scrape": 0.25},
}
ACTIVITY = {"summer": 1.0, "early season": 0.85, "pre-rut": 1.0, "rut": 1.15, "late season": 0.8}

# Shares of evening, morning, night and midday movement by kind of spot.
HOURS = {
    "food": (0.52, 0.12, 0.33, 0.03),
    "bed": (0.16, 0.50, 0.20, 0.14),
    "travel": (0.34, 0.30, 0.31, 0.05),
    "water": (0.40, 0.17, 0.26, 0.17),
    "scrape": (0.20, 0.20, 0.55, 0.05),
}
NIGHT = {"summer": 1.1, "early season": 2.2, "pre-rut": 1.8, "rut": 1.2, "late season": 1.5}
MIDDAY = {"summer": 0.7, "early season": 0.4, "pre-rut": 0.8, "rut": 2.5, "late season": 0.8}
EVENING_H = {"summer": 0.1, "early season": 0.8, "pre-rut": 0.55, "rut": 0.2, "late season": 0.35}
MORNING_H = {"summer": -0.1, "early season": -0.8, "pre-rut": -0.4, "rut": 0.1, "late season": -0.3}
EVENING_AT_H = {"food": 0.1, "bed": -0.6, "travel": -0.1, "water": 0.0, "scrape": 0.2}
MORNING_AT_H = {"food": -0.9, "bed": 0.4, "travel": -0.2, "water": 0.0, "scrape": -0.5}


@dataclass(frozen=True)
class Event:
    """Something at a site: a named buck, or others. ``at`` is UTC, to the second."""

    site: str
    at: np.datetime64
    buck: str
    others: str
    frames: int


def site_use(buck: Buck, day: date, phase: str, season: int) -> dict[str, float]:
    """Share of his visits that fall on each site, over every site that ever had a camera."""
    east, north = centre(buck, day, season)
    spread = buck.spread_m * (1.35 if phase == "rut" else 1.0)
    weight = {
        site.name: math.exp(
            -((site.east_m - east) ** 2 + (site.north_m - north) ** 2) / (2 * spread**2)
        )
        * PULL[phase][site.setting]
        for site in SITES.values()
    }
    total = sum(weight.values())
    return {name: value / total for name, value in weight.items()}


def centre(buck: Buck, day: date, season: int) -> tuple[float, float]:
    """Centre of his range on a day; the move from summer to fall ground takes four days."""
    if season not in buck.change:
        summer = day < date(season, 9, 1)
        return buck.summer_centre if summer else buck.fall_centre
    days = (day - date.fromisoformat(buck.change[season])).days
    share = min(max((days + 2) / 4.0, 0.0), 1.0)
    return (
        buck.summer_centre[0] + share * (buck.fall_centre[0] - buck.summer_centre[0]),
        buck.summer_centre[1] + share * (buck.fall_centre[1] - buck.summer_centre[1]),
    )


def buck_events(
    buck: Buck,
    rng: np.random.Generator,
    sun: Sun,
    weather: Weather,
    scared_sites: set[tuple[str, date]],
) -> list[Event]:
    """Every visit of one buck to any site, camera or none."""
    if buck.only_days:
        return _few_events(buck, rng, sun)
    days = buck.days_around()
    index = np.array(days, dtype="datetime64[D]")
    phases, seasons = CALENDAR.phase_of(index), CALENDAR.season_of(index)
    mood = rng.gamma(1.6, 1 / 1.6, len(days))  # some days he moves a lot, some hardly
    events = []
    for i, day in enumerate(days):
        phase, season = str(phases[i]), int(seasons[i])
        use = site_use(buck, day, phase, season)
        rate = buck.visits_a_day * ACTIVITY[phase] * mood[i] / _KEPT
        if day < date(season, 7, 1):
            rate *= 0.45  # half-grown antlers: many of his pictures cannot be named
        for _ in range(rng.poisson(rate)):
            site = SITES[str(rng.choice(list(use), p=list(use.values())))]
            at = _moment(buck, rng, sun, day, phase, site)
            if rng.random() < _keep(sun, weather, day, at, (site.name, day) in scared_sites):
                frames = 1 + min(int(rng.poisson(1.3)), 5)
                events.append(Event(site.name, at, buck.name, "", frames))
    return events


def _few_events(buck: Buck, rng: np.random.Generator, sun: Sun) -> list[Event]:
    site = SITES[buck.only_site]
    return [
        Event(
            site.name,
            _moment(buck, rng, sun, date.fromisoformat(day), "pre-rut", site),
            buck.name,
            "",
            2,
        )
        for day in buck.only_days
    ]


def in_shooting_light(sun: Sun, day: date, at: np.datetime64) -> bool:
    """Whether a moment falls in the day's shooting light."""
    rise, _, down = sun.at(day)
    half_hour = np.timedelta64(int(SHOOTING_LIGHT_HOURS * 3600), "s")
    return bool(rise - half_hour <= at <= down + half_hour)


def _keep(sun: Sun, weather: Weather, day: date, at: np.datetime64, is_scared: bool) -> float:
    if not in_shooting_light(sun, day, at):
        return _KEPT
    keep = _KEPT * math.exp(COLD_EFFECT_PER_F * weather.departure_f[day])
    return min(keep * (SCARED_KEEPS if is_scared else 1.0), 1.0)


def _moment(
    buck: Buck, rng: np.random.Generator, sun: Sun, day: date, phase: str, site: Site
) -> np.datetime64:
    """An instant for a visit on the day (a night's visit may fall after midnight)."""
    rise, _, down = sun.at(day)
    next_rise = sun.at(day + timedelta(days=1))[0]
    share: npt.NDArray[np.float64] = np.array(HOURS[site.setting])
    share = share * (1.0, buck.morning, NIGHT[phase], MIDDAY[phase])
    part = rng.choice(4, p=share / share.sum())
    if part == 0:
        shift = EVENING_H[phase] + EVENING_AT_H[site.setting] + buck.shy_hours
        return _after(down, rng.normal(shift, 0.8))
    if part == 1:
        shift = MORNING_H[phase] + MORNING_AT_H[site.setting] - 0.5 * buck.shy_hours
        return _after(rise, rng.normal(shift, 0.8))
    if part == 2:
        night = float((next_rise - down) / HOUR)
        return _after(down, rng.uniform(1.0, night - 1.0))
    return _after(rise, rng.uniform(1.5, float((down - rise) / HOUR) - 1.5))


def _after(moment: np.datetime64, hours: float) -> np.datetime64:
    return moment + np.timedelta64(round(hours * 3600), "s")
