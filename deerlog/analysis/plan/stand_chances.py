"""The chance at a stand, over the sites it covers and over several bucks; and what it rests on,
counted: half-days watched, and those on which he came."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from scipy.special import ndtri

from deerlog.analysis.arrays import Bools, Floats, Ints
from deerlog.analysis.forecast.chances import TAIL, Forecast, z_if_around
from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.plan.rules import RECENT_DAYS
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import SeasonCalendar

RAN = 0.5
"""A site was watched on a day of which its cameras ran at least half (our choice)."""


@dataclass(frozen=True, kw_only=True)
class Behind:
    """Half-days at a stand's sites that at least one of them was watched, and those with a visit of
    any of the bucks in shooting light.

    ``recent`` are of the last `RECENT_DAYS` days, ``past`` of earlier seasons, in the ``phase`` of
    the day planned for. ``recent_visits`` are at any hour, ``recent_in_light`` those of them in
    shooting light, in either half.
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
    """Count what is known by the last day of the grid, the day before the plan; ``sites`` are
    places among the grid's."""
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


SURELY = 1 - 1e-12
DRAWS = 199
"""Ways things may be among the bucks that the ends of an interval are taken from."""
LEVELS = 15
"""Equally likely levels of a buck's use of a stand among them."""


@dataclass(frozen=True, kw_only=True)
class StandChances:
    """Chances of D days, N stands and K bucks.

    ``chance``, ``low``, ``high`` (D, N, 2): at least one of the bucks visits at least one site of
    the stand, in shooting light, in that half, and its 95 % interval: it is not known for sure
    which of them are around, nor how they use the sites. ``own`` (D, K, N, 2): the same for each
    buck alone. ``main_buck`` (D, N, 2): the buck with the greatest chance, as a place among the K;
    ``main_site``: where that chance is greatest, as a place among the forecast's sites.
    """

    chance: Floats
    low: Floats
    high: Floats
    own: Floats
    own_low: Floats
    own_high: Floats
    main_buck: Ints
    main_site: Ints


def stand_chances(forecast: Forecast, sites_of_stand: Sequence[Ints], bucks: Ints) -> StandChances:
    """Chances at each stand, with its sites (one at least) and the bucks as places among the
    forecast's.

    A buck's sites stand and fall together with his being around: that is one event, taken once.
    *Given* that he is around, visits to the sites of one stand are taken as independent, and the
    bucks as independent of each other. Both are assumptions: a buck who passes two cameras of a
    stand on one walk, or two bucks who travel together, make the true chance somewhat lower.
    """
    every = forecast.around[:, bucks][:, :, None, None]
    middle = _own(forecast, None, every, sites_of_stand, bucks)
    ends = []
    for share in (TAIL, 1 - TAIL):
        z, here = z_if_around(forecast.around[:, bucks], share)
        ends.append(
            _own(forecast, z[..., None, None], here[..., None, None], sites_of_stand, bucks)
        )
    low, high = np.minimum(ends[0], middle), np.maximum(ends[1], middle)
    chance = -np.expm1(-_minus_log_none(middle).sum(axis=1))
    if len(bucks) == 1:
        any_low, any_high = low[:, 0], high[:, 0]
    else:
        any_low, any_high = _any_of_them(forecast, sites_of_stand, bucks)
    main = np.asarray(middle.argmax(axis=1), dtype=np.int64)
    return StandChances(
        chance=chance,
        low=np.minimum(any_low, chance),
        high=np.maximum(any_high, chance),
        own=middle,
        own_low=low,
        own_high=high,
        main_buck=main,
        main_site=_main_site(forecast, sites_of_stand, bucks, main),
    )


def _any_of_them(
    forecast: Forecast, sites_of_stand: Sequence[Ints], bucks: Ints
) -> tuple[Floats, Floats]:
    """Ends of the interval of the chance that any of several bucks comes, shape (D, N, 2) each.

    Drawn the same way every time: who is around, and at which level each uses the sites.
    """
    rng = np.random.default_rng(1)
    levels = ndtri((np.arange(LEVELS) + 0.5) / LEVELS)
    shape = (DRAWS, len(forecast.days), len(sites_of_stand), 2)
    total = np.zeros(shape)
    for buck in bucks:
        here = (rng.permutation(DRAWS) + 0.5)[:, None] / DRAWS < forecast.around[:, buck]
        level = rng.permutation(np.arange(DRAWS) % LEVELS)
        one = np.array([buck])
        away, *there = (
            _minus_log_none(_own(forecast, z, around, sites_of_stand, one)[:, 0])
            for z, around in [(0.0, 0.0), *((z, 1.0) for z in levels)]
        )
        total += np.where(here[..., None, None], np.array(there)[level], away)
    total.sort(axis=0)
    cut = round(TAIL * DRAWS)
    return -np.expm1(-total[cut]), -np.expm1(-total[-1 - cut])


def some_days(forecast: Forecast, first: int, after: int) -> Forecast:
    """The days of a forecast from one place among them up to, and without, another."""
    part = slice(first, after)
    return replace(
        forecast,
        days=forecast.days[part],
        around=forecast.around[part],
        log_odds=forecast.log_odds[part],
        sd=forecast.sd[part],
    )


def _own(
    forecast: Forecast,
    z: float | Floats | None,
    around: float | Floats | Bools,
    sites_of_stand: Sequence[Ints],
    bucks: Ints,
) -> Floats:
    """Each buck's chance at each stand, shape (D, K, N, 2), at so many standard deviations from his
    mean use, and with such a chance of being around (shape (D, K, 1, 1))."""
    some = replace(forecast, log_odds=forecast.log_odds[:, bucks], sd=forecast.sd[:, bucks])
    quiet = 1 - some.chance_if_around(z)
    quiet_otherwise = 1 - forecast.floor[bucks]
    own = np.empty((*quiet.shape[:2], len(sites_of_stand), quiet.shape[3]))
    for n, sites in enumerate(sites_of_stand):
        own[:, :, n] = np.prod(quiet_otherwise[:, sites], axis=1)
        at = 1 - np.prod(quiet[:, :, sites], axis=2, keepdims=True)
        own[:, :, n] *= (1 - around * at)[:, :, 0]
    return 1 - own


def _minus_log_none(chance: Floats) -> Floats:
    return np.asarray(-np.log1p(-np.minimum(chance, SURELY)))


def _main_site(
    forecast: Forecast, sites_of_stand: Sequence[Ints], bucks: Ints, main_buck: Ints
) -> Ints:
    chance = forecast.chance()[:, bucks]
    place = np.empty(main_buck.shape, dtype=np.int64)
    for n, sites in enumerate(sites_of_stand):
        of_main = main_buck[:, n][:, None, None, :]
        his = np.take_along_axis(chance[:, :, sites], of_main, axis=1)[:, 0]
        place[:, n] = np.asarray(sites)[his.argmax(axis=1)]
    return place
