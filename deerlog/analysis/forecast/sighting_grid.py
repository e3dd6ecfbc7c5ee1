"""Visits and what ran, laid out as grids of days, bucks and sites; and the counts that a chance
rests on: his visits, and the camera-days they are held against."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from deerlog.analysis.arrays import Bools, Floats, Ints
from deerlog.analysis.effort_grid import effort_grid
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import PHASES, SeasonCalendar


@dataclass(frozen=True, kw_only=True)
class SightingGrid:
    """What was seen and what ran on T days (naive midnights), of B bucks at S sites: those with
    effort or a visit.

    ``running`` (T, S): part of the day, 0 to 1, that a camera at the site ran. ``seen`` (T, B, S):
    any visit that day. ``seen_in_light`` (T, B, S, 2): a visit in shooting light, AM and PM.
    ``unsure`` (T, B, S): no visit, but one that may have been his, so no day without him.
    """

    days: pd.DatetimeIndex
    bucks: tuple[str, ...]
    sites: tuple[str, ...]
    running: Floats
    seen: Bools
    seen_in_light: Bools
    unsure: Bools

    def until(self, day: pd.Timestamp) -> SightingGrid:
        """What of it was known at the end of a day; bucks not seen by then are not in it."""
        n = int(self.days.searchsorted(day, side="right"))
        known = np.flatnonzero(self.seen[:n].any(axis=(0, 2)))
        return replace(
            self,
            days=self.days[:n],
            bucks=tuple(self.bucks[b] for b in known),
            running=self.running[:n],
            seen=self.seen[:n, known],
            seen_in_light=self.seen_in_light[:n, known],
            unsure=self.unsure[:n, known],
        )

    def last(self, n_days: int) -> SightingGrid:
        """Its last days only."""
        return replace(
            self,
            days=self.days[-n_days:],
            running=self.running[-n_days:],
            seen=self.seen[-n_days:],
            seen_in_light=self.seen_in_light[-n_days:],
            unsure=self.unsure[-n_days:],
        )


def sighting_grid(
    visits: pd.DataFrame,
    effort: pd.DataFrame,
    first: pd.Timestamp,
    last: pd.Timestamp,
    unsure: pd.DataFrame | None = None,
) -> SightingGrid:
    """Lay visits (sure tags only), effort and visits with an unsure name (``buck, site, day``) out
    day by day, ``first`` and ``last`` included."""
    visits = visits[(visits["day"] >= first) & (visits["day"] <= last)]
    ran = effort_grid(effort, first, last)
    bucks = tuple(sorted(visits["buck"].unique()))
    sites = tuple(sorted({*ran.sites, *visits["site"]}))
    running = np.zeros((len(ran.days), len(sites)))
    running[:, codes(pd.Series(ran.sites, dtype="str"), sites)] = ran.running
    day = ran.day_number(visits["day"])
    buck, site = codes(visits["buck"], bucks), codes(visits["site"], sites)
    half = codes(visits["half"], HALVES)
    seen = np.zeros((len(ran.days), len(bucks), len(sites)), dtype=bool)
    seen[day, buck, site] = True
    in_light = np.zeros((*seen.shape, len(HALVES)), dtype=bool)
    lit = visits["in_light"].to_numpy(dtype=bool)
    in_light[day[lit], buck[lit], site[lit], half[lit]] = True
    maybe = np.zeros_like(seen)
    if unsure is not None:
        maybe[ran.cells(unsure, bucks, sites)] = True
    return SightingGrid(
        days=ran.days, bucks=bucks, sites=sites, running=running, seen=seen, seen_in_light=in_light,
        unsure=maybe & ~seen,
    )  # fmt: skip


def codes(values: pd.Series, labels: tuple[str, ...]) -> Ints:
    """Place of each value among the labels; -1 where it is not one of them. Shape (n,)."""
    return np.asarray(pd.Index(labels, dtype="str").get_indexer(pd.Index(values, dtype="str")))


@dataclass(frozen=True, kw_only=True)
class CountsBehind:
    """Counts by phase, over all seasons: ``visits`` (B, S, 2, phases) in shooting light;
    ``camera_days`` (B, S, phases) at the site since his first season began, before which he may not
    have been born."""

    visits: Ints
    camera_days: Floats


def counts_behind(
    grid: SightingGrid, visits: pd.DataFrame, calendar: SeasonCalendar
) -> CountsBehind:
    """Count what is known."""
    lit = visits[visits["in_light"].to_numpy(dtype=bool)]
    place = [
        codes(lit["buck"], grid.bucks),
        codes(lit["site"], grid.sites),
        codes(lit["half"], HALVES),
        codes(lit["phase"], PHASES),
    ]
    known = np.all([p >= 0 for p in place], axis=0)
    shape = (len(grid.bucks), len(grid.sites), len(HALVES), len(PHASES))
    counted = np.zeros(shape, dtype=np.int64)
    np.add.at(counted, tuple(p[known] for p in place), 1)
    season = calendar.season_of(grid.days)
    phase = codes(pd.Series(calendar.phase_of(grid.days)), PHASES)
    debut = visits.groupby("buck")["season"].min().reindex(list(grid.bucks)).to_numpy()
    camera_days = np.zeros((len(grid.bucks), len(grid.sites), len(PHASES)))
    for k in range(len(PHASES)):
        since = season[None, :] >= debut[:, None]
        camera_days[:, :, k] = (since & (phase == k)[None, :]) @ grid.running
    return CountsBehind(visits=counted, camera_days=camera_days)
