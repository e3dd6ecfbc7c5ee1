"""The one place where the worlds ask the analysis: labels, chances, the interval of a stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.effort_grid import blanks_as_nobody, light_only, names_only, watched_effort
from deerlog.analysis.forecast.chances import Forecast, learn
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.sighting_grid import sighting_grid
from deerlog.analysis.plan.stand_chances import stand_chances
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.presence import around, past_seasons
from deerlog.analysis.residency.residency import residency
from deerlog.analysis.visits import buck_visits
from deerlog.timekeeping.sun import sun_times

from .world_property import WorldProperty

Floats = npt.NDArray[np.float64]

MAY_BE_ABSENT = ("p_gone", "p_passing")


@dataclass(frozen=True, kw_only=True)
class Chances:
    """Chances of D days, B bucks and S sites.

    Attributes
    ----------
    chance
        Shape (D, B, S, 2): of a visit in shooting light, AM and PM; NaN where none is given.
    made
        What `stand_interval` needs.
    """

    bucks: tuple[str, ...]
    sites: tuple[str, ...]
    chance: Floats
    made: Forecast


def labels(asked: WorldProperty, as_of: pd.Timestamp) -> pd.DataFrame:
    """Label of every buck with a sure tag by the end of a day.

    Returns
    -------
    DataFrame
        ``buck``, ``label``, ``score`` (0 to 100) and `MAY_BE_ABSENT` (NaN where the analysis has no
        such column), of the whole record.
    """
    visits, watched = _record(asked, as_of)
    table = residency(
        visits, watched, asked.simulated.calendar, as_of=as_of, targets=asked.targets,
        unsure=asked.memory["unsure"],
    ).table  # fmt: skip
    table = table[table["season"] == "all"]
    columns = ["buck", "label", "score", *MAY_BE_ABSENT]
    return table.reindex(columns=columns).reset_index(drop=True)


def chances(asked: WorldProperty, as_of: pd.Timestamp, days: pd.DatetimeIndex) -> Chances:
    """Chances of every buck at every site on some days, given at the end of a day before them."""
    visits, watched = _record(asked, as_of)
    simulated = asked.simulated
    judgement = ForecastJudgement()
    presence = Judgement()
    season = int(simulated.calendar.season_of(days[:1])[0])
    if ("past", season) not in asked.memory:
        asked.memory["past", season] = past_seasons(
            visits, watched, simulated.calendar, season, presence, asked.memory["unsure"]
        )
    here = around(asked.memory["past", season], visits, watched, as_of, until=days[-1])
    first = min(visits["day"].min(), watched["day"].min())
    grid = sighting_grid(visits, watched, first, as_of, asked.memory["unsure"])
    learned = learn(
        grid, visits, here, simulated.calendar, simulated.sites, judgement,
        before=asked.memory.get("learned"),
    )  # fmt: skip
    asked.memory["learned"] = learned
    made = learned.forecast(days)
    return Chances(bucks=made.bucks, sites=made.sites, chance=made.chance(), made=made)


def stand_interval(
    given: Chances, sites: Sequence[str], bucks: Sequence[str]
) -> tuple[Floats, Floats, Floats]:
    """Chance that any of some bucks comes to a stand at each of some sites, and its interval.

    Returns
    -------
    chance, low, high
        Shape (D, sites, 2); 95 % interval.
    """
    at = [np.array([given.sites.index(site)]) for site in sites]
    of = np.array([given.bucks.index(buck) for buck in bucks], dtype=np.int64)
    found = stand_chances(given.made, at, of)
    return found.chance, found.low, found.high


def _record(asked: WorldProperty, as_of: pd.Timestamp) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Visits with a sure tag, and what ran and was looked at, as known at the end of a day."""
    simulated = asked.simulated
    if "visits" not in asked.memory:
        sightings = simulated.sightings
        sun = _sun(
            simulated.latitude, simulated.longitude, simulated.zone,
            date(simulated.seasons[0], 1, 1), date(simulated.seasons[-1] + 2, 1, 1),
        )  # fmt: skip
        for name, some in (("visits", ~sightings["unsure"]), ("unsure", sightings["unsure"])):
            asked.memory[name] = buck_visits(sightings[some], sun, simulated.calendar)
    visits = asked.memory["visits"]
    effort = simulated.effort[simulated.effort["day"] <= as_of].reset_index(drop=True)
    if asked.looked_at is not None:
        came = asked.looked_at["first"].dt.tz_localize(None).dt.normalize() <= as_of
        looked_at = asked.looked_at[came]
        if light_only(looked_at):
            looked_at = looked_at[looked_at["in_light"]]
        named = looked_at["visit"].isin(asked.simulated.sightings["visit"])
        if names_only(looked_at.assign(named=named & looked_at["tagged"])):
            looked_at = blanks_as_nobody(looked_at)
        effort = watched_effort(effort, looked_at)
    return visits[visits["day"] <= as_of].reset_index(drop=True), effort


@lru_cache
def _sun(*place_and_days: Any) -> pd.DataFrame:
    return sun_times(*place_and_days)
