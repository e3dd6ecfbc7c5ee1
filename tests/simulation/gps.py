"""Real GPS tracks sampled by virtual cameras, on properties laid over and beside the ranges.

Seventeen white-tailed does, Ohio, January 2023 to June 2024 (DeNicola, Mezzini and Cagnacci,
Wildlife Biology, 10.1002/wlb3.01512; data MIT, github StefanoMezzini/south-euclid-deer-ovariectomy
at 6d6f0999). Does and suburban: they tell presence and residence, not the rut.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.timekeeping.seasons import SeasonCalendar

from .life import AWAY, NOT_ALIVE, SUMMER_RANGE
from .passings import visit_of
from .place import METRES_PER_DEGREE
from .simulated_property import SimulatedProperty, Truth

FOLDER = Path(__file__).resolve().parents[3] / "shared" / "data" / "whitetail_gps"
LATITUDE, LONGITUDE, ZONE = 41.50, -81.52, "America/New_York"

LIVES_HERE = 0.5
"""Share of an animal's days on the property from which she is called a resident of it."""


def read_fixes(folder: Path = FOLDER) -> pd.DataFrame:
    """Fixes of every animal: ``animal, time`` (UTC), ``x_m, y_m`` from the data's origin."""
    fixes = pd.read_csv(folder / "fixes_hourly.csv", usecols=["animal", "time_utc", "x_m", "y_m"])
    fixes["time"] = pd.to_datetime(fixes.pop("time_utc"), utc=True).dt.as_unit("us")
    return fixes[["animal", "time", "x_m", "y_m"]]


def sample_track(
    rng: np.random.Generator,
    fixes: pd.DataFrame,
    *,
    centre_m: tuple[float, float],
    side_m: float = 1500.0,
    n_cameras: int = 9,
    passings_per_fix: float = 0.25,
    reach_m: float = 80.0,
) -> SimulatedProperty:
    """What cameras on a property would have caught of one animal.

    Cameras stand on a jittered square grid. Each fix, standing for about an hour, is caught by a
    camera with a rate that falls half-normally with the distance. Cameras count as running on the
    days on which the collar gave a position, since nothing is known of the others.

    Parameters
    ----------
    fixes
        Rows of `read_fixes` of one animal.
    centre_m
        Centre of the property from the data's origin.
    passings_per_fix
        Expected passings for a fix at the camera itself.
    reach_m
        SD of the fall with distance.
    """
    animals = fixes["animal"].unique()
    if len(animals) != 1:
        raise ValueError(f"give the fixes of one animal, not {len(animals)}")
    fixes = fixes.sort_values("time", ignore_index=True)
    local = fixes["time"].dt.tz_convert(ZONE)
    day_of_fix = local.dt.tz_localize(None).dt.normalize()
    days = pd.date_range(day_of_fix.min(), day_of_fix.max(), freq="D", unit="us")
    day = np.asarray((day_of_fix - days[0]).dt.days)
    position = fixes[["x_m", "y_m"]].to_numpy(dtype=float) - np.array(centre_m)
    inside = (np.abs(position) <= side_m / 2).all(axis=1)

    camera_m = camera_grid(rng, n_cameras, side_m)
    gap = position[None, :, :] - camera_m[:, None, :]
    rate = passings_per_fix * np.exp(-(gap**2).sum(axis=-1) / (2 * reach_m**2))
    # A camera sees what comes onto the property; the fall with distance ends at its edge.
    count = rng.poisson(rate * inside)
    site, fix = np.nonzero(count)
    times = count[site, fix]
    site, fix = np.repeat(site, times), np.repeat(fix, times)
    within_hour = rng.uniform(0, 3600, len(fix))
    seconds = fixes["time"].astype("int64").to_numpy()[fix] / 1e6 + within_hour
    order = np.argsort(seconds, kind="stable")
    return SimulatedProperty(
        sightings=_sightings(rng, str(animals[0]), site[order], seconds[order]),
        effort=_effort(n_cameras, pd.DatetimeIndex(day_of_fix.unique())),
        sites=_sites(camera_m, centre_m),
        weather=None,
        calendar=SeasonCalendar(),
        latitude=LATITUDE + centre_m[1] / METRES_PER_DEGREE,
        longitude=LONGITUDE + centre_m[0] / _metres_per_degree_east(),
        zone=ZONE,
        side_m=side_m,
        seasons=tuple(int(s) for s in np.unique(SeasonCalendar().season_of(days))),
        as_of=days[-1].date(),
        truth=_truth(str(animals[0]), n_cameras, days, day, position, inside, len(site)),
    )


def camera_grid(rng: np.random.Generator, n_cameras: int, side_m: float) -> npt.NDArray[np.float64]:
    """Cameras on a jittered grid, shape (cameras, 2)."""
    per_side = int(np.ceil(np.sqrt(n_cameras)))
    step = side_m / per_side
    along = (np.arange(per_side) + 0.5) * step - side_m / 2
    nodes = np.stack(np.meshgrid(along, along), axis=-1).reshape(-1, 2)
    nodes = nodes[rng.permutation(len(nodes))[:n_cameras]]
    return np.asarray(nodes + rng.uniform(-0.2, 0.2, nodes.shape) * step)


def _sightings(
    rng: np.random.Generator,
    animal: str,
    site: npt.NDArray[np.int64],
    seconds: npt.NDArray[np.float64],
) -> pd.DataFrame:
    visit = visit_of(site, seconds)
    _, first, group = np.unique(visit, return_index=True, return_inverse=True)
    photos = np.bincount(group, rng.geometric(0.35, len(group))).astype(np.int64)
    order = np.argsort(first)
    first = first[order]
    instants = np.round(seconds[first] * 1e6).astype("datetime64[us]")
    text = {
        "buck": np.full(len(first), animal),
        "site": np.array([f"Site {i + 1:02d}" for i in site[first]], dtype=object),
        "camera": np.array([f"cam{i + 1:02d}" for i in site[first]], dtype=object),
        "setting": np.full(len(first), "other"),
        "others": np.full(len(first), ""),
    }
    table = pd.DataFrame({name: pd.Series(cells, dtype="str") for name, cells in text.items()})
    table = table.assign(
        bait=False,
        local=pd.DatetimeIndex(instants).tz_localize("UTC").tz_convert(ZONE),
        visit=visit[first],
        photos=photos[order],
        unsure=False,
    )
    columns = "buck site camera setting bait local visit photos unsure others"
    return table[columns.split()]


def _effort(n_cameras: int, days: pd.DatetimeIndex) -> pd.DataFrame:
    number = np.repeat(np.arange(n_cameras) + 1, len(days))
    return pd.DataFrame(
        {
            "camera": pd.Series([f"cam{i:02d}" for i in number], dtype="str"),
            "site": pd.Series([f"Site {i:02d}" for i in number], dtype="str"),
            "day": np.tile(np.asarray(days, dtype="datetime64[us]"), n_cameras),
            "camera_day": 1.0,
        }
    )


def _metres_per_degree_east() -> float:
    return float(METRES_PER_DEGREE * np.cos(np.radians(LATITUDE)))


def _sites(camera_m: npt.NDArray[np.float64], centre_m: tuple[float, float]) -> pd.DataFrame:
    number = range(1, len(camera_m) + 1)
    return pd.DataFrame(
        {
            "site": pd.Series([f"Site {i:02d}" for i in number], dtype="str"),
            "camera": pd.Series([f"cam{i:02d}" for i in number], dtype="str"),
            "setting": pd.Series(["other"] * len(camera_m), dtype="str"),
            "bait": False,
            "x_m": camera_m[:, 0],
            "y_m": camera_m[:, 1],
            "latitude": LATITUDE + (centre_m[1] + camera_m[:, 1]) / METRES_PER_DEGREE,
            "longitude": LONGITUDE + (centre_m[0] + camera_m[:, 0]) / _metres_per_degree_east(),
        }
    )


def _truth(
    animal: str,
    n_cameras: int,
    days: pd.DatetimeIndex,
    day: npt.NDArray[np.int64],
    position: npt.NDArray[np.float64],
    inside: npt.NDArray[np.bool_],
    n_sightings: int,
) -> Truth:
    """Truth from the track: around on a day with a fix inside, and resident if on most days."""
    tracked = np.bincount(day, minlength=len(days)) > 0
    around = np.bincount(day, inside, minlength=len(days)) > 0
    mean = np.stack(
        [
            np.bincount(day, position[:, axis], minlength=len(days))
            / np.maximum(np.bincount(day, minlength=len(days)), 1)
            for axis in (0, 1)
        ],
        axis=-1,
    )
    mean[~tracked] = np.nan
    season = SeasonCalendar().season_of(days)
    rows = []
    for number in np.unique(season):
        here = (season == number) & tracked
        if not here.any():
            continue
        lives_here = around[here].mean() >= LIVES_HERE
        rows.append(
            {
                "buck": animal,
                "season": int(number),
                "pattern": "year-round" if lives_here else "elsewhere",
                "resident": bool(lives_here),
                "days_around": int(around[here].sum()),
                "alive_until": pd.NaT,
            }
        )
    return Truth(
        bucks=(animal,),
        sites=tuple(f"Site {i + 1:02d}" for i in range(n_cameras)),
        days=days,
        seasons=pd.DataFrame(rows),
        around=around[None, :],
        stage=np.where(tracked, np.where(around, SUMMER_RANGE, AWAY), NOT_ALIVE)[None].astype(
            np.int8
        ),
        range_centre_m=mean[None],
        day_centre_m=mean[None],
        running=np.tile(tracked.astype(float), (n_cameras, 1)),
        wrong_tag=np.zeros(n_sightings, dtype=bool),
        chance_on_range=None,
        chance_on_day=None,
    )
