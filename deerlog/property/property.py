"""The property folder, read as a whole."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pandas as pd

from deerlog.errors import Problem, PropertyError
from deerlog.property import bucks as bucks_table
from deerlog.property import cameras as cameras_table
from deerlog.property import clock as clock_table
from deerlog.property import outages as outages_table
from deerlog.property import settings as settings_file
from deerlog.property import sits as sits_table
from deerlog.property import stands as stands_table
from deerlog.property.bucks import read_bucks
from deerlog.property.clock import read_clock_readings
from deerlog.property.matching import NameList
from deerlog.property.outages import read_outages
from deerlog.property.settings import Settings
from deerlog.property.sits import read_sits
from deerlog.property.stands import read_stands, stands_left_out
from deerlog.property.table_rows import Faults, Fits, frame_of, table_path
from deerlog.property.weather import read_weather


@dataclass(frozen=True, kw_only=True, eq=False)
class Property:
    """Everything the user typed about the property, validated.

    Each table is described where it is read (``placements``: `cameras.read_cameras`,
    ``clock_readings``: `clock`, the others: the modules of their names); one whose file is absent
    is empty, and ``weather`` is None where it has no usable row. Rows that cannot be used are not
    in the tables but in ``problems``, what a person should mend or know, in the order the files are
    read. ``missing`` names the tables that are not there, ``left_out`` the rows of cameras.csv that
    could not be used, by camera, and ``stands_left_out`` the stands whose rows could not, each with
    its row, in file order.
    """

    folder: Path
    settings: Settings
    placements: pd.DataFrame
    bucks: pd.DataFrame
    stands: pd.DataFrame
    clock_readings: pd.DataFrame
    outages: pd.DataFrame
    sits: pd.DataFrame
    weather: pd.DataFrame | None
    problems: tuple[Problem, ...]
    missing: tuple[str, ...] = ()
    left_out: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    stands_left_out: Mapping[str, int] = field(default_factory=dict)

    @property
    def camera_names(self) -> NameList:
        """The cameras of cameras.csv, and the rows there that were left out."""
        return NameList(self.placements["camera"].unique(), self.left_out)

    def known_by(self, day: date) -> Property:
        """The property without the rows of cameras.csv, clock.csv, outages.csv, sits.csv and
        weather.csv that are about later days; a camera that went later still stands."""
        after = pd.Timestamp(day + timedelta(days=1))

        def until(table: pd.DataFrame, column: str) -> pd.DataFrame:
            return table[table[column] < after].reset_index(drop=True)

        placements = until(self.placements, "start")
        placements["end"] = placements["end"].where(placements["end"] <= after)
        weather = None if self.weather is None else until(self.weather, "time")
        return replace(
            self,
            placements=placements,
            clock_readings=until(self.clock_readings, "actual"),
            outages=until(self.outages, "start"),
            sits=until(self.sits, "day"),
            weather=None if weather is None or weather.empty else weather,
        )


def find_property(start: Path) -> Path:
    """The nearest folder from ``start`` upward that holds property.toml, or `PropertyError`."""
    here = start.absolute()
    for folder in (here, *here.parents):
        if (folder / settings_file.FILE).is_file():
            return folder
    raise PropertyError(
        f"no {settings_file.FILE} in {here} or any folder above it.",
        how="Go to the property folder or name it with --property; `deerlog new` starts one.",
    )


def open_property(folder: Path) -> Property:
    """Read and validate the settings and all tables of a property folder.

    Raises
    ------
    PropertyError
        There is no such folder, property.toml cannot be used, or cameras.csv is missing or has no
        usable header.
    """
    if not folder.is_dir():
        raise PropertyError(
            f"there is no folder {folder}.", how="Check the path, or start one with `deerlog new`."
        )
    settings, problems = settings_file.read_settings(folder / settings_file.FILE)
    missing: list[str] = []

    def read(
        name: str,
        reader: Callable[..., tuple[Any, Faults]],
        dtypes: dict[str, str] | None,
        *known: Any,
    ) -> tuple[Any, Faults]:
        path, looks_like_it = table_path(folder, name)
        problems.extend(looks_like_it)
        if path is None:
            missing.append(name)
            return None if dtypes is None else frame_of([], dtypes), Faults(name)
        table, found = reader(path, *known)
        problems.extend(found)
        return table, found

    placements, (cameras_out, sites_out) = _read_placements(folder, settings, problems)
    cameras = NameList(placements["camera"].unique(), cameras_out)
    sites = NameList(placements["site"].unique(), sites_out)
    order, stood, in_season = settings.date_order, None, None
    if len(placements):
        since = placements["start"].min().date()
        stood = Fits(lambda day: day >= since, f"lies before {since}, when the first camera stood")
    if settings.hunting:
        seasons = settings.hunting
        in_season = Fits(
            lambda day: any(s.is_open(day) for s in seasons), "lies in no hunting season"
        )
    bucks, _ = read("bucks.csv", read_bucks, bucks_table.DTYPES)
    stands, found = read("stands.csv", read_stands, stands_table.DTYPES, settings, sites)
    lost = stands_left_out(stands, found)
    clock_readings, _ = read("clock.csv", read_clock_readings, clock_table.DTYPES, cameras, order)
    outages, _ = read("outages.csv", read_outages, outages_table.DTYPES, cameras, order, stood)
    sits, _ = read(
        "sits.csv", read_sits, sits_table.DTYPES, stands["stand"], bucks, order, in_season
    )
    weather, _ = read("weather.csv", read_weather, None, settings.timezone, order, settings.home)
    return Property(
        folder=folder,
        settings=settings,
        placements=placements,
        bucks=bucks,
        stands=stands,
        clock_readings=clock_readings,
        outages=outages,
        sits=sits,
        weather=weather,
        # A problem of one row that must be mended harms that row, where no more is known of it.
        problems=tuple(
            p if p.harm or not p.must_mend else replace(p, harm=1.0, harm_in="row")
            for p in problems
        ),
        missing=tuple(missing),
        left_out=cameras_out,
        stands_left_out=lost,
    )


def _read_placements(
    folder: Path, settings: Settings, problems: list[Problem]
) -> tuple[pd.DataFrame, tuple[dict[str, tuple[int, ...]], dict[str, tuple[int, ...]]]]:
    path, found = table_path(folder, cameras_table.FILE)
    if path is None:
        header = ",".join(column.name for column in cameras_table.COLUMNS)
        raise PropertyError(
            f"there is no {cameras_table.FILE}.",
            where=str(folder),
            how=f"{found[0].place()} looks like it. {found[0].how}"
            if found
            else f"It lists where each camera stood; its first row is {header}",
        )
    problems.extend(found)
    placements, faults = cameras_table.read_cameras(path, settings)
    if any(problem.kind == "property-far-away" for problem in faults):
        # It says what the longitude and the time zone by themselves say too.
        problems[:] = [problem for problem in problems if problem.kind != "zone-longitude"]
    problems.extend(faults)
    return placements, cameras_table.rows_left_out(placements, faults)
