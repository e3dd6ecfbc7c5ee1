"""Where to sit in the coming days, and where to stay out: stands by half-days, ranked; and which
rules of the trade speak against one sit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from itertools import product
from math import isnan, nan

import numpy as np
import pandas as pd

from deerlog.analysis.forecast.chances import Forecast
from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.plan.half_days import mean_direction
from deerlog.analysis.plan.planned_sits import TIES, HalfDay, PlannedSit, StandPlace, Veto
from deerlog.analysis.plan.rules import DARK_VISITS, RECENT_DAYS, PlanRules
from deerlog.analysis.plan.stand_chances import Behind, behind, stand_chances
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import SeasonCalendar

FOOD = "food"
MORNING = HALVES[0]


def own_vetoes(
    sit: PlannedSit,
    place: StandPlace,
    half_day: HalfDay,
    rules: PlanRules,
    past_sits: Sequence[date],
    burnt: Veto | None = None,
) -> tuple[Veto, ...]:
    """Rules against a sit by itself, whatever else is planned; ``past_sits`` are the days the stand
    was sat on, all before the plan."""
    found = []
    if half_day.starts is None:
        found.append(Veto(rule="light"))
    if rules.season_dates and half_day.is_open is False:
        found.append(Veto(rule="season_dates"))
    if not place.is_in_time(half_day.day):
        found.append(Veto(rule="time_of_year"))
    if burnt is not None and burnt.free_from is not None and half_day.day < burnt.free_from:
        found.append(burnt)
    if not rules.mornings_at_food and half_day.half == MORNING and FOOD in place.settings:
        found.append(Veto(rule="mornings_at_food"))
    wind = half_day.wind
    if rules.wind and wind is not None and wind.suits(place.winds_degrees) is False:
        wrong = wind.wrong(place.winds_degrees)
        partly = len(wrong) < len(wind.degrees)
        found.append(Veto(rule="wind", wind_degrees=mean_direction(wrong), partly=partly))
    if rules.rest and (sat := _resting_since(half_day.day, past_sits, place.rest_days)):
        free = sat + timedelta(days=place.rest_days + 1)
        found.append(Veto(rule="rest", day=sat, free_from=free))
    dark = sit.behind.recent_visits >= DARK_VISITS and sit.behind.recent_in_light == 0
    if not rules.dark_spots and dark and sit.chance < rules.sit_at_least:
        found.append(Veto(rule="dark_spots"))
    return tuple(found)


def choose_sits(
    sits: Sequence[tuple[PlannedSit, StandPlace]],
    rules: PlanRules,
    times_sat: Mapping[str, int] | None = None,
) -> list[PlannedSit]:
    """The best sits that go together: one a half-day, and no stand within its rest days of another.

    Greedy by falling chance, but that sits whose chances differ by less than their doubt are a tie:
    then one whose wind is known to suit goes first, then the stand that was sat on less of late
    (``times_sat``), then the cooler, calmer half-day where that is known of all of them, then the
    greater chance. A sit that a rule is against already is returned as it is; one that gives way to
    a better one says to which. Neither has a part in a tie. All of them, by falling chance.
    """
    chosen: list[PlannedSit] = []
    result = [sit for sit, _ in sits if sit.vetoes]
    left = sorted((each for each in sits if not each[0].vetoes), key=lambda s: _by_chance(s[0]))
    while True:
        ways = [_gives_way(sit, place, chosen, rules) for sit, place in left]
        result += [replace(s, vetoes=way) for (s, _), way in zip(left, ways, strict=True) if way]
        left = [each for each, way in zip(left, ways, strict=True) if not way]
        if not left:
            return sorted(chosen + result, key=_by_chance)
        chosen.append(_of_the_tied(left, times_sat or {}))


def _by_chance(sit: PlannedSit) -> tuple[float, date, str, str]:
    return -sit.chance, sit.day, sit.half, sit.place


def _of_the_tied(
    left: list[tuple[PlannedSit, StandPlace]], times_sat: Mapping[str, int]
) -> PlannedSit:
    """Take the best sit, or the one among those as good within their doubt that costs least."""
    best = left[0][0]
    # A quarter of a 95 % interval is a standard deviation; the surer of two is the judge.
    doubt = [min(best.high - best.low, s.high - s.low) / 4 for s, _ in left]
    tied = [n for n, (s, _) in enumerate(left) if best.chance - s.chance < doubt[n]] or [0]
    unrest = [left[n][0].unrest for n in tied]
    known = not any(each is None for each in unrest)
    cost = {
        n: (
            bool(left[n][0].winds) and not left[n][0].wind_known,
            times_sat.get(left[n][0].place, 0),
            (each or 0.0) if known else 0.0,
        )
        for n, each in zip(tied, unrest, strict=True)
    }
    first = min(tied, key=lambda n: (cost[n], n))
    sit, _ = left.pop(first)
    if not first:
        return sit
    differs = (a != b for a, b in zip(cost[first], cost[0], strict=True))
    return replace(sit, tie=next(name for name, by in zip(TIES, differs, strict=True) if by))


def _unrest(half_day: HalfDay) -> float:
    return nan if half_day.wind is None else half_day.wind.unrest


def _mean_unrest(half_days: Iterable[HalfDay], half: str) -> float:
    known = [u for h in half_days if h.half == half and not isnan(u := _unrest(h))]
    return sum(known) / len(known) if known else nan


def _gives_way(
    sit: PlannedSit, place: StandPlace, chosen: Iterable[PlannedSit], rules: PlanRules
) -> tuple[Veto, ...]:
    if sit.chance < rules.sit_at_least:
        return (Veto(rule="sit_at_least"),)
    for other in chosen:
        if (other.day, other.half) == (sit.day, sit.half):
            return (Veto(rule="better_stand", stand=other.place),)
        gap = abs((other.day - sit.day).days)
        if rules.rest and other.place == sit.place and 1 <= gap <= place.rest_days:
            return (Veto(rule="better_day", day=other.day),)
    return ()


def _resting_since(day: date, past_sits: Sequence[date], rest_days: int) -> date | None:
    """The last sit whose rest a day falls in. Both halves of one day are one disturbance."""
    resting = [s for s in past_sits if 1 <= (day - s).days <= rest_days]
    return max(resting, default=None)


SITE_COLUMNS = ["day", "half", "site", "buck", "chance", "low", "high"]


def plan(
    forecast: Forecast,
    places: Sequence[StandPlace],
    bucks: Sequence[str],
    half_days: Sequence[HalfDay],
    *,
    rules: PlanRules,
    past_sits: Mapping[str, Sequence[date]],
    burnt: Mapping[str, Veto],
    grid: SightingGrid,
    visits: pd.DataFrame,
    calendar: SeasonCalendar,
) -> tuple[PlannedSit, ...]:
    """Rank the coming sits: sits first, then what is neither, then stay-outs; each by falling
    chance.

    At most one sit is advised in each half of a day, and no stand within its rest days of another
    sit of the plan. ``half_days`` are AM and PM of each day of the forecast, in order;
    ``past_sits``, by stand, days it was sat on before the plan; ``burnt`` the stands that are;
    ``grid`` and ``visits`` what is known, for the counts behind each chance.
    """
    if not places:
        return ()
    chosen = np.array([forecast.bucks.index(b) for b in bucks], dtype=np.int64)
    chances = stand_chances(forecast, [np.array(p.sites) for p in places], chosen)

    @cache
    def counted(n: int, half: str, phase: str, buck: str) -> Behind:
        sites = np.array(places[n].sites)
        return behind(grid, visits, calendar, bucks=[buck], sites=sites, half=half, phase=phase)

    # Against other mornings, or other evenings: a morning is nearly always the cooler.
    usual = {half: _mean_unrest(half_days, half) for half in HALVES}
    found = []
    for row, half_day in enumerate(half_days):
        d, h = divmod(row, len(HALVES))
        for n, place in enumerate(places):
            if half_day.half not in place.halves:
                continue
            main = int(chances.main_buck[d, n, h])
            own, low, high = (
                float(each[d, main, n, h])
                for each in (chances.own, chances.own_low, chances.own_high)
            )
            sit = PlannedSit(
                day=half_day.day,
                half=half_day.half,
                stand=place.name,
                site=forecast.sites[int(chances.main_site[d, n, h])],
                buck=bucks[main],
                chance=own,
                low=low,
                high=high,
                any_chance=float(chances.chance[d, n, h]),
                around=float(forecast.around[d, chosen[main]]),
                n_bucks=len(bucks),
                behind=counted(n, half_day.half, half_day.phase, bucks[main]),
                winds=place.winds,
                unrest=0.0
                if isnan(_unrest(half_day))
                else _unrest(half_day) - usual[half_day.half],
                wind_known=half_day.wind is not None and len(half_day.wind.degrees) > 0,
                starts=half_day.starts,
                ends=half_day.ends,
                rest_days=place.rest_days,
                seasons=half_day.seasons,
                baited=place.baited,
            )
            sat, is_burnt = past_sits.get(sit.place, ()), burnt.get(sit.place)
            vetoes = own_vetoes(sit, place, half_day, rules, sat, is_burnt)
            found.append((replace(sit, vetoes=vetoes), place))
    since = half_days[0].day - timedelta(days=RECENT_DAYS) if half_days else date.min
    times_sat = {name: sum(day >= since for day in days) for name, days in past_sits.items()}
    order = {"sit": 0, "": 1, "stay out": 2}
    return tuple(
        sorted(
            choose_sits(found, rules, times_sat),
            key=lambda s: (order[s.advice], *_by_chance(s)),
        )
    )


def site_chances(forecast: Forecast, bucks: Sequence[str], sites: Sequence[str]) -> pd.DataFrame:
    """Chance of every buck at every site in every half-day of a forecast: `SITE_COLUMNS`, one row a
    day, half, site and buck, in that order."""
    axes: list[Sequence[object]] = [list(forecast.days), HALVES, sites, bucks]
    rows = list(product(*axes))
    table = pd.DataFrame(rows, columns=SITE_COLUMNS[:4])
    if not rows:
        return table.reindex(columns=SITE_COLUMNS)
    places = [np.array([forecast.sites.index(site)]) for site in sites]
    chosen = np.array([forecast.bucks.index(b) for b in bucks], dtype=np.int64)
    chances = stand_chances(forecast, places, chosen)
    named = {"chance": chances.own, "low": chances.own_low, "high": chances.own_high}
    for name, values in named.items():
        # (days, bucks, sites, halves) to (days, halves, sites, bucks).
        table[name] = values.transpose(0, 3, 2, 1).ravel()
    return table
