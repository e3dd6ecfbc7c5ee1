"""What a chance at a stand rests on, counted: half-days watched, and those on which he came."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.plan.plan_rules import RECENT_DAYS
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import SeasonCalendar

Ints = npt.NDArray[np.int64]

RAN = 0.5
"""A site was watched on a day of which its cameras ran at least half (our choice)."""


@dataclass(frozen=True, kw_only=True)
class Behind:
    """Half-days at a stand's sites, and those on which any of the bucks came.

    Attributes
    ----------
    recent_seen, recent_watched
        Of the last `RECENT_DAYS` days: half-days with a visit in shooting light, and half-days that
        at least one of the sites was watched.
    past_seen, past_watched
        The same in earlier seasons, in the phase of the day planned for.
    phase
        That phase.
    recent_visits
        Visits at any hour in the last `RECENT_DAYS` days.
    recent_in_light
        Of them, those in shooting light, in either half.
    """

    recent_seen: int
    recent_watched: int
    past_seen: int
    past_watched: int
    phase: str
    recent_visits: int
    recent_in_light: int


def behind(
    grid: SightingGrid,
    visits: pd.DataFrame,
    calendar: SeasonCalendar,
    *,
    bucks: Sequence[str],
    sites: Ints,
    half: str,
    phase: str,
) -> Behind:
    """Count what is known by the last day of the grid.

    Parameters
    ----------
    grid
        Everything known; its last day is the day before the plan.
    visits
        Of `deerlog.analysis.visits.buck_visits`, sure tags only.
    bucks
        Any of these counts.
    sites
        Places among ``grid.sites``.
    half
        ``AM`` or ``PM``.
    phase
        The phase of the day planned for.
    """
    numbers = [grid.bucks.index(buck) for buck in bucks]
    watched = (grid.running[:, sites] >= RAN).any(axis=1)
    in_light = grid.seen_in_light[..., HALVES.index(half)]
    came = np.asarray(in_light[:, numbers][:, :, sites].any(axis=(1, 2)))
    since = grid.days[-1] - pd.Timedelta(days=RECENT_DAYS)
    recent = np.asarray(grid.days > since)
    seasons = calendar.season_of(grid.days)
    earlier = np.asarray((seasons < seasons[-1]) & (calendar.phase_of(grid.days) == phase))
    # A visit says that something ran, whatever the effort table holds.
    ran = np.asarray(watched | came)
    names = [grid.sites[s] for s in sites]
    mine = visits[
        visits["buck"].isin(list(bucks))
        & visits["site"].isin(names)
        & (visits["day"] > since)
        & (visits["day"] <= grid.days[-1])
    ]
    return Behind(
        recent_seen=int(came[recent].sum()),
        recent_watched=int(ran[recent].sum()),
        past_seen=int(came[earlier].sum()),
        past_watched=int(ran[earlier].sum()),
        phase=phase,
        recent_visits=len(mine),
        recent_in_light=int(mine["in_light"].sum()),
    )
