"""The hunter's sits: planned on weekends and a few weekdays, by wind and rest."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from drawing.ground import LAST_DAY, SEASONS, STANDS, Stand
from drawing.sky import Weather

OPENS, CLOSES = (9, 15), (1, 15)
SCARED_DAYS = 3
SCARED_KEEPS = 0.6
"""For so many days after a sit, so many of the daylight visits near the stand still happen."""


@dataclass(frozen=True)
class Sit:
    """One hunt: a stand, a day, a half."""

    day: date
    half: str
    stand: Stand


def planned_sits(rng: np.random.Generator, weather: Weather) -> list[Sit]:
    """Every sit from the first opener to the last day drawn, in order of time."""
    sits: list[Sit] = []
    rested: dict[str, date] = {}
    for season in SEASONS:
        day = date(season, *OPENS)
        while day <= min(date(season + 1, *CLOSES), LAST_DAY):
            for half in ("AM", "PM"):
                if rng.random() < _keenness(day, half):
                    stand = _pick_stand(rng, weather, day, half, rested)
                    if stand is not None:
                        sits.append(Sit(day, half, stand))
                        rested[stand.name] = day
            day += timedelta(days=1)
    return sits


def _keenness(day: date, half: str) -> float:
    """Chance that he goes out: weekends, more in the rut, mornings mostly in November."""
    rut = date(day.year, 11, 1) <= day <= date(day.year, 11, 21)
    base = 0.36 if day.weekday() >= 5 else 0.035
    if rut:
        base = 0.62 if day.weekday() >= 5 else 0.18
    return base * (0.45 if half == "AM" and not rut else 1.0)


def _pick_stand(
    rng: np.random.Generator, weather: Weather, day: date, half: str, rested: dict[str, date]
) -> Stand | None:
    wind = weather.wind_at(day, 7 if half == "AM" else 17)
    use = "morning" if half == "AM" else "evening"
    fit = [
        stand
        for stand in STANDS
        if stand.use in (use, "either")
        and (not stand.winds or wind in stand.winds.split(";"))
        and (day - rested.get(stand.name, date(2000, 1, 1))).days > stand.rest_days
        and (stand.name != "Bean Tripod" or day.month == 9)
        and (stand.name != "Bench Hang-on" or day.month == 11)
    ]
    return fit[int(rng.integers(len(fit)))] if fit else None


def scared(sits: list[Sit]) -> set[tuple[str, date]]:
    """Site and day pairs within a few days after a sit nearby."""
    return {
        (site, sit.day + timedelta(days=k))
        for sit in sits
        for site in sit.stand.sites
        for k in range(1, SCARED_DAYS + 1)
    }
