"""The deer year: which season, phase and week a day belongs to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt
import pandas as pd

PHASES = ("summer", "early season", "pre-rut", "rut", "late season")
"""The phases of a season in order. Their bounds are our choice; see `SeasonCalendar`."""

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")

Days = pd.DatetimeIndex | npt.NDArray[np.datetime64] | pd.Series


@dataclass(frozen=True)
class SeasonCalendar:
    """Seasons and phases on one property.

    A season is a deer year named for the calendar year it opens in. Phases hang on the local peak
    of breeding: summer to 31 August, early season to 22 days before the peak, pre-rut 21 to 8 days
    before, rut 7 days before to 14 after, late season to the season's end (our choice). A season
    that begins from September to February has the summer that ends last before its peak: to the
    end of February south of the equator, none where it begins in a northern fall. Where an early
    rut leaves no room for them, the phases before it are cut short, the earliest most.
    ``season_start`` and ``rut_peak`` are (month, day), and so are ``openings``, days on which a
    hunting season opens every year: ``opener_days`` from each on are the opener, beside the phase
    that they lie in.
    """

    season_start: tuple[int, int] = (6, 1)
    rut_peak: tuple[int, int] = (11, 12)
    openings: tuple[tuple[int, int], ...] = ()
    opener_days: int = 5

    def bounds(self, season: int) -> tuple[date, date]:
        """First day of a season, and the first day after it."""
        month, day = self.season_start
        return date(season, month, day), date(season + 1, month, day)

    def rut_peak_day(self, season: int) -> date:
        """The day of the breeding peak that falls inside a season."""
        first, after = self.bounds(season)
        peak = date(season, *self.rut_peak)
        return peak if first <= peak < after else date(season + 1, *self.rut_peak)

    def phase_bounds(self, season: int) -> list[tuple[str, date, date]]:
        """Each phase of a season with its first day and the first day after it."""
        first, after = self.bounds(season)
        peak = self.rut_peak_day(season)
        cuts = [
            first,
            self._summer_end(first, peak),
            peak - timedelta(days=21),
            peak - timedelta(days=7),
            peak + timedelta(days=15),
            after,
        ]
        # Some places have the rut in summer: it keeps its days, and what comes before gives way.
        for i in range(len(cuts) - 2, -1, -1):
            cuts[i] = max(min(cuts[i], cuts[i + 1]), first)
        return [(name, cuts[i], cuts[i + 1]) for i, name in enumerate(PHASES)]

    def _summer_end(self, first: date, peak: date) -> date:
        """The first day after summer in a season that begins on a day."""
        if (3, 1) <= self.season_start < (9, 1):
            return date(first.year, 9, 1)
        ends = (date(first.year + later, month, 1) for later in (0, 1) for month in (3, 9))
        return max((end for end in ends if first <= end <= peak), default=first)

    def season_of(self, days: Days) -> npt.NDArray[np.int64]:
        """The season of each day, shape (n,)."""
        index = pd.DatetimeIndex(days)
        month, day = self.season_start
        before = (index.month < month) | ((index.month == month) & (index.day < day))
        return np.asarray(index.year - before.astype(int), dtype=np.int64)

    def season_day(self, days: Days) -> npt.NDArray[np.int64]:
        """Days since the season's first day (0 on it), shape (n,)."""
        index = pd.DatetimeIndex(days).normalize()
        seasons = self.season_of(index)
        starts = {int(s): np.datetime64(self.bounds(int(s))[0], "D") for s in np.unique(seasons)}
        first = np.array([starts[int(s)] for s in seasons], dtype="datetime64[D]")
        gap = np.asarray(index, dtype="datetime64[D]") - first
        return np.asarray(gap.astype(np.int64))

    def phase_of(self, days: Days) -> npt.NDArray[np.object_]:
        """The phase of each day, shape (n,)."""
        index = pd.DatetimeIndex(days).normalize()
        day = np.asarray(index, dtype="datetime64[D]")
        seasons = self.season_of(index)
        phase = np.empty(len(index), dtype=object)
        for season in np.unique(seasons):
            here = seasons == season
            bounds = self.phase_bounds(int(season))
            starts = np.array([b[1] for b in bounds], dtype="datetime64[D]")
            place = np.searchsorted(starts, day[here], side="right") - 1
            phase[here] = np.array(PHASES, dtype=object)[place]
        return phase

    def opener_of(self, days: Days) -> npt.NDArray[np.bool_]:
        """Whether each day is in the opener of a hunting season, shape (n,)."""
        index = pd.DatetimeIndex(days).normalize()
        day, year = np.asarray(index, dtype="datetime64[D]"), np.asarray(index.year)
        found = np.zeros(len(index), dtype=bool)
        for month, of_month in self.openings:
            # An opener may run across the turn of the year.
            for opened in (year - 1, year):
                first = np.array([f"{y:04d}-{month:02d}-{of_month:02d}" for y in opened], day.dtype)
                since = (day - first).astype(np.int64)
                found |= (since >= 0) & (since < self.opener_days)
        return found


def week_start(days: Days, week_starts: str = "Mon") -> pd.DatetimeIndex:
    """The first day of the week each day falls in (naive midnights), shape (n,)."""
    index = pd.DatetimeIndex(days).normalize()
    back = (index.day_of_week - WEEKDAYS.index(week_starts)) % 7
    return index - pd.to_timedelta(np.asarray(back), unit="D")
