"""What the weather analysis makes of a simulated property."""

from __future__ import annotations

from datetime import date

import pandas as pd

from deerlog.analysis.forecast.chances import learn
from deerlog.analysis.forecast.sighting_grid import sighting_grid
from deerlog.analysis.forecast.weather import (
    WeatherEffects,
    visits_by_half_day,
    weather_drivers,
    weather_effects,
)
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.presence import around, past_seasons
from deerlog.timekeeping.sun import sun_times

from .judged import visits_of
from .simulated_property import SimulatedProperty


def weather_found(simulated: SimulatedProperty) -> WeatherEffects:
    """Effects found in all the tables of a property that has weather."""
    assert simulated.weather is not None
    presence = Judgement()
    visits, last = visits_of(simulated), pd.Timestamp(simulated.as_of).as_unit("us")
    calendar, effort = simulated.calendar, simulated.effort
    season = int(calendar.season_of(pd.DatetimeIndex([last]))[0])
    past = past_seasons(visits, effort, calendar, season, presence)
    here = around(past, visits, effort, last)
    first = pd.Timestamp(calendar.bounds(simulated.seasons[0])[0])
    grid = sighting_grid(visits, effort, first, last)
    sun = sun_times(
        simulated.latitude, simulated.longitude, simulated.zone,
        date(first.year, first.month, first.day), simulated.as_of,
    )  # fmt: skip
    drivers = weather_drivers(simulated.weather, sun, grid.days, last)
    without = learn(grid, visits, here, calendar, simulated.sites).expected_visits()
    return weather_effects(visits_by_half_day(grid), without, drivers)
