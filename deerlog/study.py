"""A property opened for study: its records, and every answer drawn from them.

The one place where what ingest keeps meets what analysis computes. Each answer is worked out when
first asked for and kept for the life of the study; nothing is stored between runs.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path

import pandas as pd

from deerlog.analysis.daylight import daylight_share
from deerlog.analysis.patterns import Judgement
from deerlog.analysis.residency import Residency, residency
from deerlog.analysis.visits import buck_visits
from deerlog.errors import Problem, PropertyError
from deerlog.ingest.field_log import FieldLog, read_field_log
from deerlog.property import Property, open_property
from deerlog.timekeeping.seasons import SeasonCalendar
from deerlog.timekeeping.sun import sun_times


@dataclass(frozen=True)
class Study:
    """One property as known at the end of one day.

    Attributes
    ----------
    place
        What the user typed.
    field_log
        What the cameras and tag sheets recorded, all of it, whatever ``as_of``.
    as_of
        The last day whose happenings count; None where nothing was ever recorded.
    """

    place: Property
    field_log: FieldLog
    as_of: date | None

    @property
    def calendar(self) -> SeasonCalendar:
        """Seasons and phases of this property."""
        return self.place.settings.calendar

    @cached_property
    def judgement(self) -> Judgement:
        """The rates fixed by judgement, with the user's own put in."""
        return Judgement.from_settings(self.place.settings.presence)

    @cached_property
    def last_day(self) -> pd.Timestamp:
        """``as_of`` as a naive midnight.

        Raises
        ------
        PropertyError
            Nothing was ever recorded, so that there is no day to speak of.
        """
        if self.as_of is None:
            raise PropertyError(
                "nothing is recorded yet: no photo at a known site, and no camera-day.",
                where=str(self.place.folder),
                how="Fill cameras.csv, put card dumps below cards/<camera>/ and run "
                "`deerlog ingest`; `deerlog check` says what else is in the way.",
            )
        return pd.Timestamp(self.as_of).as_unit("us")

    @cached_property
    def sun(self) -> pd.DataFrame:
        """Sunrise, noon and sunset from the first season's start to the last season's end."""
        settings = self.place.settings
        first_known = min([self.last_day, *self._first_days()])
        seasons = self.calendar.season_of(pd.DatetimeIndex([first_known, self.last_day]))
        first = self.calendar.bounds(int(seasons[0]))[0]
        after = self.calendar.bounds(int(seasons[1]))[1]
        return sun_times(settings.latitude, settings.longitude, settings.timezone, first, after)

    def _first_days(self) -> list[pd.Timestamp]:
        days = []
        if len(self.field_log.effort):
            days.append(pd.Timestamp(self.field_log.effort["day"].min()))
        if len(self.field_log.sightings):
            earliest = self.field_log.sightings["local"].min()
            days.append(earliest.tz_localize(None).normalize())
        return days

    @cached_property
    def effort(self) -> pd.DataFrame:
        """Camera-days up to ``as_of``: ``camera, site, day, camera_day``."""
        effort = self.field_log.effort
        return effort[effort["day"] <= self.last_day].reset_index(drop=True)

    @cached_property
    def all_visits(self) -> pd.DataFrame:
        """Every visit of a tagged buck up to ``as_of``, unsure tags among them.

        The columns of `FieldLog.sightings` and of `deerlog.analysis.visits.buck_visits`.
        """
        sightings = self.field_log.sightings
        until = (self.last_day + pd.Timedelta(days=1)).tz_localize(self.place.settings.timezone)
        settings = self.place.settings
        return buck_visits(
            sightings[sightings["local"] < until],
            self.sun,
            self.calendar,
            light_before_sunrise_minutes=settings.light_before_sunrise_minutes,
            light_after_sunset_minutes=settings.light_after_sunset_minutes,
        )

    @cached_property
    def visits(self) -> pd.DataFrame:
        """Visits with a sure tag, the ones every figure stands on."""
        table = self.all_visits
        return table[~table["unsure"].astype(bool)].reset_index(drop=True)

    @cached_property
    def targets(self) -> tuple[str, ...]:
        """Bucks marked as targets that have been seen or not, in the order of bucks.csv."""
        bucks = self.place.bucks
        return tuple(bucks.loc[bucks["target"].astype(bool), "buck"])

    @cached_property
    def residency(self) -> Residency:
        """Labels, scores, weeks and presence of every buck with a sure tag."""
        settings = self.place.settings
        return residency(
            self.visits,
            self.effort,
            self.calendar,
            as_of=self.last_day,
            targets=self.targets,
            judgement=self.judgement,
            week_starts=settings.week_starts,
            least_watched_share=settings.watched_share,
        )

    @cached_property
    def daylight(self) -> pd.DataFrame:
        """Daylight share of every buck by season, phase, site and half."""
        return daylight_share(self.visits)

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Everything a person should mend or know, most harmful first."""
        found = [*self.place.problems, *self.field_log.problems]
        return tuple(
            sorted(found, key=lambda p: (not p.must_mend, -p.harm, p.file, p.row or 0, p.kind))
        )


def open_study(folder: Path, *, as_of: date | None = None) -> Study:
    """Open a property folder for study.

    Parameters
    ----------
    folder
        The property folder; its photo log must have been made by an ingest.
    as_of
        Use only what had happened by the end of this day. None: the last day on which any camera
        is known to have run.

    Raises
    ------
    PropertyError, StoreError
        The folder or its photo log cannot be used.
    """
    place = open_property(folder)
    log = read_field_log(place)
    return Study(place=place, field_log=log, as_of=as_of or _last_known_day(log))


def _last_known_day(log: FieldLog) -> date | None:
    ran = log.effort.loc[log.effort["camera_day"] > 0, "day"]
    days = [] if ran.empty else [ran.max().date()]
    if len(log.sightings):
        days.append(log.sightings["local"].max().date())
    return max(days, default=None)
