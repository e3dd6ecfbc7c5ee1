"""What a plan could not take into account; a weather forecast, read and put into the chances."""

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
from deerlog.property.wording import agree, count
from deerlog.study import PropertyStudy

UNKNOWN_DAYS = 8
"""Days without any camera before the plan that are worth saying (our choice: more than a week)."""

WEATHER_OPTION = "--weather FILE"
"""What gives a forecast of the weather, to the plan and to the report alike."""


@dataclass(frozen=True)
class NotConsidered:
    """Something the plan could not take into account, and what it is waiting for."""

    what: str
    missing: str

    def waits_for(self, command: str) -> str:
        """``missing``; where it is a forecast of the weather, as ``command`` takes one."""
        return f"{command} {WEATHER_OPTION}" if self.missing == WEATHER_OPTION else self.missing


def other_days(weather: pd.DataFrame, days: pd.DatetimeIndex) -> NotConsidered | None:
    """A forecast of none of the days planned for; None where it covers any of them."""
    known = pd.DatetimeIndex(weather["time"]).normalize()
    if not len(days) or known.isin(days).any():
        return None
    return NotConsidered(
        f"The weather forecast: it is of {known.min().date()} to {known.max().date()}, the plan of "
        f"{days[0].date()} to {days[-1].date()}",
        "a forecast of these days, or another day: plan --from, report --as-of",
    )


def not_considered(
    study: PropertyStudy,
    rules: PlanRules,
    stands: Sequence[StandPlace],
    half_days: Sequence[HalfDay],
    weather: pd.DataFrame | None,
    *,
    elsewhere: bool,
) -> Iterator[NotConsidered]:
    """Days before the plan of which no card, or no person, has told yet; rules that are wanted but
    had nothing to go by: wind, weather, rest, season dates.

    ``elsewhere``: a forecast was given, of other days than these.
    """
    n = study.untagged_visits
    if n:
        yield NotConsidered(
            f"{count(n, 'visit')} not tagged yet: the days about {agree(n, 'it', 'them')} count as "
            "watched only in part",
            "tags/",
        )
    if study.light_only:
        yield NotConsidered(
            "Visits in the dark: hardly one was looked at, so that the days count as watched by "
            "those in shooting light alone",
            "tags/",
        )
    if study.names_only:
        yield NotConsidered(
            "Visits with nobody on them: hardly one is marked -, so a blank before the last name "
            "counts as nobody named (blank_means in property.toml)",
            "tags/",
        )
    until = study.ran_until
    if until is not None and (gap := (study.last_day.date() - until).days) >= UNKNOWN_DAYS:
        yield NotConsidered(
            f"The {gap} days since {until}: no camera is known to have run", "cards/"
        )
    if rules.wind and any(place.winds for place in stands) and not elsewhere:
        unknown = sum(h.wind is not None and not len(h.wind.degrees) for h in half_days)
        missing = "a forecast that does"
        if weather is None:
            yield NotConsidered("Wind: no forecast is given", WEATHER_OPTION)
        elif unknown == len(half_days) > 0:
            yield NotConsidered("Wind: the forecast gives no direction for any half-day", missing)
        elif unknown:
            some = f"Wind on {unknown} of {len(half_days)} half-days"
            yield NotConsidered(f"{some}: the forecast gives no direction for them", missing)
    if weather is not None and study.known_weather is None:
        none = "What weather does to the chances: no past weather is known"
        yield NotConsidered(none, "weather.csv")
    if rules.rest and "sits.csv" in study.place.missing and len(study.place.stands):
        yield NotConsidered("Rest after a sit: no sits are known", "sits.csv")
    if rules.season_dates and not study.place.settings.hunting:
        yield NotConsidered("Season dates: none is given", "[[hunting]] in property.toml")


def with_weather(study: PropertyStudy, ahead: Forecast, weather: pd.DataFrame) -> Forecast:
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


def read_forecast(
    study: PropertyStudy, path: Path | None
) -> tuple[pd.DataFrame | None, list[Problem]]:
    """A weather forecast from a file in the form of weather.csv; nothing where there is none.

    A PropertyError where the file holds nothing that can be used.
    """
    if path is None:
        return None, []
    given = study.place.settings
    weather, problems = read_weather(path, given.timezone, given.date_order, given.home)
    if weather is None:
        first = problems[0] if problems else None
        raise PropertyError(
            first.why if first else "the file holds no row of weather.",
            where=str(path),
            how=first.how if first else "Put a row for each hour or day below the header.",
        )
    return weather, problems
