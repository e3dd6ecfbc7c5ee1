"""A property opened for study: its records, and every answer drawn from them.

The one place where what ingest keeps meets what analysis computes. Each answer is worked out when
first asked for and kept for the life of the study; nothing is stored between runs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

import pandas as pd

from deerlog.analysis.backtest.backtest import Backtest, backtest
from deerlog.analysis.backtest.correction import Correction
from deerlog.analysis.effort_grid import blanks_as_nobody, light_only, names_only, watched_effort
from deerlog.analysis.forecast.chances import Forecast, Learned, learn
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.sighting_grid import SightingGrid, counts_behind, sighting_grid
from deerlog.analysis.forecast.weather import (
    WeatherEffects,
    visits_by_half_day,
    weather_drivers,
    weather_effects,
)
from deerlog.analysis.forecast.windows import WINDOW_COLUMNS, windows
from deerlog.analysis.plan.stand_chances import some_days
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.presence import PastSeasons, past_seasons
from deerlog.analysis.residency.explain import Reason, WhatIf, reasons, what_if
from deerlog.analysis.residency.residency import Residency, residency
from deerlog.analysis.residency.standing import Settling, settling
from deerlog.analysis.season.stays import stays
from deerlog.analysis.shift.shift import SHIFT_COLUMNS, shift
from deerlog.analysis.visits import buck_visits, daylight_share
from deerlog.errors import Problem, PropertyError, worst_first
from deerlog.ingest.as_of import read_field_log_as_of
from deerlog.ingest.field_log import FieldLog, read_field_log
from deerlog.property import Property, open_property
from deerlog.property.coordinates import Ground
from deerlog.timekeeping.seasons import SeasonCalendar
from deerlog.timekeeping.sun import sun_times

RECENT_WEEKS = 13
"""Weeks that are replayed for a report or a plan, at most: a quarter of a year (our choice)."""
RECENT_WORK = 3000
"""Weeks times bucks times sites that are replayed, so that the page stays quick (our choice: some
three seconds of work). A large property replays fewer weeks, two at least."""
LEAST_WEEKS = 2

if TYPE_CHECKING:
    from deerlog.study.season import SeasonAhead


@dataclass(frozen=True, eq=False, repr=False)
class PropertyStudy:
    """One property as known at the end of one day."""

    place: Property
    """What the user typed."""
    field_log: FieldLog
    """What the cameras and tag sheets recorded by the end of ``as_of``."""
    as_of: date | None
    """The last day whose happenings count; None where nothing was ever recorded."""
    forecast_judgement: ClassVar = ForecastJudgement()

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
        """``as_of`` as a naive midnight; a PropertyError where nothing was ever recorded."""
        if self.as_of is None:
            raise PropertyError(
                "nothing is recorded yet: no photo at a known site, and no camera-day.",
                where=str(self.place.folder),
                how="Fill cameras.csv, put card dumps below cards/<camera>/ and run "
                "`deerlog ingest`; `deerlog check` says what else is in the way.",
            )
        return pd.Timestamp(self.as_of).as_unit("us")

    @cached_property
    def last_moment(self) -> pd.Timestamp:
        """The end of ``as_of``, aware."""
        after = self.last_day + pd.Timedelta(days=1)
        return after.tz_localize(self.place.settings.timezone)

    @cached_property
    def season_now(self) -> int:
        """The season of ``as_of``."""
        return int(self.calendar.season_of(pd.DatetimeIndex([self.last_day]))[0])

    @cached_property
    def first_day(self) -> pd.Timestamp:
        """The first day of the record, naive: what ran first, or was first tagged."""
        days = [self.last_day]
        if len(self.field_log.effort):
            days.append(pd.Timestamp(self.field_log.effort["day"].min()))
        if len(self.field_log.sightings):
            earliest = self.field_log.sightings["local"].min()
            days.append(earliest.tz_localize(None).normalize())
        return min(days)

    @cached_property
    def sun(self) -> pd.DataFrame:
        """Sunrise, noon and sunset from the first season's start to the last season's end."""
        settings = self.place.settings
        season = int(self.calendar.season_of(pd.DatetimeIndex([self.first_day]))[0])
        first = self.calendar.bounds(season)[0]
        after = self.calendar.bounds(self.season_now)[1]
        return sun_times(settings.latitude, settings.longitude, settings.timezone, first, after)

    @cached_property
    def effort(self) -> pd.DataFrame:
        """What ran up to ``as_of``: ``camera, site, day, camera_day``."""
        effort = self.field_log.effort
        return effort[effort["day"] <= self.last_day].reset_index(drop=True)

    @cached_property
    def watched(self) -> pd.DataFrame:
        """What ran and was looked at, the same rows; every figure about bucks stands on it."""
        visits, means = self._to_look_at, self.place.settings.blank_means
        if means == "nobody named" or (means == "auto" and self.names_only):
            visits = blanks_as_nobody(visits)
        return watched_effort(self.effort, visits)

    @cached_property
    def light_only(self) -> bool:
        """Whether who tags looks only at what came in shooting light; never so where blanks are
        said to name nobody, since then all was looked at."""
        told = self.place.settings.blank_means != "nobody named"
        return told and light_only(self._lit_visits)

    @cached_property
    def _lit_visits(self) -> pd.DataFrame:
        """Visits of anything up to ``as_of``, with whether each began in shooting light."""
        visits = self.field_log.visits
        day = visits["first"].dt.tz_localize(None).dt.normalize()
        known = visits[(visits["first"] < self.last_moment) & day.isin(self.sun.index)]
        return self.in_light(known.assign(local=known["first"], buck=""))

    @property
    def _to_look_at(self) -> pd.DataFrame:
        if not self.light_only:
            return self.field_log.visits
        return self._lit_visits[self._lit_visits["in_light"]]

    @cached_property
    def names_only(self) -> bool:
        """Whether who tags writes names down and leaves all else blank."""
        visits = self._to_look_at
        named = visits["visit"].isin(self.field_log.sightings["visit"])
        return names_only(visits.assign(named=named))

    @cached_property
    def untagged_visits(self) -> int:
        """Visits up to ``as_of`` that nobody has looked at yet."""
        visits = self.field_log.visits
        known = visits["first"] < self.last_moment
        return int((known & ~visits["tagged"].astype(bool)).sum())

    @cached_property
    def ran_until(self) -> date | None:
        """The last day up to ``as_of`` that any camera is known to have run; None for none."""
        return _last_running(self.effort)

    @cached_property
    def all_visits(self) -> pd.DataFrame:
        """Every visit of a tagged buck up to ``as_of``, unsure tags among them.

        The columns of `FieldLog.sightings` and of `deerlog.analysis.visits.buck_visits`.
        """
        sightings = self.field_log.sightings
        return self.in_light(sightings[sightings["local"] < self.last_moment])

    def in_light(self, visits: pd.DataFrame) -> pd.DataFrame:
        """Visits by `deerlog.analysis.visits.buck_visits`, with this property's shooting light."""
        return buck_visits(visits, self.sun, self.calendar, **self.light)

    @property
    def light(self) -> dict[str, int]:
        """How far shooting light reaches beyond the sun, by the names that analysis asks for."""
        names = ("light_before_sunrise_minutes", "light_after_sunset_minutes")
        return {name: getattr(self.place.settings, name) for name in names}

    @cached_property
    def visits(self) -> pd.DataFrame:
        """Visits with a sure tag, the ones every figure stands on."""
        table = self.all_visits
        return table[~table["unsure"].astype(bool)].reset_index(drop=True)

    @cached_property
    def unsure(self) -> pd.DataFrame:
        """Visits with an unsure name: neither his absence nor his presence."""
        return self.all_visits[self.all_visits["unsure"].astype(bool)].reset_index(drop=True)

    @cached_property
    def targets(self) -> tuple[str, ...]:
        """Bucks marked as targets that have been seen or not, in the order of bucks.csv."""
        bucks = self.place.bucks
        return tuple(bucks.loc[bucks["target"].astype(bool), "buck"])

    @cached_property
    def residency(self) -> Residency:
        """Labels, scores, weeks and presence of every buck with a sure tag."""
        return residency(
            self.visits,
            self.watched,
            self.calendar,
            as_of=self.last_day,
            targets=self.targets,
            judgement=self.judgement,
            week_starts=self.place.settings.week_starts,
            least_watched_share=self.place.settings.watched_share,
            past=self.past_seasons,
        )

    @cached_property
    def reasons(self) -> dict[str, Reason]:
        """What every label stands on, by buck."""
        return reasons(self.residency.table, self.residency.weekly)

    @cached_property
    def what_if(self) -> dict[str, WhatIf]:
        """What weeks to come would make of every label, by buck."""
        standing = self.residency.standing
        if standing is None:
            return {}
        return what_if(
            standing,
            [self.reasons[buck].label for buck in standing.bucks],
            least_watched_share=self.place.settings.watched_share,
        )

    def settling(self, buck: str) -> Settling | None:
        """How likely the coming two weeks decide an undecided label; None for a decided one."""
        standing = self.residency.standing
        if standing is None or self.reasons[buck].label != "undecided":
            return None
        return settling(standing, buck)

    @cached_property
    def daylight(self) -> pd.DataFrame:
        """Daylight share of every buck by season, phase, site and half."""
        return daylight_share(self.visits, self.calendar)

    @cached_property
    def sites(self) -> pd.DataFrame:
        """Every site once, as its last placement so far has it.

        ``site, setting, bait, latitude, longitude`` (degrees), ``x_m, y_m`` (metres east and north
        of the property's own position), in the order of cameras.csv.
        """
        settings = self.place.settings
        placed = self.place.placements
        after = self.last_day + pd.Timedelta(days=1)
        begun = placed[placed["start"] < after].sort_values("start", kind="stable")
        order = placed["site"].drop_duplicates()
        last = begun.drop_duplicates("site", keep="last").set_index("site")
        last = last.reindex([s for s in order if s in last.index])
        ground = Ground(settings.latitude, settings.longitude)
        x, y = ground.metres(last["latitude"].to_numpy(), last["longitude"].to_numpy())
        table = last[["setting", "bait", "latitude", "longitude"]].assign(x_m=x, y_m=y)
        return table.reset_index()

    @cached_property
    def sits(self) -> pd.DataFrame:
        """Rows of sits.csv up to ``as_of``."""
        sits = self.place.sits
        return sits[sits["day"] <= self.last_day].reset_index(drop=True)

    @cached_property
    def last_season_day(self) -> date:
        """The last day of the season of ``as_of``; nothing is said of later days."""
        return self.calendar.bounds(self.season_now)[1] - timedelta(days=1)

    @cached_property
    def days_ahead(self) -> pd.DatetimeIndex:
        """Every day after ``as_of`` to the end of the season."""
        first = self.last_day + pd.Timedelta(days=1)
        return pd.date_range(first, pd.Timestamp(self.last_season_day), freq="D", unit="us")

    @cached_property
    def sighting_grid(self) -> SightingGrid:
        """Visits and what ran, day by day up to ``as_of``."""
        return sighting_grid(self.visits, self.watched, self.first_day, self.last_day, self.unsure)

    @cached_property
    def past_seasons(self) -> PastSeasons:
        """What the seasons before that of ``as_of`` say of every buck."""
        return past_seasons(
            self.visits, self.watched, self.calendar, self.season_now, self.judgement, self.unsure
        )

    @cached_property
    def _record(
        self,
    ) -> tuple[SightingGrid, pd.DataFrame, pd.DataFrame, SeasonCalendar, pd.DataFrame]:
        """What every step of the forecast asks for first, in its order."""
        around = self.residency.around
        return self.sighting_grid, self.visits, around, self.calendar, self.sites

    @cached_property
    def learned(self) -> Learned:
        """What the record up to ``as_of`` teaches of the use of sites."""
        return learn(*self._record, self.forecast_judgement)

    def replayed(
        self, first: pd.Timestamp, progress: Callable[[int, int], None] | None = None
    ) -> tuple[Backtest, list[Forecast]]:
        """Weeks from a day on, each knowing only what had happened by the week before: scored for
        the wanted bucks, and the forecast of each; ``progress`` is told weeks done and in all."""
        made: list[Forecast] = []
        scored = backtest(
            self.visits,
            self.watched,
            self.calendar,
            self.sites,
            first=first,
            last=self.last_day,
            bucks=self.wanted,
            judgement=self.judgement,
            forecast_judgement=self.forecast_judgement,
            week_starts=self.place.settings.week_starts,
            ran=self.effort,
            past=self.past_seasons,
            unsure=self.unsure,
            progress=progress,
            each_week=made.append,
        )
        return scored, made

    @cached_property
    def recent_first(self) -> pd.Timestamp:
        """First day of the last weeks that are replayed to correct the chances."""
        size = max(len(self.sighting_grid.bucks) * len(self.sighting_grid.sites), 1)
        weeks = min(RECENT_WEEKS, max(LEAST_WEEKS, RECENT_WORK // size))
        return self.last_day - pd.Timedelta(weeks=weeks, days=-1)

    @cached_property
    def recent_weeks(self) -> tuple[Backtest, list[Forecast]]:
        """The last weeks, replayed."""
        return self.replayed(self.recent_first)

    @cached_property
    def correction(self) -> Correction:
        """What the last weeks say of the chances to come."""
        return self.recent_weeks[0].correction

    @cached_property
    def forecast(self) -> Forecast:
        """Chances of every buck at every site on the days ahead, whatever the weather, corrected by
        the last weeks."""
        return self.correction.forecast(self.learned.forecast(self.days_ahead))

    @cached_property
    def known_weather(self) -> pd.DataFrame | None:
        """Rows of weather.csv up to ``as_of``; None where there are none."""
        weather = self.place.weather
        if weather is None:
            return None
        known = weather[weather["time"] < self.last_day + pd.Timedelta(days=1)]
        return None if known.empty else known.reset_index(drop=True)

    @cached_property
    def weather_effects(self) -> WeatherEffects | None:
        """What weather did to visits in shooting light; None without weather or a sure tag."""
        if self.known_weather is None or not self.sighting_grid.bucks:
            return None
        grid = self.sighting_grid
        expected = self.learned.expected_visits()
        drivers = weather_drivers(self.known_weather, self.sun, grid.days, self.last_day)
        return weather_effects(visits_by_half_day(grid), expected, drivers, self.forecast_judgement)

    @cached_property
    def wanted(self) -> tuple[str, ...]:
        """Bucks a hunt is about: targets with a sure tag; all with one where none is a target; none
        of the `gone`."""
        known = [b for b in self.residency.prior_log_odds if b not in self.gone]
        return tuple(b for b in self.targets if b in known) if self.targets else tuple(known)

    @cached_property
    def gone(self) -> tuple[str, ...]:
        """Bucks that are most likely dead or gone for good: no hunt is about them."""
        table = self.residency.table
        return tuple(table.loc[(table["season"] == "all") & (table["label"] == "gone"), "buck"])

    @cached_property
    def running_sites(self) -> tuple[str, ...]:
        """Sites where a camera stands at the end of ``as_of``, silent or not."""
        placed = self.place.placements
        after = self.last_day + pd.Timedelta(days=1)
        here = (placed["start"] < after) & ~(placed["end"] < after)
        return tuple(dict.fromkeys(placed.loc[here, "site"]))

    @cached_property
    def windows(self) -> pd.DataFrame:
        """Runs of days well above a wanted buck's own level, at sites with a camera or a stand; at
        all where there are none.

        Where hunting seasons are given, from the first open day ahead to the last; else to the end
        of the season.
        """
        hunting, days = self.place.settings.hunting, self.days_ahead
        is_open = [
            n
            for n, day in enumerate(days)
            if not hunting or any(s.is_open(day.date()) for s in hunting)
        ]
        if not self.wanted or not is_open:
            return pd.DataFrame(columns=WINDOW_COLUMNS)
        covered = {site for sites in self.place.stands["sites"] for site in sites}
        sites = [s for s in self.sites["site"] if s in self.running_sites or s in covered]
        return windows(
            some_days(self.forecast, is_open[0], is_open[-1] + 1),
            counts_behind(self.sighting_grid, self.visits, self.calendar),
            self.calendar,
            self.wanted,
            sites or None,
            self.forecast_judgement,
        )

    @cached_property
    def shift(self) -> pd.DataFrame:
        """Moves between the phases of each season, of every buck with a sure tag."""
        if not self.sighting_grid.bucks:
            return pd.DataFrame(columns=SHIFT_COLUMNS)
        return shift(
            self.sighting_grid,
            self.residency.around,
            self.calendar,
            self.sites,
            self.sighting_grid.bucks,
            self.forecast_judgement,
        )

    @cached_property
    def stays(self) -> pd.DataFrame:
        """Every stay of every buck with a sure tag; see `deerlog.analysis.season.stays.stays`."""
        return stays(self.residency.around, self.sighting_grid, self.calendar)

    @cached_property
    def season(self) -> SeasonAhead:
        """Where each wanted buck stands in his season, and the ways to hunt him."""
        from deerlog.study.season import season_ahead

        return season_ahead(self)

    @cached_property
    def clock_faults(self) -> tuple[Problem, ...]:
        """Clocks that look wrong, from light, order and travel; nothing is shifted."""
        return tuple(self._begun(self.field_log.clock_problems(self.place)))

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Everything a person should mend or know, most harmful first."""
        return worst_first([*self._begun(self.field_log.problems), *self.clock_faults])

    def _begun(self, problems: Iterable[Problem]) -> Iterator[Problem]:
        """Without what only began after ``as_of``; a clock may show days that nothing ran on."""
        ends = _last_known_day(self.field_log) or date.min
        now = self.as_of or ends
        return (p for p in problems if p.first_day is None or not now < p.first_day <= ends)


def open_study(folder: Path, *, as_of: date | None = None) -> PropertyStudy:
    """Open a property folder, whose photo log an ingest made, for study.

    With ``as_of``, only what had happened by the end of this day is used; None: the last day on
    which any camera is known to have run. A PropertyError or StoreError where the folder or its log
    cannot be used.
    """
    place = open_property(folder)
    if as_of is None:
        log = read_field_log(place)
    else:
        place, log = read_field_log_as_of(place, as_of)
    # Days in outages.csv alone are no record of any deer.
    known = None if log.photos.empty else as_of or _last_known_day(log)
    return PropertyStudy(place=place, field_log=log, as_of=known)


def _last_known_day(log: FieldLog) -> date | None:
    seen = log.sightings["local"].max().date() if len(log.sightings) else None
    return max((day for day in (_last_running(log.effort), seen) if day), default=None)


def _last_running(effort: pd.DataFrame) -> date | None:
    ran = effort.loc[effort["camera_day"] > 0, "day"]
    return None if ran.empty else ran.max().date()
