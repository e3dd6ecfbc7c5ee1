"""Simulated properties run through the residency engine, and its answers beside the truth."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

import pandas as pd

from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.residency.residency import Residency, residency
from deerlog.analysis.visits import buck_visits
from deerlog.timekeeping.sun import sun_times

from .hand_rules import resident_by_months, resident_by_weeks
from .scoring import bucks_to_score
from .simulated_property import SimulatedProperty


def visits_of(simulated: SimulatedProperty) -> pd.DataFrame:
    """Visits with a sure tag, as the analysis reads them."""
    sightings = simulated.sightings
    sun = _sun(
        simulated.latitude, simulated.longitude, simulated.zone,
        date(simulated.seasons[0], 1, 1), date(simulated.seasons[-1] + 2, 1, 1),
    )  # fmt: skip
    return buck_visits(sightings[~sightings["unsure"]], sun, simulated.calendar)


def residency_of(simulated: SimulatedProperty, judgement: Judgement | None = None) -> Residency:
    """What the engine makes of a simulated property on the last day of its tables."""
    return residency(
        visits_of(simulated),
        simulated.effort,
        simulated.calendar,
        as_of=pd.Timestamp(simulated.as_of).as_unit("us"),
        judgement=judgement,
    )


def judged_bucks(simulated: SimulatedProperty, result: Residency | None = None) -> pd.DataFrame:
    """Every buck with a sure tag: the truth, the engine's answer and those of the hand rules.

    Returns
    -------
    DataFrame
        ``buck``; ``lives_here`` (truth: by his pattern of the season a resident, and not dead
        before the pre-rut); ``alive`` (on the last day of the tables); ``score, label,
        days_seen``; ``by_weeks, by_months`` (the hand rules call him a resident).
    """
    truth = bucks_to_score(simulated, alive=False)
    if truth.empty:
        return pd.DataFrame()
    result = residency_of(simulated) if result is None else result
    season = int(truth["season"].iloc[0])
    pre_rut = next(
        pd.Timestamp(begins)
        for name, begins, _ in simulated.calendar.phase_bounds(season)
        if name == "pre-rut"
    )
    dead_early = truth["alive_until"] < pre_rut
    whole = result.table[result.table["season"] == "all"].set_index("buck")
    table = pd.DataFrame(
        {
            "buck": truth["buck"],
            "lives_here": truth["resident"] & ~dead_early,
            "alive": ~(truth["alive_until"] < pd.Timestamp(simulated.as_of)),
        }
    ).join(whole[["score", "label", "days_seen"]], on="buck")
    rules = {"calendar": simulated.calendar, "season": season}
    weeks = resident_by_weeks(simulated.sightings, simulated.effort, table["buck"], **rules)
    months = resident_by_months(simulated.sightings, table["buck"], **rules)
    return table.assign(by_weeks=weeks.to_numpy(), by_months=months.to_numpy())


@lru_cache
def _sun(latitude: float, longitude: float, zone: str, first: date, last: date) -> pd.DataFrame:
    return sun_times(latitude, longitude, zone, first, last)
