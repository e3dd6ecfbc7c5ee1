"""A new property folder: commented settings, tables with their header, and the two folders."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from deerlog.errors import OutputError, PropertyError
from deerlog.property import bucks, cameras, clock, outages, sits, stands
from deerlog.property.settings import FILE, HuntingSeason, Settings, settings_from_text, zone_doubt
from deerlog.property.table_rows import Column

_TABLES: dict[str, Sequence[Column]] = {
    "cameras.csv": cameras.COLUMNS,
    "bucks.csv": bucks.COLUMNS,
    "stands.csv": stands.COLUMNS,
    "clock.csv": clock.COLUMNS,
    "outages.csv": outages.COLUMNS,
    "sits.csv": sits.COLUMNS,
}

_WEATHER_HEADER = {
    "imperial": "time,temperature_f,wind_mph,wind_from,pressure_inhg",
    "metric": "time,temperature_c,wind_ms,wind_from,pressure_hpa",
}

FOLDERS = ("cards", "tags")


def start_property(
    folder: Path, *, rut_peak: tuple[int, int] | None = None, **answers: Any
) -> tuple[Path, ...]:
    """Start a property folder; the answers are checked before anything is written.

    Tables and folders that exist are left as they are.

    Parameters
    ----------
    rut_peak
        (month, day), or None where it is not known yet: the line is then written as a comment.
    answers
        Further fields of `Settings`; ``name``, ``latitude``, ``longitude`` and ``timezone`` are
        needed.

    Returns
    -------
    tuple of Path
        What was written, property.toml last.

    Raises
    ------
    PropertyError
        There is a property.toml already, or an answer cannot be used.
    OutputError
        The folder cannot be written.
    """
    settings_path = folder / FILE
    if settings_path.exists():
        raise PropertyError(
            f"there is a {FILE} already.",
            where=str(folder),
            how="Edit it, or choose another folder; nothing was changed.",
        )
    text = _settings_text(rut_peak, **answers)
    try:
        text.encode()
        settings, _ = settings_from_text(text, folder_name=folder.name)
    except UnicodeEncodeError as error:
        raise PropertyError(
            "an answer holds a character that cannot be written.",
            how="Type it again without it; nothing was written.",
        ) from error
    except PropertyError as error:
        raise PropertyError(
            error.what, how="Correct the answer and try again; nothing was written."
        ) from error
    doubt = zone_doubt(settings.longitude, settings.timezone)
    if doubt:
        raise PropertyError(doubt[0], how=f"{doubt[1]} Nothing was written.")
    headers = {
        table: ",".join(column.name for column in columns) for table, columns in _TABLES.items()
    }
    headers["weather.csv"] = _WEATHER_HEADER[settings.units]
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        # Names in any case: on some systems Cameras.csv is cameras.csv, and read_table takes both.
        there = {path.name.casefold() for path in folder.iterdir()}
        for sub in FOLDERS:
            if sub not in there:
                (folder / sub).mkdir()
                written.append(folder / sub)
        for table, header in headers.items():
            if table not in there:
                _write_new(folder / table, header + "\n")
                written.append(folder / table)
        # Last, so that after a failure the same command can be run again.
        _write_new(settings_path, text)
        written.append(settings_path)
    except OSError as error:
        raise OutputError(
            f"the property folder cannot be written ({error.strerror or error}).",
            where=str(folder),
            how="Choose a folder you may write to.",
        ) from error
    return tuple(written)


def _write_new(path: Path, text: str) -> None:
    with path.open("x", encoding="utf-8", newline="\n") as file:
        file.write(text)


def toml_text(text: str) -> str:
    """Text as a TOML basic string, in quotation marks."""
    escapes = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\t": "\\t", "\r": "\\r"}
    return '"' + "".join(escapes.get(c, _plain(c)) for c in text) + '"'


def _plain(character: str) -> str:
    code = ord(character)
    return f"\\u{code:04X}" if code < 0x20 or code == 0x7F else character


def _month_day(day: tuple[int, int]) -> str:
    return f'"{day[0]:02d}-{day[1]:02d}"'


def _settings_text(
    rut_peak: tuple[int, int] | None,
    *,
    name: str,
    latitude: float,
    longitude: float,
    timezone: str,
    units: str = Settings.units,
    season_start: tuple[int, int] = Settings.season_start,
    light_before_sunrise_minutes: int = Settings.light_before_sunrise_minutes,
    light_after_sunset_minutes: int = Settings.light_after_sunset_minutes,
    hunting: Sequence[HuntingSeason] = (),
) -> str:
    rut_line = f"rut_peak = {_month_day(rut_peak)}" if rut_peak else '# rut_peak = "11-12"'
    seasons = "\n".join(
        f"[[hunting]]\nname = {toml_text(season.name)}\n"
        f"opens = {_month_day(season.opens)}\ncloses = {_month_day(season.closes)}\n"
        for season in hunting
    )
    if not seasons:
        seasons = '# [[hunting]]\n# name = "bow"\n# opens = "10-01"\n# closes = "01-15"\n'
    return f"""\
# The property. Text and dates stand in quotation marks, numbers do not; "#" begins a comment.

name = {toml_text(name)}

# Degrees with decimals, about the middle of the property. West and south are negative.
latitude = {latitude!r}
longitude = {longitude!r}

# IANA name: America/New_York, America/Chicago, America/Denver, America/Los_Angeles, ...
timezone = {toml_text(timezone)}

# How figures are shown: "imperial" or "metric".
units = {toml_text(units)}

# The deer year begins on this day ("MM-DD") and is named for the calendar year it begins in.
season_start = {_month_day(season_start)}

# The local peak of breeding, "MM-DD". Pre-rut, rut and late season hang on it, and places differ
# by months. Your state agency publishes conception dates; or take the local peak of fawning less
# about 200 days (most fawns born about 1 June: bred about 13 November).
{rut_line}

# Shooting light: minutes before sunrise and after sunset. Your regulations rule; some places end
# at sunset: 0.
light_before_sunrise_minutes = {light_before_sunrise_minutes!r}
light_after_sunset_minutes = {light_after_sunset_minutes!r}

# A gap between photos of more minutes than this starts a new visit.
visit_gap_minutes = 30

# Mon, Tue, Wed, Thu, Fri, Sat or Sun.
week_starts = "Mon"

# Share of a week's camera-days that must have run for the week to count as watched, above 0 to 1.
watched_share = 0.25

# What a blank cell of a tag sheet says: "not looked at", "nobody named", or "auto": nobody named
# where hardly any visit that was looked at is marked "-".
blank_means = "auto"

# For tables saved by a spreadsheet program: whether 03/04/2026 is "month first" (4 March) or "day
# first" (3 April). Left blank, such a day is refused unless others of its column tell.
date_order = ""

# One table for each hunting season, every year; one may run across the turn of the year.
{seasons}
# Rules of the plan; what is not set stays as here.
# [plan]
# mornings_at_food = false   # no morning sits where deer are feeding
# wind = true                # a stand only on the winds of stands.csv (needs a forecast)
# rest = true                # a stand rests after a sit, rest_days of stands.csv
# season_dates = true        # only on days of a [[hunting]] table
"""
