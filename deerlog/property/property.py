"""The property folder, read as a whole."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
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
from deerlog.property import weather as weather_table
from deerlog.property.matching import NameList
from deerlog.property.settings import Settings
from deerlog.property.stands import stands_left_out
from deerlog.property.table_rows import frame_of, table_path


@dataclass(frozen=True, kw_only=True, eq=False)
class Property:
    """Everything the user typed about the property, validated.

    The columns of each table are described where it is read; a table whose file is absent is
    empty. Rows that cannot be used are not in the tables but in ``problems``.

    Attributes
    ----------
    folder
        The property folder.
    placements
        See `deerlog.property.cameras.read_cameras`.
    bucks, stands, clock_readings, outages, sits
        See the modules of these names (``clock_readings``: `deerlog.property.clock`).
    weather
        See `deerlog.property.weather.read_weather`; None where absent or without a usable row.
    problems
        What a person should mend or know, in the order the files are read.
    missing
        Names of the tables that are not there.
    left_out
        Rows of cameras.csv that could not be used, by camera.
    stands_left_out
        Stands of stands.csv whose rows could not be used, each with its row, in file order.
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


def find_property(start: Path) -> Path:
    """The nearest folder from ``start`` upward that holds property.toml.

    Raises
    ------
    PropertyError
        There is none.
    """
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
        reader: Callable[..., tuple[pd.DataFrame, list[Problem]]],
        dtypes: Mapping[str, str],
        *known: Any,
    ) -> pd.DataFrame:
        path, found = table_path(folder, name)
        problems.extend(found)
        if path is None:
            missing.append(name)
            return frame_of([], dtypes)
        table, found = reader(path, *known)
        problems.extend(found)
        return table

    placements, (cameras_out, sites_out) = _read_placements(folder, settings, problems)
    cameras = NameList(placements["camera"].unique(), cameras_out)
    sites = NameList(placements["site"].unique(), sites_out)
    order = settings.date_order
    bucks = read("bucks.csv", bucks_table.read_bucks, bucks_table.DTYPES)
    stands = read("stands.csv", stands_table.read_stands, stands_table.DTYPES, settings, sites)
    clock_readings = read(
        "clock.csv", clock_table.read_clock_readings, clock_table.DTYPES, cameras, order
    )
    outages = read("outages.csv", outages_table.read_outages, outages_table.DTYPES, cameras, order)
    sits = read("sits.csv", sits_table.read_sits, sits_table.DTYPES, stands["stand"], bucks, order)
    weather: pd.DataFrame | None = None
    weather_path, found = table_path(folder, "weather.csv")
    problems.extend(found)
    if weather_path is None:
        missing.append("weather.csv")
    else:
        weather, found = weather_table.read_weather(
            weather_path, settings.timezone, date_order=settings.date_order
        )
        problems.extend(found)
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
        problems=tuple(_with_harm(problem) for problem in problems),
        missing=tuple(missing),
        left_out=cameras_out,
        stands_left_out=_stands_left_out(folder, stands, problems),
    )


def _with_harm(problem: Problem) -> Problem:
    """A problem of one row that must be mended harms that row, where no more is known of it."""
    if problem.harm or not problem.must_mend:
        return problem
    return replace(problem, harm=1.0, harm_in="row")


def _stands_left_out(folder: Path, stands: pd.DataFrame, problems: list[Problem]) -> dict[str, int]:
    """Stands whose row could not be used; a row is left out only with a problem of its own."""
    path, _ = table_path(folder, "stands.csv")
    if path is None or not any(problem.file == path.name for problem in problems):
        return {}
    return stands_left_out(path, stands["stand"])


def _read_placements(
    folder: Path, settings: Settings, problems: list[Problem]
) -> tuple[pd.DataFrame, tuple[dict[str, tuple[int, ...]], dict[str, tuple[int, ...]]]]:
    path, found = table_path(folder, cameras_table.FILE)
    if path is None:
        raise PropertyError(
            f"there is no {cameras_table.FILE}.",
            where=str(folder),
            how=f"{found[0].place()} looks like it. {found[0].how}"
            if found
            else "It lists where each camera stood; its first row is "
            + ",".join(column.name for column in cameras_table.COLUMNS),
        )
    problems.extend(found)
    placements, found = cameras_table.read_cameras(path, settings)
    if any(problem.kind == "property-far-away" for problem in found):
        # It says what the longitude and the time zone by themselves say too.
        problems[:] = [problem for problem in problems if problem.kind != "zone-longitude"]
    problems.extend(found)
    left_out = cameras_table.rows_left_out(path, placements) if found else ({}, {})
    return placements, left_out
