"""What a plan could not take into account, and what it is waiting for.

A forecast of the weather: read from its file, and put into the chances.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from deerlog.analysis.forecast.chances import Forecast
from deerlog.analysis.forecast.weather import weather_drivers
from deerlog.analysis.plan.planned_sits import HalfDay, StandPlace
from deerlog.analysis.plan.rules import PlanRules
from deerlog.errors import Problem, PropertyError
from deerlog.property.weather import read_weather
from deerlog.study import Study

UNKNOWN_DAYS = 8
"""Days without any camera before the plan that are worth saying (our choice: more than a week)."""

WEATHER_OPTION = "--weather FILE"
"""What gives a forecast of the weather, to the plan and to the report alike."""


@dataclass(frozen=True, kw_only=True)
class NotConsidered:
    """Something the plan could not take into account, and what it is waiting for."""

    what: str
    missing: str


def days_not_told(study: Study) -> Iterator[NotConsidered]:
    """Days before the plan of which no card, or no person, has told yet."""
    if study.untagged_visits:
        one = study.untagged_visits == 1
        yield NotConsidered(
            what=f"{study.untagged_visits:,} {'visit' if one else 'visits'} not tagged yet: "
            f"the days about {'it' if one else 'them'} count as watched only in part",
            missing="tags/",
        )
    until = study.ran_until
    if until is None:
        return
    gap = (study.last_day.date() - until).days
    if gap >= UNKNOWN_DAYS:
        yield NotConsidered(
            what=f"The {gap} days since {until}: no camera is known to have run", missing="cards/"
        )


def other_days(weather: pd.DataFrame, days: pd.DatetimeIndex) -> NotConsidered | None:
    """A forecast of none of the days planned for; None where it covers any of them."""
    told = pd.DatetimeIndex(weather["time"]).normalize()
    if not len(days) or told.isin(days).any():
        return None
    return NotConsidered(
        what=f"The weather forecast: it is of {told.min().date()} to {told.max().date()}, the plan "
        f"of {days[0].date()} to {days[-1].date()}",
        missing="a forecast of these days, or another day: plan --from, report --as-of",
    )


def wind_not_given(
    rules: PlanRules,
    stands: Sequence[StandPlace],
    half_days: Sequence[HalfDay],
    weather: pd.DataFrame | None,
) -> Iterator[NotConsidered]:
    """The wind, where a stand is particular about it and nothing tells of it.

    Parameters
    ----------
    weather
        The forecast the plan was given, if any.
    """
    if not rules.wind or not any(place.winds for place in stands):
        return
    if weather is None:
        yield NotConsidered(what="Wind: no forecast is given", missing=WEATHER_OPTION)
        return
    unknown = [h for h in half_days if h.wind is not None and not len(h.wind.degrees)]
    if unknown:
        some = f" on {len(unknown)} of {len(half_days)} half-days"
        which = some if len(unknown) < len(half_days) else ""
        yield NotConsidered(
            what=f"Wind{which}: the forecast gives no direction for "
            f"{'them' if which else 'any half-day'}",
            missing="a forecast that does",
        )


def not_given(
    study: Study, rules: PlanRules, weather: pd.DataFrame | None
) -> Iterator[NotConsidered]:
    """Rules that are wanted but had nothing to go by: weather, rest, season dates."""
    if weather is not None and study.known_weather is None:
        yield NotConsidered(
            what="What weather does to the chances: no past weather is known",
            missing="weather.csv",
        )
    if rules.rest and "sits.csv" in study.place.missing and len(study.place.stands):
        yield NotConsidered(what="Rest after a sit: no sits are known", missing="sits.csv")
    if rules.season_dates and not study.place.settings.hunting:
        yield NotConsidered(
            what="Season dates: none is given", missing="[[hunting]] in property.toml"
        )


def with_weather(study: Study, ahead: Forecast, weather: pd.DataFrame) -> Forecast:
    """A forecast of chances with what a weather forecast does to them, as far as that is known.

    Where no weather has been kept to learn from, or none of it has earned its place, nothing is
    changed.
    """
    effects = study.weather_effects
    if effects is None or study.known_weather is None or not effects.kept.any():
        return ahead
    coming = weather[weather["time"] >= study.last_day + pd.Timedelta(days=1)]
    both = pd.concat([study.known_weather, coming], ignore_index=True)
    days = pd.DatetimeIndex(study.sighting_grid.days.append(ahead.days))
    drivers = weather_drivers(both, study.sun, days, study.last_day)
    change = effects.log_odds(drivers)[-len(ahead.days) :]
    return replace(ahead, log_odds=ahead.log_odds + change[:, None, None, :])


def read_forecast(study: Study, path: Path | None) -> tuple[pd.DataFrame | None, list[Problem]]:
    """A weather forecast from a file in the form of weather.csv; nothing where there is none.

    Raises
    ------
    PropertyError
        The file holds nothing that can be used.
    """
    if path is None:
        return None, []
    weather, problems = read_weather(
        path, study.place.settings.timezone, date_order=study.place.settings.date_order
    )
    if weather is None:
        first = problems[0] if problems else None
        raise PropertyError(
            first.why if first else "the file holds no row of weather.",
            where=str(path),
            how=first.how if first else "Put a row for each hour or day below the header.",
        )
    return weather, problems
