"""The coming sits of a study: stands, seasons and sits, as typed, meet the chances."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

from deerlog.analysis.forecast.chances import Forecast
from deerlog.analysis.forecast.weather import WeatherEffects
from deerlog.analysis.plan.half_days import sit_times, sit_winds
from deerlog.analysis.plan.past_sits import burnt_stands
from deerlog.analysis.plan.planned_sits import HALVES_OF_USE, HalfDay, PlannedSit, StandPlace, Veto
from deerlog.analysis.plan.ranking import plan, site_chances
from deerlog.analysis.plan.rules import PlanRules
from deerlog.analysis.plan.stand_chances import some_days
from deerlog.analysis.visits import HALVES
from deerlog.errors import PropertyError
from deerlog.property.coordinates import point_degrees
from deerlog.property.matching import BuckNames, NameList
from deerlog.property.stands import REST_DAYS
from deerlog.study import PropertyStudy
from deerlog.study.plan_inputs import NotConsidered, not_considered, other_days, with_weather
from deerlog.study.replay import recent_worth


def stand_places(
    study: PropertyStudy, stand: str | None, aside: list[NotConsidered]
) -> list[StandPlace]:
    """The stands to plan for, or one alone; ``aside`` grows by those that had to be left out.

    Where no stand can be used, every site with a camera stands for itself.
    """
    table = study.place.stands
    left_out: Mapping[str, int] = study.place.stands_left_out
    if stand is not None:
        table = table[table["stand"] == _named(stand, table["stand"], left_out)]
        left_out = {}
    places: list[StandPlace] = []
    place_of = {site: n for n, site in enumerate(study.sighting_grid.sites)}
    setting = study.sites.set_index("site")["setting"].to_dict()
    bait = set(study.sites.loc[study.sites["bait"].astype(bool), "site"])

    def at(sites: Sequence[str]) -> dict[str, Any]:
        return {
            "sites": tuple(place_of[site] for site in sites),
            "settings": tuple(setting[site] for site in sites),
            "baited": tuple(site for site in sites if site in bait),
        }

    for row in table.to_dict("records"):
        watched = [site for site in row["sites"] if site in place_of]
        if not watched:
            none = f"{row['stand']}: no camera has run yet at {', '.join(row['sites'])}"
            aside.append(NotConsidered(none, "cards/"))
            continue
        places.append(
            StandPlace(
                **at(watched),
                name=row["stand"],
                halves=HALVES_OF_USE[row["use"]],
                winds=row["winds"],
                winds_degrees=tuple(point_degrees(point) for point in row["winds"]),
                rest_days=int(row["rest_days"]),
                opens=row["from"],
                closes=row["to"],
            )
        )
    for name, number in left_out.items():
        lost = f"{name}: the row of this stand is left out until it is mended"
        aside.append(NotConsidered(lost, f"stands.csv row {number}; `deerlog check`"))
    if table.empty:
        none = "no row can be used" if left_out else "none is given"
        none = f"Stands: {none}, so every site with a camera stands for itself"
        aside.append(NotConsidered(none, "stands.csv"))
        own = [site for site in study.running_sites if site in place_of]
        places = [StandPlace(**at([site]), name="", rest_days=REST_DAYS) for site in own]
    return places


def _named(stand: str, known: pd.Series, left_out: Mapping[str, int]) -> str:
    """The stand as stands.csv writes it; capitals and spaces do not matter.

    A PropertyError where there is no such stand, or its row is left out.
    """
    names = NameList(known)
    name = names.find(stand)
    if name is not None:
        return name
    lost = NameList(left_out).find(stand)
    if lost is not None:
        raise PropertyError(
            f"the stand {lost} is left out until its row is mended.",
            where=f"stands.csv row {left_out[lost]}",
            how="`deerlog check` says what is wrong with it.",
        )
    near = names.near(stand)
    raise PropertyError(
        f"there is no stand {stand}.",
        where="stands.csv",
        how=f"Write {near.name}, if that is meant."
        if near
        else f"The stands are: {', '.join(known) or 'none yet'}.",
    )


WEEK_DAYS = 7
"""Days of a plan where no other number is asked for, and of the plan on the report's page."""


@dataclass(frozen=True, kw_only=True)
class ComingPlan:
    """A plan for the days from ``first`` to ``last``, both included, by what ``as_of`` knows."""

    first: date
    last: date
    as_of: date
    bucks: tuple[str, ...]
    sits: tuple[PlannedSit, ...]
    not_considered: tuple[NotConsidered, ...]
    opens_next: tuple[date, str] | None
    """Where hunting is closed on all of its days: the next open day and the season's name."""
    sit_at_least: float
    """The chance below which it advises no sit."""
    effects: WeatherEffects | None = None
    """What weather does to the chances; those kept are in them. None without a forecast of it."""
    ahead: Forecast | None = None
    """The chances it stands on; None where there is nobody or no day to plan for."""
    goes_by_forecast: bool = False
    """Whether a forecast of the weather was given that covers any of its days."""
    worth: pd.DataFrame | None = None
    """What sits made of the chances given for them, of `deerlog.study.replay.recent_worth`."""


def coming_plan(
    study: PropertyStudy,
    *,
    n_days: int = WEEK_DAYS,
    weather: pd.DataFrame | None = None,
    buck: str | None = None,
    stand: str | None = None,
) -> ComingPlan:
    """Plan the days after the study's last day, for one buck or stand alone where it is given.

    Days past the end of the season are left off, and that is said. ``weather`` is a forecast of
    `deerlog.study.plan_inputs.read_forecast`. A PropertyError where there is no such buck or stand,
    or a rule under ``[plan]`` is wrong.
    """
    rules = PlanRules.from_settings(study.place.settings.plan)
    aside: list[NotConsidered] = []
    bucks = _bucks(study, buck, aside)
    days = study.days_ahead[:n_days]
    first = study.last_day.date() + timedelta(days=1)
    if len(days) < n_days:
        ends = f"Days after {study.last_season_day}, where the season ends"
        aside.append(NotConsidered(ends, "the next season's record"))
    stands = stand_places(study, stand, aside)
    elsewhere = None if weather is None else other_days(weather, days)
    if elsewhere is not None:
        aside.append(elsewhere)
        weather = None
    half_days = _half_days(study, days, rules, weather)
    aside += not_considered(
        study, rules, stands, half_days, weather, elsewhere=elsewhere is not None
    )
    sits: tuple[PlannedSit, ...] = ()
    ahead: Forecast | None = None
    if bucks and len(days):
        ahead = some_days(study.forecast, 0, len(days))
        if weather is not None:
            ahead = with_weather(study, ahead, weather)
        past_sits = {
            str(stand): sorted({day.date() for day in hunted})
            for stand, hunted in study.sits.groupby("stand")["day"]
        }
        sits = plan(
            ahead,
            stands,
            bucks,
            half_days,
            rules=rules,
            past_sits=past_sits,
            burnt=_burnt(study, rules),
            grid=study.sighting_grid,
            visits=study.visits,
            calendar=study.calendar,
        )
    return ComingPlan(
        first=first,
        last=days[-1].date() if len(days) else first,
        as_of=study.last_day.date(),
        bucks=bucks,
        sits=sits,
        not_considered=tuple(aside),
        opens_next=_opens_next(study, half_days) if rules.season_dates else None,
        sit_at_least=rules.sit_at_least,
        effects=None if weather is None else study.weather_effects,
        ahead=ahead,
        goes_by_forecast=weather is not None,
        worth=recent_worth(study),
    )


def _bucks(study: PropertyStudy, buck: str | None, aside: list[NotConsidered]) -> tuple[str, ...]:
    known = list(study.residency.prior_log_odds)
    if buck is not None:
        listed = BuckNames(study.place.bucks)
        name = listed.listed(buck) or NameList(known).find(buck)
        if name is None:
            near = listed.near(buck) or NameList(known).near(buck)
            raise PropertyError(
                f"there is no buck {buck}.",
                how=f"Write {near.name}, if he is meant."
                if near
                else f"The bucks with a tag are: {', '.join(known) or 'none yet'}.",
            )
        wanted: tuple[str, ...] = (name,)
    else:
        wanted = study.targets or tuple(known)
        if not study.targets:
            none = "Targets: no buck is marked as one, so all bucks are taken"
            aside.append(NotConsidered(none, "bucks.csv"))
    gone = study.gone if buck is None else ()
    for name in wanted:
        if name not in known:
            aside.append(NotConsidered(f"{name}: no sure tag of him yet", "tags/"))
        elif name in gone:
            aside.append(NotConsidered(f"{name}: most likely dead or gone for good", "tags/"))
    return tuple(name for name in wanted if name in known and name not in gone)


def _half_days(
    study: PropertyStudy, days: pd.DatetimeIndex, rules: PlanRules, weather: pd.DataFrame | None
) -> list[HalfDay]:
    times = sit_times(study.sun, days, **study.light, sit_hours=rules.sit_hours)
    winds = None if weather is None else sit_winds(weather, times)
    phases = np.repeat(study.calendar.phase_of(days), len(HALVES))
    half_days = []
    for n, (day, half, starts, ends) in enumerate(times.itertuples(index=False)):
        seasons = open_seasons(study, day.date())
        half_days.append(
            HalfDay(
                day=day.date(),
                half=half,
                phase=str(phases[n]),
                starts=None if pd.isna(starts) else starts.to_pydatetime(),
                ends=None if pd.isna(starts) else ends.to_pydatetime(),
                is_open=bool(seasons) if study.place.settings.hunting else None,
                seasons=seasons,
                wind=None if winds is None else winds[n],
            )
        )
    return half_days


def open_seasons(study: PropertyStudy, day: date) -> tuple[str, ...]:
    """Names of the hunting seasons that are open on a day."""
    return tuple(s.name for s in study.place.settings.hunting if s.is_open(day))


def _opens_next(study: PropertyStudy, half_days: Sequence[HalfDay]) -> tuple[date, str] | None:
    """The next open day, where hunting is closed on all the days planned for."""
    if not half_days or any(h.is_open is not False for h in half_days):
        return None
    days = (half_days[-1].day + timedelta(days=ahead) for ahead in range(1, 367))
    return next(((day, names[0]) for day in days if (names := open_seasons(study, day))), None)


def _burnt(study: PropertyStudy, rules: PlanRules) -> dict[str, Veto]:
    """By stand, that it is burnt."""
    table = burnt_stands(
        study.sits,
        study.place.stands,
        study.targets or None,
        study.visits,
        study.last_day,
        burnt_after=rules.burnt_after,
        burnt_days=rules.burnt_days,
    )
    return {
        str(stand): Veto(
            rule="burnt",
            day=row["last_sit"].date(),
            free_from=row["free_from"].date(),
            count=int(row["in_vain"]),
        )
        for stand, row in table.iterrows()
    }


def every_site(study: PropertyStudy, made: ComingPlan) -> pd.DataFrame:
    """Chance of every buck of a plan at every running site, stand or no stand.

    `plan.SITE_COLUMNS`, and the stands that cover the site and are hunted in that half, ``stands``
    (a tuple).
    """
    watched = [site for site in study.running_sites if site in study.sighting_grid.sites]
    if made.ahead is None:
        return pd.DataFrame(
            columns=["day", "half", "site", "buck", "chance", "low", "high", "stands"]
        )
    table = site_chances(made.ahead, made.bucks, watched)
    covering: dict[tuple[str, str], tuple[str, ...]] = {}
    for row in study.place.stands.to_dict("records"):
        for site in row["sites"]:
            for half in HALVES_OF_USE[row["use"]]:
                covering[site, half] = (*covering.get((site, half), ()), row["stand"])
    keys = zip(table["site"], table["half"], strict=True)
    table["stands"] = pd.Series([covering.get(key, ()) for key in keys], dtype=object)
    return table
