"""A forecast of the weather: read from its file, and put into the chances."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pandas as pd

from deerlog.analysis.forecast.chances import Forecast
from deerlog.analysis.forecast.weather_drivers import weather_drivers
from deerlog.errors import Problem, PropertyError
from deerlog.property.weather import read_weather
from deerlog.study import Study


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
