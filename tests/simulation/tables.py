"""The tables of a simulated property, in the columns and types that an analysis reads."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from .cameras import SETTINGS, Cameras
from .life import NOT_ALIVE, PATTERNS, RESIDENT_PATTERNS, Life
from .passings import Passings, visit_of
from .place import LATITUDE, LONGITUDE, METRES_PER_DEGREE, ZONE


class Names(NamedTuple):
    bucks: tuple[str, ...]
    sites: tuple[str, ...]
    cameras: tuple[str, ...]


def names_of(n_bucks: int, cameras: Cameras) -> Names:
    return Names(
        bucks=tuple(f"Buck {i + 1:02d}" for i in range(n_bucks)),
        sites=tuple(f"Site {i + 1:02d}" for i in range(len(cameras.camera))),
        cameras=tuple(f"cam{i + 1:02d}" for i in cameras.camera),
    )


def sightings_table(
    rng: np.random.Generator,
    passings: Passings,
    cameras: Cameras,
    names: Names,
) -> tuple[pd.DataFrame, npt.NDArray[np.bool_]]:
    """Passings gathered into one row a buck and visit, and whether the row's tag is wrong."""
    visit = visit_of(passings.site, passings.seconds)
    key = visit * len(names.bucks) + passings.buck
    # Passings are in order of time, so the first of each key is his first photo of the visit.
    _, first, group = np.unique(key, return_index=True, return_inverse=True)
    unsure = np.bincount(group, ~passings.unsure) == 0
    wrong = np.bincount(group, ~passings.wrong) == 0
    photos = np.bincount(group, passings.photos).astype(np.int64)
    order = np.argsort(first)
    first = first[order]
    site = passings.site[first]
    microseconds = np.round(passings.seconds[first] * 1e6).astype("datetime64[us]")
    others = rng.choice(["", "doe", "doe; fawn", "raccoon"], len(first), p=[0.75, 0.15, 0.06, 0.04])
    table = pd.DataFrame(
        {
            "buck": _labels(names.bucks, passings.buck[first]),
            "site": _labels(names.sites, site),
            "camera": _labels(names.cameras, site),
            "setting": _labels(SETTINGS, cameras.setting[site]),
            "bait": cameras.bait[site],
            "local": pd.DatetimeIndex(microseconds).tz_localize("UTC").tz_convert(ZONE),
            "visit": visit[first],
            "photos": photos[order],
            "unsure": unsure[order],
            "others": pd.Series(others, dtype="str"),
        }
    )
    return table, wrong[order]


def _labels(names: Sequence[str], index: npt.NDArray[np.int64]) -> pd.Series:
    return pd.Series(names, dtype="str").take(index).reset_index(drop=True)


def effort_table(cameras: Cameras, names: Names, days: pd.DatetimeIndex) -> pd.DataFrame:
    site, day = np.nonzero(cameras.placed)
    return pd.DataFrame(
        {
            "camera": _labels(names.cameras, site),
            "site": _labels(names.sites, site),
            "day": days[day],
            "camera_day": cameras.believed[site, day],
        }
    )


def sites_table(cameras: Cameras, names: Names) -> pd.DataFrame:
    x, y = cameras.position_m.T
    return pd.DataFrame(
        {
            "site": pd.Series(names.sites, dtype="str"),
            "camera": pd.Series(names.cameras, dtype="str"),
            "setting": _labels(SETTINGS, cameras.setting),
            "bait": cameras.bait,
            "x_m": x,
            "y_m": y,
            "latitude": LATITUDE + y / METRES_PER_DEGREE,
            "longitude": LONGITUDE + x / (METRES_PER_DEGREE * np.cos(np.radians(LATITUDE))),
        }
    )


def seasons_table(
    life: Life,
    around: npt.NDArray[np.bool_],
    bucks: tuple[str, ...],
    days: pd.DatetimeIndex,
    seasons: tuple[int, ...],
    lengths: list[int],
) -> pd.DataFrame:
    """Truth by buck and season, for the seasons he was alive in."""
    starts = np.concatenate([[0], np.cumsum(lengths)])
    rows: list[dict[str, object]] = []
    for b, buck in enumerate(bucks):
        for s, season in enumerate(seasons):
            part = slice(int(starts[s]), int(starts[s + 1]))
            alive = life.stage[b, part] != NOT_ALIVE
            if not alive.any():
                continue
            pattern = PATTERNS[life.pattern[b, s]]
            until = pd.NaT if alive[-1] else days[part][np.flatnonzero(alive)[-1]]
            rows.append(
                {
                    "buck": buck,
                    "season": season,
                    "pattern": pattern,
                    "resident": pattern in RESIDENT_PATTERNS,
                    "days_around": int(around[b, part].sum()),
                    "alive_until": until,
                }
            )
    table = pd.DataFrame(rows)
    return table.assign(alive_until=pd.to_datetime(table["alive_until"]))
