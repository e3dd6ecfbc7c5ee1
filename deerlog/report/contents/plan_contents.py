"""What the page shows of the coming sits and of his ground."""

from __future__ import annotations

from deerlog.analysis.plan.sit_groups import SitGroup, sit_groups
from deerlog.report.page_data import LeftOut, PlanView, SitAdvice, StayOut
from deerlog.report.plan_words import (
    closed_words,
    group_bucks,
    group_chance,
    group_days,
    group_why,
    no_sit_words,
    outlook_words,
    part_of_day,
    stay_outs,
)
from deerlog.study.not_considered import WEATHER_OPTION
from deerlog.study.plan import ComingPlan

WITH_WEATHER = f"deerlog report {WEATHER_OPTION}"
"""The command that puts a forecast of the weather into the page."""


def plan_view(made: ComingPlan, *, forecast_given: bool = False) -> PlanView:
    """The plan as the first screen has it.

    Parameters
    ----------
    forecast_given
        Whether a forecast of the weather went into it.
    """
    return PlanView(
        first=made.first,
        last=made.last,
        sits=tuple(_advice(group) for group in sit_groups(made.sits)),
        stay_outs=tuple(
            StayOut(where=where, why=reason)
            for where, reason in stay_outs(made.sits, made.sit_at_least)
        ),
        none=no_sit_words(made.sits),
        closed=None if made.opens_next is None else closed_words(*made.opens_next),
        ahead=tuple(outlook_words(outlook) for outlook in made.outlook),
        stands_on=STANDS_ON_FORECAST if forecast_given else STANDS_ON_NO_FORECAST,
        to_have_it=None if forecast_given else WITH_WEATHER,
    )


STANDS_ON_FORECAST = "This plan goes by the weather forecast that was given."
STANDS_ON_NO_FORECAST = (
    "This plan was made without a weather forecast: whether the wind suits a stand is yours to see."
)


def _advice(group: SitGroup) -> SitAdvice:
    half = part_of_day(group.best.half)
    days = group_days(group)
    return SitAdvice(
        when=f"{days}, {half}" if group.first == group.last else f"Any {half}, {days}",
        stand=group.best.place,
        why=group_why(group),
        bucks=group_bucks(group),
        chance=group_chance(group),
        low=group.low,
        high=group.high,
    )


def plan_left_out(made: ComingPlan) -> tuple[LeftOut, ...]:
    """What the plan could not consider."""
    return tuple(
        LeftOut(
            what=item.what,
            missing=WITH_WEATHER if item.missing == WEATHER_OPTION else item.missing,
        )
        for item in made.not_considered
    )
