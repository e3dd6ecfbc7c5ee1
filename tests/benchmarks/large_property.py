"""A large property on disk, as a simulation gives it: years of photo logs, tags, weather, hunts.

What the cameras took beside the tagged bucks (does, raccoons, wind) is strewn over the running
days by hour of the day alone: it is there to be read, not to be learned from.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
from simulation.ground import simulate_property
from simulation.simulated_property import SimulatedProperty

from deerlog.timekeeping.sun import sun_height

SECONDS = "datetime64[s]"
STANDS_FOR = 3
"""One site in three has a stand."""
TARGETS = 5
HUNTING = """
[[hunting]]
name = "bow"
opens = "10-01"
closes = "01-15"
"""


@dataclass(frozen=True)
class Written:
    """What was written: the folder, its rows, and the last day that was simulated."""

    folder: Path
    photos: int
    tagged_visits: int
    tag_rows: int
    as_of: date


def write_large_property(
    folder: Path,
    *,
    seed: int,
    seasons: int,
    cameras: int,
    bucks: int,
    photos_a_season: int,
    tagged_a_season: int,
) -> Written:
    """Write the folder of a property.

    Parameters
    ----------
    photos_a_season
        Photos logged in a season, of bucks and of all else.
    tagged_a_season
        About how many visits bear the name of a buck. The simulated animals are made as busy as
        that needs.
    """
    simulated = _as_busy_as(seed, seasons, cameras, bucks, tagged_a_season * seasons)
    rng = np.random.default_rng(seed)
    visits = _visits(simulated, rng, photos_a_season * seasons)
    folder.mkdir(parents=True)
    _write_settings(folder, simulated)
    _write_tables(folder, simulated)
    n_photos = 0
    for camera, mine in visits.groupby("camera"):
        n_photos += _write_camera(folder, str(camera), mine, rng, simulated)
    tagged = int((visits["bucks"] != "-").sum())
    return Written(folder, n_photos, tagged, len(visits), simulated.as_of)


def _as_busy_as(
    seed: int, seasons: int, cameras: int, bucks: int, wanted: int
) -> SimulatedProperty:
    """A property with about so many buck visits: how often a buck passes is scaled to it."""
    least, most = 0.0, 1.0
    for _ in range(12):
        density = (least + most) / 2
        made = simulate_property(
            np.random.default_rng(seed),
            seasons,
            n_cameras=cameras,
            n_bucks=bucks,
            density=density,
            weather="simulated",
        )
        if 0.97 <= len(made.sightings) / wanted <= 1.03:
            break
        least, most = (density, most) if len(made.sightings) < wanted else (least, density)
    return made


def _visits(simulated: SimulatedProperty, rng: np.random.Generator, photos: int) -> pd.DataFrame:
    """Every visit at a camera, one row each: ``camera, local, photos, bucks, others``."""
    seen = simulated.sightings
    named = seen["buck"].where(~seen["unsure"], seen["buck"] + "?")
    bucks = (
        seen.assign(bucks=named, local=seen["local"].dt.tz_localize(None))
        .groupby(["camera", "visit"], sort=False)
        .agg(local=("local", "min"), photos=("photos", "sum"), bucks=("bucks", _joined))
        .reset_index()
        .assign(others="")
    )
    left = max(0, photos - int(bucks["photos"].sum()))
    each = rng.integers(1, 7, max(1, round(left / 3.5)))
    effort = simulated.effort[simulated.effort["camera_day"] > 0.5]
    where = effort.iloc[rng.choice(len(effort), len(each))]
    hour = (rng.normal(18.0, 4.5, len(each)) % 24) * 3600
    others = pd.DataFrame(
        {
            "camera": where["camera"].to_numpy(),
            "local": where["day"].to_numpy() + (hour * 1e6).astype("timedelta64[us]"),
            "photos": each,
            "bucks": "-",
            "others": rng.choice(["", "doe", "doe; fawn", "raccoon"], len(each)),
        }
    )
    both = pd.concat([bucks.drop(columns="visit"), others], ignore_index=True)
    return both.sort_values(["camera", "local"], ignore_index=True)


def _joined(names: pd.Series) -> str:
    return "; ".join(dict.fromkeys(names))


def _write_camera(
    folder: Path,
    camera: str,
    visits: pd.DataFrame,
    rng: np.random.Generator,
    simulated: SimulatedProperty,
) -> int:
    """The list of a camera's photos, and its tag sheet."""
    count = visits["photos"].to_numpy()
    first = visits["local"].to_numpy().astype(SECONDS)
    number = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    taken = np.repeat(first, count) + (number * 4).astype("timedelta64[s]")
    order = np.argsort(taken, kind="stable")
    file = np.empty(len(taken), dtype=np.int64)
    file[order] = np.arange(len(taken))
    heads = file[np.cumsum(count) - count]
    shown = np.datetime_as_string(taken)
    utc = pd.DatetimeIndex(taken).tz_localize(
        simulated.zone, ambiguous=np.ones(len(taken), dtype=bool), nonexistent="shift_forward"
    )
    height = sun_height(simulated.latitude, simulated.longitude, utc.tz_convert("UTC"))
    grey = np.where(np.asarray(height) + rng.normal(0, 1.5, len(taken)) < -4, "grey", "colour")
    place = folder / "cards" / camera
    place.mkdir(parents=True)
    rows = [(_name(file[i]), shown[i].replace("T", " "), grey[i]) for i in order]
    _write_rows(place / "photos.csv", ("file", "taken", "look"), rows)
    tags = zip(
        (_name(i) for i in heads),
        (text.replace("T", " ") for text in np.datetime_as_string(first)),
        count,
        visits["bucks"],
        visits["others"],
        [""] * len(visits),
        strict=True,
    )
    (folder / "tags").mkdir(exist_ok=True)
    header = ("photo", "taken", "photos", "bucks", "others", "notes")
    _write_rows(folder / "tags" / f"{camera}.csv", header, tags)
    return len(taken)


def _name(number: int | np.int64) -> str:
    return f"{number // 999:03d}FERN/IMG_{number % 999 + 1:04d}.JPG"


def _write_settings(folder: Path, simulated: SimulatedProperty) -> None:
    text = (
        f'name = "Size"\nlatitude = {simulated.latitude}\nlongitude = {simulated.longitude}\n'
        f'timezone = "{simulated.zone}"\n{HUNTING}'
    )
    (folder / "property.toml").write_text(text, encoding="utf-8")


def _write_tables(folder: Path, simulated: SimulatedProperty) -> None:
    sites = simulated.sites.set_index("site")
    placed = simulated.effort.groupby(["camera", "site"])["day"].agg(["min", "max"])
    last = simulated.effort["day"].max()
    rows = []
    for (camera, site), days in placed.iterrows():
        spot = sites.loc[site]
        end = "" if days["max"] == last else f"{days['max']:%Y-%m-%d}"
        where = f"{spot['latitude']:.5f}", f"{spot['longitude']:.5f}"
        rows.append((camera, site, spot["setting"], *where, f"{days['min']:%Y-%m-%d}", end))
    header = ("camera", "site", "setting", "latitude", "longitude", "start", "end")
    _write_rows(folder / "cameras.csv", header, rows)
    names = simulated.truth.bucks
    targets = [(buck, "yes" if i < TARGETS else "no") for i, buck in enumerate(names)]
    _write_rows(folder / "bucks.csv", ("buck", "target"), targets)
    stands = [
        (f"Stand {i + 1}", site, f"{spot['latitude']:.5f}", f"{spot['longitude']:.5f}", "N;NW;W", 3)
        for i, (site, spot) in enumerate(list(sites.iterrows())[::STANDS_FOR])
    ]
    header = ("stand", "sites", "latitude", "longitude", "winds", "rest_days")
    _write_rows(folder / "stands.csv", header, stands)
    _write_sits(folder, simulated, len(stands))
    weather = simulated.weather
    assert weather is not None
    weather.assign(time=weather["time"].dt.strftime("%Y-%m-%d %H:%M")).to_csv(
        folder / "weather.csv", index=False, float_format="%.1f"
    )


def _write_sits(folder: Path, simulated: SimulatedProperty, stands: int) -> None:
    """Twenty-five hunts a season, some with a buck seen."""
    targets = simulated.truth.bucks[:TARGETS]
    rows = []
    for season in simulated.seasons:
        for i in range(25):
            day = date(season, 10, 2).toordinal() + 3 * i
            seen = targets[i % len(targets)] if i % 9 == 0 else ""
            half = "AM" if i % 2 else "PM"
            rows.append((date.fromordinal(day), half, f"Stand {i % stands + 1}", seen, i % 4))
    _write_rows(folder / "sits.csv", ("day", "half", "stand", "bucks_seen", "deer_seen"), rows)


def _write_rows(path: Path, header: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([header, *rows])
