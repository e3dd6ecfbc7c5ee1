"""Real tracks under a wide grid of virtual cameras, all animals on one property.

The tracks of `gps`: does, and suburban. Each is caught by a camera at a rate that falls
half-normally with the distance of where she stood that hour. Nobody could know the chance that
stands beside each half-day as its truth: it knows where she stood.
"""

from __future__ import annotations

from datetime import timedelta
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.timekeeping.seasons import SeasonCalendar

from . import gps
from .cameras import SETTINGS, Cameras
from .hours import Light, light_of_days
from .passings import Passings
from .place import LATITUDE, LONGITUDE, ZONE
from .simulated_property import SimulatedProperty, Truth
from .tables import effort_table, names_of, sightings_table, sites_table
from .world_list import World
from .world_property import WorldProperty, world_rng

TRACKS = {
    "spring 2023": ("2023-02-01", "2023-03-01", "2023-03-29", "2023-04-26"),
    "autumn 2023": ("2023-10-01", "2023-10-22", "2023-11-12", "2023-12-03"),
    "winter 2024": ("2024-01-28", "2024-02-25", "2024-03-24", "2024-04-21"),
}
"""First days of the pieces of track that are used, each of `PIECE_DAYS`."""
PIECE_DAYS = 28
MOVED_DAYS = {"spring 2023": 242, "autumn 2023": 0, "winter 2024": -119}
"""Whole days by which a piece is dated otherwise, so that it lies in a fall."""
ASKED_AFTER = (14, 21)

SIDE_M, CENTRE_M = 4000.0, (0.0, 2700.0)
"""The ground, from the data's origin. The animals' ranges hold 95 % of use within 330 to 1,040 m
of their middle."""
PASSINGS_PER_FIX, REACH_M = 0.25, 80.0
SETTING = SETTINGS.index("other")

LONGEST_GAP_H = 4
LEAST_KNOWN = 0.7
"""An animal is used where at least this share of the piece's hours lies within a gap between fixes
of at most `LONGEST_GAP_H`; between fixes she is taken to go straight."""


def missing() -> str | None:
    """Why there are no tracks; None where there are."""
    if (gps.FOLDER / "fixes_hourly.csv").is_file():
        return None
    return "no GPS tracks in ../shared/data/whitetail_gps"


def tracks_property(world: World, seed: int) -> WorldProperty:
    """One piece of track under one drawing of cameras."""
    assert world.tracks is not None
    rng = world_rng(world, seed)
    pieces = TRACKS[world.tracks]
    begins = pd.Timestamp(pieces[seed % len(pieces)])
    animals, position = _hourly(begins)
    n_hours = position.shape[1]
    first = begins + pd.Timedelta(days=MOVED_DAYS[world.tracks])
    calendar = SeasonCalendar()
    season = int(calendar.season_of(pd.DatetimeIndex([first]))[0])
    opens, after = calendar.bounds(season)
    days = pd.date_range(opens, after - timedelta(days=1), freq="D", unit="us")
    light = light_of_days(LATITUDE, LONGITUDE, ZONE, opens, after - timedelta(days=1))

    n_cameras = int(rng.integers(30, 37))
    camera_m = gps.camera_grid(rng, n_cameras, SIDE_M)
    # The same sun over the invented place: it stands so much further west.
    later = (gps.LONGITUDE - LONGITUDE) / 360 * 86_400 + MOVED_DAYS[world.tracks] * 86_400
    seconds = begins.tz_localize(gps.ZONE).timestamp() + later + 3600.0 * np.arange(n_hours)
    gap2 = ((position[:, None] - camera_m[None, :, None]) ** 2).sum(axis=-1)
    # Shape (animals, cameras, hours).
    rate = np.nan_to_num(PASSINGS_PER_FIX * np.exp(-gap2 / (2 * REACH_M**2)))

    count = rng.poisson(rate)
    animal, site, hour = (np.repeat(a, count[count > 0]) for a in np.nonzero(count))
    when = seconds[hour] + rng.uniform(0, 3600, len(hour))
    start = int(days.get_indexer(pd.DatetimeIndex([first]))[0])
    order = np.argsort(when, kind="stable")
    on_record = (when >= light.midnight[start]) & (when < light.midnight[start + PIECE_DAYS])
    order = order[on_record[order]]
    flawless = np.zeros(len(order), dtype=bool)
    passings = Passings(
        buck=animal[order],
        site=site[order],
        seconds=when[order],
        unsure=flawless,
        wrong=flawless,
        photos=rng.geometric(0.35, len(order)),
    )
    placed = np.zeros((n_cameras, len(days)), dtype=bool)
    placed[:, start : start + PIECE_DAYS] = True
    ran = placed.astype(float)
    cameras = Cameras(
        position_m=camera_m,
        setting=np.full(n_cameras, SETTING),
        bait=np.zeros(n_cameras, dtype=bool),
        quality=np.ones(n_cameras),
        camera=np.arange(n_cameras),
        placed=placed,
        running=ran,
        believed=ran,
    )
    names = names_of(len(animals), cameras)._replace(bucks=animals)
    sightings, wrong = sightings_table(rng, passings, cameras, names)
    asked_on = tuple(days[start + n - 1] for n in ASKED_AFTER)
    nowhere = np.full((len(animals), len(days), 2), np.nan)
    around = np.broadcast_to(placed[0], (len(animals), len(days)))
    simulated = SimulatedProperty(
        sightings=sightings,
        effort=effort_table(cameras, names, days),
        sites=sites_table(cameras, names),
        weather=None,
        calendar=calendar,
        latitude=LATITUDE,
        longitude=LONGITUDE,
        zone=ZONE,
        side_m=SIDE_M,
        seasons=(season,),
        as_of=days[start + PIECE_DAYS - 1].date(),
        truth=Truth(
            bucks=animals,
            sites=names.sites,
            days=days,
            seasons=pd.DataFrame(),
            around=around,
            stage=around.astype(np.int8),
            range_centre_m=nowhere,
            day_centre_m=nowhere,
            running=ran,
            wrong_tag=wrong,
            chance_on_range=None,
            chance_on_day=None,
        ),
    )
    return WorldProperty(
        simulated=simulated,
        looked_at=None,
        targets=animals,
        asked_on=asked_on,
        judged_on={},
        bucks=pd.DataFrame(index=pd.Index(animals)),
        chance=1 - np.exp(-_in_light(rate, seconds, light, len(days))),
        knows_the_track=True,
    )


@lru_cache
def _hourly(begins: pd.Timestamp) -> tuple[tuple[str, ...], npt.NDArray[np.float64]]:
    """Animals with enough fixes from a day on, and where they were in the middle of each hour from
    its midnight on, shape (animals, hours, 2), NaN where not known; from the ground's centre."""
    fixes = gps.read_fixes()
    start = begins.tz_localize(gps.ZONE).timestamp()
    hours = start + 3600.0 * (np.arange(24 * PIECE_DAYS) + 0.5)
    names, tracks = [], []
    for animal, track in fixes.sort_values("time").groupby("animal"):
        when = track["time"].astype("int64").to_numpy() / 1e6
        place = track[["x_m", "y_m"]].to_numpy(dtype=float) - np.array(CENTRE_M)
        after = np.searchsorted(when, hours)
        known = (after > 0) & (after < len(when))
        gap = np.where(
            known, when[np.clip(after, 0, len(when) - 1)] - when[np.maximum(after - 1, 0)], np.inf
        )
        known &= gap <= 3600 * LONGEST_GAP_H
        if known.mean() < LEAST_KNOWN:
            continue
        at = np.stack([np.interp(hours, when, place[:, axis]) for axis in (0, 1)], axis=-1)
        at[~known] = np.nan
        names.append(str(animal))
        tracks.append(at)
    return tuple(names), np.array(tracks)


def _in_light(
    rate: npt.NDArray[np.float64], seconds: npt.NDArray[np.float64], light: Light, n_days: int
) -> npt.NDArray[np.float64]:
    """Expected passings in shooting light, shape (animals, cameras, days, 2), from the rate of each
    hour that begins at ``seconds``."""
    found = np.zeros((*rate.shape[:2], n_days, 2))
    for half, (opens, closes) in enumerate(
        ((light.light_starts, light.noon), (light.noon, light.light_ends))
    ):
        for day in np.flatnonzero((closes > seconds[0]) & (opens < seconds[-1] + 3600)):
            part = np.clip(
                np.minimum(seconds + 3600, closes[day]) - np.maximum(seconds, opens[day]), 0, None
            )
            found[:, :, day, half] = rate @ (part / 3600)
    return found
