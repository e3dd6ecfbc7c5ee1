"""Which rules of the trade bite on one sit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta

from deerlog.analysis.plan.plan_rules import DARK_VISITS, PlanRules
from deerlog.analysis.plan.planned_sits import Bite, HalfDay, PlannedSit, StandPlace
from deerlog.analysis.plan.sit_wind import mean_direction
from deerlog.analysis.visits import HALVES

FOOD = "food"
MORNING = HALVES[0]


def bites_alone(
    sit: PlannedSit,
    place: StandPlace,
    half_day: HalfDay,
    rules: PlanRules,
    past_sits: Sequence[date],
) -> tuple[Bite, ...]:
    """Rules that bite on a sit by itself, whatever else is planned.

    Parameters
    ----------
    past_sits
        Days the stand was sat on, all before the plan.
    """
    found = []
    if half_day.starts is None:
        found.append(Bite(rule="light"))
    if rules.season_dates and half_day.is_open is False:
        found.append(Bite(rule="season_dates"))
    if not rules.mornings_at_food and half_day.half == MORNING and FOOD in place.settings:
        found.append(Bite(rule="mornings_at_food"))
    wind = half_day.wind
    if rules.wind and wind is not None and wind.suits(place.winds_degrees) is False:
        wrong = wind.wrong(place.winds_degrees)
        partly = len(wrong) < len(wind.degrees)
        found.append(Bite(rule="wind", wind_degrees=mean_direction(wrong), partly=partly))
    if rules.rest and (sat := _resting_since(half_day.day, past_sits, place.rest_days)):
        free = sat + timedelta(days=place.rest_days + 1)
        found.append(Bite(rule="rest", day=sat, free_from=free))
    dark = sit.behind.recent_visits >= DARK_VISITS and sit.behind.recent_in_light == 0
    if not rules.dark_spots and dark and sit.chance < rules.sit_at_least:
        found.append(Bite(rule="dark_spots"))
    return tuple(found)


def choose_sits(
    sits: Sequence[tuple[PlannedSit, StandPlace]], rules: PlanRules
) -> list[PlannedSit]:
    """The best sits that go together: one a half-day, and no stand within its rest days of another.

    Greedy by falling chance: the best sit of the plan is always in it. A sit on which a rule bites
    already is returned as it is; one that gives way to a better one says to which.
    """
    chosen: list[PlannedSit] = []
    result = []
    for sit, place in sorted(sits, key=lambda s: (-s[0].chance, s[0].day, s[0].half, s[0].place)):
        if not sit.bites:
            sit = replace(sit, bites=_gives_way(sit, place, chosen, rules))
            if not sit.bites:
                chosen.append(sit)
        result.append(sit)
    return result


def _gives_way(
    sit: PlannedSit, place: StandPlace, chosen: Iterable[PlannedSit], rules: PlanRules
) -> tuple[Bite, ...]:
    if sit.chance < rules.sit_at_least:
        return (Bite(rule="sit_at_least"),)
    for other in chosen:
        if (other.day, other.half) == (sit.day, sit.half):
            return (Bite(rule="better_stand", stand=other.place),)
        gap = abs((other.day - sit.day).days)
        if rules.rest and other.place == sit.place and 1 <= gap <= place.rest_days:
            return (Bite(rule="better_day", day=other.day),)
    return ()


def _resting_since(day: date, past_sits: Sequence[date], rest_days: int) -> date | None:
    """The last sit whose rest a day falls in. Both halves of one day are one disturbance."""
    resting = [s for s in past_sits if 1 <= (day - s).days <= rest_days]
    return max(resting, default=None)
