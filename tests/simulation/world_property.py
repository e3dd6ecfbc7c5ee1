"""One property of a world: what an analysis may see of it, what is asked, and what is true."""

from __future__ import annotations

import zlib
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

from deerlog.timekeeping.seasons import SeasonCalendar

from .cameras import Cameras, draw_cameras, failures
from .ground import watch
from .half_days import seen_in_light
from .life import draw_life, draw_mix
from .ranges import draw_ranges
from .simulated_property import SimulatedProperty
from .taggers import tagged_by
from .world_list import World
from .world_lives import add_kinds, draw_drift, gone_from, lay_ranges

FIRST_SEASON = 2021
RECORD_DAYS = 14
"""Nothing is asked before so many days of record."""
DAYS_AHEAD = 7
ASKED_ON = ((7, 20), (8, 26), (9, 20), (10, 8), (10, 21), (11, 2), (11, 14), (12, 10), (1, 20))
"""Month and day on which the chances of the coming week are asked for, give or take some days: at
least one in each phase, and some before a border of phases."""
NEXT_SEASON = "31 Jul"
JUDGED_ON = {"31 Oct": (10, 31), "20 Nov": (11, 20), "31 Jan": (1, 31), NEXT_SEASON: (7, 31)}
"""When labels are asked for; in the next season of the dead and those gone for good alone."""
N_TARGETS = 5


@dataclass(kw_only=True, eq=False)
class WorldProperty:
    """One property of a world.

    Attributes
    ----------
    simulated
        The tables an analysis reads, with the truth beside them.
    looked_at
        See `taggers.tagged_by`; an analysis reads it too.
    targets
        The bucks with most tags; an analysis may know them.
    asked_on
        Days at whose end the chances of the next `DAYS_AHEAD` days are asked for.
    judged_on
        Days at whose end labels are asked for, by their name.
    bucks
        Truth that hangs on no day. Index: buck; ``kind`` (see `world_lives.Lives`), ``resident``
        (by his pattern lives here through the last hunting season), ``gone_from`` (NaT: neither
        dead nor gone for good).
    chance
        True chance of a visit in shooting light, shape (bucks, sites, days, 2) as in `Truth`, on
        the days after ``asked_on``.
    knows_the_track
        Whether ``chance`` knows where each animal was at each hour, so that nobody could give it.
    memory
        Whatever an analysis keeps between two questions.
    """

    simulated: SimulatedProperty
    looked_at: pd.DataFrame | None
    targets: tuple[str, ...]
    asked_on: tuple[pd.Timestamp, ...]
    judged_on: dict[str, pd.Timestamp]
    bucks: pd.DataFrame
    chance: np.ndarray[Any, np.dtype[np.float64]]
    knows_the_track: bool = False
    memory: dict[Any, Any] = field(default_factory=dict)

    @property
    def came(self) -> np.ndarray[Any, np.dtype[np.bool_]]:
        """What was written down, shape as ``chance``."""
        return seen_in_light(self.simulated)


def world_rng(world: World, seed: int) -> np.random.Generator:
    """Other draws in each world for the same seed."""
    return np.random.default_rng([seed, zlib.crc32(world.name.encode())])


def simulate_world(world: World, seed: int) -> WorldProperty:
    """Simulate one property of a world whose bucks are invented."""
    rng = world_rng(world, seed)
    calendar = SeasonCalendar()
    n_seasons = world.n_seasons + world.until_next_summer
    seasons = tuple(range(FIRST_SEASON, FIRST_SEASON + n_seasons))
    bounds = [calendar.bounds(season) for season in seasons]
    lengths = [(after - first).days for first, after in bounds]
    peaks = [(calendar.rut_peak_day(s) - calendar.bounds(s)[0]).days for s in seasons]
    days = pd.date_range(bounds[0][0], bounds[-1][1] - timedelta(days=1), unit="us")
    hunting = seasons[world.n_seasons - 1]

    side_m = rng.uniform(1000, 2000) if world.side_m is None else world.side_m
    n_cameras = int(rng.integers(4, 21)) if world.n_cameras is None else world.n_cameras
    life = draw_life(
        rng,
        n_bucks=world.n_bucks,
        season_lengths=lengths,
        rut_peak_days=peaks,
        mix=draw_mix(rng, (0.35, 0.55)),
        persistence=rng.uniform(0.80, 0.86),
        p_newcomer=0.3,
        p_death=0.08,
    )
    shot_on = None
    if world.shot_on is not None:
        shot_on = (date(hunting, *world.shot_on) - calendar.bounds(hunting)[0]).days
    lives = add_kinds(
        rng,
        life,
        world.kinds,
        season_lengths=lengths,
        rut_peak_days=peaks,
        hunting_season=world.n_seasons - 1,
        shot_on=shot_on,
    )
    in_rut = np.asarray(calendar.phase_of(days) == "rut")
    ranges = draw_ranges(rng, lives.life, season_lengths=lengths, side_m=side_m, in_rut=in_rut)
    ranges = lay_ranges(rng, ranges, lives, side_m=side_m, field_ranges=world.field_ranges)
    cameras = draw_cameras(rng, n_cameras=n_cameras, season_lengths=lengths, side_m=side_m)
    if world.first_camera is not None:
        first = (date(seasons[0], *world.first_camera) - bounds[0][0]).days
        cameras = _up_from(rng, cameras, first)
    drift = None
    if world.drift_sd:
        drift = draw_drift(
            rng, lives.life.stage.shape, sd=world.drift_sd, fades_in_days=world.drift_days
        )
    first_known = days[np.flatnonzero(cameras.placed.any(axis=0))[0]]
    asked_on = tuple(
        day
        for day in _asked_on(seed, hunting)
        if day >= first_known + pd.Timedelta(days=RECORD_DAYS - 1)
    )
    simulated = watch(
        rng,
        lives.life,
        ranges,
        cameras,
        seasons=seasons,
        calendar=calendar,
        side_m=side_m,
        density=world.density,
        clumping=world.clumping,
        errors=world.errors,
        drift=drift,
        chance_days=days_after(asked_on),
    )
    chance = simulated.truth.chance_on_range
    assert chance is not None
    judged_on = {
        name: pd.Timestamp(hunting + (month < 6) + (name == NEXT_SEASON), month, day)
        for name, (month, day) in JUDGED_ON.items()
        if name != NEXT_SEASON or world.until_next_summer
    }
    targets = tuple(simulated.sightings["buck"].value_counts().index[:N_TARGETS])
    written, looked_at = tagged_by(rng, world.tagger, simulated, targets)
    gone = gone_from(lives)
    of_season = simulated.truth.seasons[simulated.truth.seasons["season"] == hunting]
    resident = of_season.set_index("buck")["resident"].reindex(simulated.truth.bucks)
    return WorldProperty(
        simulated=written,
        looked_at=looked_at,
        targets=targets,
        asked_on=asked_on,
        judged_on=judged_on,
        bucks=pd.DataFrame(
            {
                "kind": lives.kind,
                "resident": resident.fillna(False).to_numpy(dtype=bool),
                "gone_from": pd.Series(days[np.maximum(gone, 0)]).where(gone >= 0).to_numpy(),
            },
            index=pd.Index(simulated.truth.bucks),
        ),
        chance=chance,
    )


def days_after(asked_on: tuple[pd.Timestamp, ...]) -> pd.DatetimeIndex:
    """All the days asked about."""
    days = {day + pd.Timedelta(days=n) for day in asked_on for n in range(1, DAYS_AHEAD + 1)}
    return pd.DatetimeIndex(sorted(days)).as_unit("us")


def _asked_on(seed: int, season: int) -> list[pd.Timestamp]:
    """Not the same days on every property."""
    off = pd.Timedelta(days=seed % 5)
    return [pd.Timestamp(season + (month < 6), month, day) + off for month, day in ASKED_ON]


def _up_from(rng: np.random.Generator, cameras: Cameras, first: int) -> Cameras:
    """The cameras, all put up on one day and never moved."""
    placed = np.zeros_like(cameras.placed)
    placed[:, first:] = True
    running, believed = failures(rng, placed)
    values = {**vars(cameras), "placed": placed, "running": running, "believed": believed}
    return Cameras(**values)
