"""The season of a study: where each buck stands in his own calendar, and the ways to hunt him."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

from deerlog.analysis.plan.planned_sits import HALVES_OF_USE
from deerlog.analysis.plan.rules import PlanRules
from deerlog.analysis.season.own_days import OwnDays, days_of_visits
from deerlog.analysis.season.stays import Whereabouts, whereabouts
from deerlog.analysis.season.ways import HuntedGround, outlook
from deerlog.study import PropertyStudy


@dataclass(frozen=True, kw_only=True)
class SeasonAhead:
    """What the season holds for each wanted buck."""

    outlook: pd.DataFrame
    """Of `deerlog.analysis.season.ways.outlook`."""
    whereabouts: Mapping[str, Whereabouts]
    own_days: Mapping[str, OwnDays | None]
    """The bucks who only come for a while, with their days; None where no past tells of them."""
    rut_peak: pd.Timestamp
    sit_at_least: float
    """The chance below which no sit is advised."""


def season_ahead(study: PropertyStudy) -> SeasonAhead:
    """Work out the season of a study."""
    season, grid, judgement = study.season_now, study.sighting_grid, study.judgement
    labels = study.residency.table.query("season == 'all'").set_index("buck")
    own_days = {
        buck: days_of_visits(
            study.stays[study.stays["buck"] == buck],
            grid,
            study.calendar,
            season,
            usual_arrival=(judgement.rut_arrival_after_peak, judgement.rut_arrival_sd),
            usual_length=judgement.rut_stay_days,
            skip=judgement.rut_skip,
        )
        for buck in study.wanted
        if labels.at[buck, "label"] == "visiting" and labels.at[buck, "pattern"] != "summer"
    }
    rules = PlanRules.from_settings(study.place.settings.plan)
    ground = HuntedGround(
        sites=study.sites[study.sites["site"].isin(grid.sites)],
        stand_of={
            (site, half): row["stand"]
            for row in study.place.stands.to_dict("records")
            for site in row["sites"]
            for half in HALVES_OF_USE[row["use"]]
        },
        opening_days=[
            each.days(year)
            for year in (season - 1, season, season + 1)
            for each in study.place.settings.hunting
        ],
        opener_days=int(rules.opener_days),
    )
    return SeasonAhead(
        outlook=outlook(study.forecast, grid, study.calendar, ground, study.wanted, own_days),
        whereabouts={b: whereabouts(study.stays, grid, study.calendar, b) for b in study.wanted},
        own_days=own_days,
        rut_peak=pd.Timestamp(study.calendar.rut_peak_day(season)),
        sit_at_least=rules.sit_at_least,
    )
