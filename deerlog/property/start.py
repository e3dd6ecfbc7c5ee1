"""A new property folder: commented settings, tables with their header, and the two folders."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Sequence
from dataclasses import fields
from pathlib import Path
from typing import Any

from deerlog.errors import OutputError, PropertyError
from deerlog.property import bucks, cameras, clock, outages, sits, stands
from deerlog.property.settings import (
    FILE,
    SOUTH_RUT_PEAK,
    SOUTH_START,
    HuntingSeason,
    Settings,
    settings_from_text,
    zone_doubt,
)
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
    """Start a property folder; gives what was written, property.toml last.

    The answers, further fields of `Settings`, are checked before anything is written. Tables and
    folders that exist are left as they are. Without ``rut_peak``, (month, day), its line is written
    as a comment. South of the equator the deer year and that comment are half a year on, where no
    answer says otherwise. `PropertyError`: there is a property.toml already, or an answer cannot be
    used; `OutputError`: the folder cannot be written.
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
        what = "an answer holds a character that cannot be written."
        raise PropertyError(what, how="Type it again without it; nothing was written.") from error
    except PropertyError as error:
        how = "Correct the answer and try again; nothing was written."
        raise PropertyError(error.what, how=how) from error
    doubt = zone_doubt(settings.longitude, settings.timezone)
    if doubt:
        raise PropertyError(doubt[0], how=f"{doubt[1]} Nothing was written.")
    weather = {"weather.csv": _WEATHER_HEADER[settings.units]}
    headers = {t: ",".join(column.name for column in c) for t, c in _TABLES.items()} | weather
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
    """Text as a TOML basic string, in quotation marks: as in JSON, but for the delete character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")


def _toml(value: object) -> str:
    """A setting as it stands in the file."""
    if isinstance(value, tuple):
        return f'"{value[0]:02d}-{value[1]:02d}"'
    return toml_text(value) if isinstance(value, str) else repr(value)


def _season_tables(seasons: Sequence[HuntingSeason]) -> str:
    tables = (
        f"[[hunting]]\nname = {_toml(season.name)}\n"
        f"opens = {_toml(season.opens)}\ncloses = {_toml(season.closes)}"
        for season in seasons
    )
    example = '# [[hunting]]\n# name = "bow"\n# opens = "10-01"\n# closes = "01-15"'
    return "\n\n".join(tables) or example


def _settings_text(rut_peak: tuple[int, int] | None, **answers: Any) -> str:
    """A property.toml with these answers, and every other key at what holds without it."""
    latitude = answers.get("latitude")
    south = isinstance(latitude, int | float) and latitude < 0
    if south:
        answers = {"season_start": SOUTH_START} | answers
    paragraphs: list[str] = []
    for key in fields(Settings):
        about = key.metadata["about"]
        if about is None:
            continue
        if south:  # the example of the rut peak, half a year on
            about = about.replace("1 June", "1 December").replace("13 November", "15 May")
        lines = [
            textwrap.fill(f"# {line}", 98, subsequent_indent="# ", break_on_hyphens=False)
            if line
            else ""
            for line in about.split("\n")
        ]
        if key.name == "hunting":
            lines.append(_season_tables(answers.get("hunting", ())))
        elif key.name == "rut_peak":
            unknown = "" if rut_peak else "# "
            likely = SOUTH_RUT_PEAK if south else key.default
            lines.append(f"{unknown}rut_peak = {_toml(rut_peak or likely)}")
        elif key.name != "plan":
            lines.append(f"{key.name} = {_toml(answers.get(key.name, key.default))}")
        if about:
            paragraphs.append("\n".join(lines))
        else:
            paragraphs[-1] += "\n" + lines[-1]
    return "\n\n".join(paragraphs) + "\n"
