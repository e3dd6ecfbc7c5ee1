"""What a simulation hands back: the tables an analysis reads, and the truth behind them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.timekeeping.seasons import SeasonCalendar


@dataclass(frozen=True, kw_only=True)
class Truth:
    """What really went on.

    Attributes
    ----------
    bucks, sites, days
        Labels of the axes below.
    seasons
        One row a buck and season he was alive in: ``buck``, ``season``, ``pattern``, ``resident``
        (lives here through the hunting season), ``days_around``, ``alive_until`` (last day alive;
        NaT where he outlived the season).
    around
        Whether his range overlapped the property, shape (bucks, days).
    stage
        Whereabouts code (see `life`), shape (bucks, days).
    range_centre_m, day_centre_m
        Shape (bucks, days, 2), NaN while away: centre of the range he is on, and of what he covers
        that day.
    running
        Share of the day the camera of the site really ran, shape (sites, days). The effort table
        holds what a person believes: short failures go unnoticed.
    wrong_tag
        Whether the sighting of that row of ``sightings`` was another buck, shape (sightings,).
    chance_on_range, chance_on_day
        True chance of at least one tagged visit (sure tags only) in shooting light in a half-day,
        were the camera to run all day; shape (bucks, sites, days, 2 halves). The first is for who
        knows which range he is on, or that he is away; the second also knows where he centres
        that very day, which nobody can. None unless asked for.
    """

    bucks: tuple[str, ...]
    sites: tuple[str, ...]
    days: pd.DatetimeIndex
    seasons: pd.DataFrame
    around: npt.NDArray[np.bool_]
    stage: npt.NDArray[np.int8]
    range_centre_m: npt.NDArray[np.float64]
    day_centre_m: npt.NDArray[np.float64]
    running: npt.NDArray[np.float64]
    wrong_tag: npt.NDArray[np.bool_]
    chance_on_range: npt.NDArray[np.float64] | None
    chance_on_day: npt.NDArray[np.float64] | None


@dataclass(frozen=True, kw_only=True)
class SimulatedProperty:
    """Tables in the shape that the analysis reads, with the truth beside them.

    Attributes
    ----------
    sightings
        ``buck, site, camera, setting, bait, local, visit, photos, unsure, others``: one row a buck
        and visit, ordered by time.
    effort
        ``camera, site, day, camera_day``: one row a placement and day.
    sites
        ``site, camera, setting, bait, x_m, y_m, latitude, longitude``.
    weather
        ``time, temperature_c, wind_ms, wind_from, pressure_hpa``, or None.
    as_of
        Last day in the tables.
    """

    sightings: pd.DataFrame
    effort: pd.DataFrame
    sites: pd.DataFrame
    weather: pd.DataFrame | None
    calendar: SeasonCalendar
    latitude: float
    longitude: float
    zone: str
    side_m: float
    seasons: tuple[int, ...]
    as_of: date
    truth: Truth

    def cut(self, as_of: date) -> SimulatedProperty:
        """The same property as it was known at the end of an earlier day."""
        last = pd.Timestamp(as_of)
        days = self.sightings["local"].dt.tz_localize(None).dt.normalize()
        kept = np.asarray(days <= last)
        effort = self.effort[self.effort["day"] <= last].reset_index(drop=True)
        weather = self.weather
        if weather is not None:
            weather = weather[weather["time"] < last + pd.Timedelta(days=1)].reset_index(drop=True)
        return replace(
            self,
            sightings=self.sightings[kept].reset_index(drop=True),
            effort=effort,
            weather=weather,
            as_of=min(as_of, self.as_of),
            truth=replace(self.truth, wrong_tag=self.truth.wrong_tag[kept]),
        )
