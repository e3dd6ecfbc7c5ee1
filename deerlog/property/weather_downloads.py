"""Weather as it is downloaded, in the columns of weather.csv.

Two kinds: the hourly forecast of the US National Weather Service (GeoJSON: ``properties.periods``),
and the common hourly CSV of airport observations (``station, valid, tmpf, drct, sknt, alti, mslp``;
its columns, units and time zone from memory).
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pandas as pd

from deerlog.errors import Problem, PropertyError
from deerlog.property.coordinates import distance_m
from deerlog.property.table_reader import SheetTable, read_table_bytes

AIRPORT = {
    "valid": "time", "tmpf": "temperature_f", "tmpc": "temperature_c", "drct": "wind_from",
    "sknt": "wind_knots", "alti": "pressure_inhg", "mslp": "pressure_hpa",
}  # fmt: skip
"""Each column there, and what it is here."""
AIRPORT_COLUMNS = ("station", "lon", "lat", "time", *AIRPORT)
NO_VALUE = frozenset({"M", "T", "null", "None"})
"""Not measured; a trace of rain, which no column here holds."""
FAR_M = 80_000.0
"""Farther off, weather is another's (our choice: 50 miles)."""

LONGEST = pd.Timedelta(hours=3)
"""A longer period says the day's high or the night's low, not how warm it was when (our choice)."""
_SAVE_HOURLY = (
    "Save the service's hourly forecast of the place as it comes, or write the columns of "
    "weather.csv."
)
_SPEED = re.compile(r"(\d+(?:\.\d+)?)(?:\s*to\s*(\d+(?:\.\d+)?))?\s*(mph|km/h|kt|kn|m/s)", re.I)
_ZONE = re.compile(r":\d\d *[+-]\d\d:?\d\d$")
_WIND_COLUMN = {
    "mph": "wind_mph", "km/h": "wind_kph", "kt": "wind_knots", "kn": "wind_knots", "m/s": "wind_ms",
}  # fmt: skip
_UNITS = {
    "F": "temperature_f", "degF": "temperature_f", "C": "temperature_c", "degC": "temperature_c",
    "km_h-1": "wind_kph", "m_s-1": "wind_ms",
}  # fmt: skip


def downloaded(raw: bytes, file: str, home: tuple[float, float] | None) -> SheetTable | None:
    """The table of a download; None where it is another file, such as weather.csv itself.

    ``home``: latitude and longitude of the property, in degrees; weather of a place more than
    `FAR_M` from it is used, and said to be so. `PropertyError`: JSON that is no hourly forecast.
    """
    if raw.lstrip(b"\xef\xbb\xbf \t\r\n")[:1] == b"{":
        return _hourly_forecast(raw, file, home)
    # Some downloads begin with lines about themselves.
    lines = raw.split(b"\n")
    start = next((n for n, line in enumerate(lines) if line.strip()[:1] not in (b"#", b"")), 0)
    head = lines[start].decode("latin-1").replace('"', "").lower()
    cells = {cell.strip() for cell in re.split("[,;\t]", head)}
    if "station" not in cells or not cells & {"valid", "time"} or not cells & AIRPORT.keys():
        return None
    blank = b"\n" * start  # so that rows keep their numbers
    sheet = read_table_bytes(blank + b"\n".join(lines[start:]), AIRPORT_COLUMNS, file=file)
    return _observations(sheet, home)


def _hourly_forecast(raw: bytes, file: str, home: tuple[float, float] | None) -> SheetTable:
    try:
        given = json.loads(raw.decode("utf-8-sig"))
        periods = [dict(period) for period in given["properties"]["periods"]]
        lasts = [
            pd.Timestamp(period["endTime"]) - pd.Timestamp(period["startTime"])
            for period in periods
            if period.get("endTime") and period.get("startTime")
        ]
    except (ValueError, KeyError, TypeError, RecursionError):
        raise PropertyError(
            "the JSON holds no hourly forecast (properties, periods).", where=file, how=_SAVE_HOURLY
        ) from None
    if any(length > LONGEST for length in lasts):
        what = "the periods of this forecast are longer than three hours, such as days and nights."
        raise PropertyError(what, where=file, how=_SAVE_HOURLY)
    far = _far(_middle(given.get("geometry")), home, file, "The forecast is of a place")
    frame = pd.DataFrame([_of_period(period) for period in periods], dtype="str").fillna("")
    return SheetTable(
        frame=frame.assign(row=pd.Series(range(1, len(frame) + 1), dtype="int64")),
        file=file, encoding="", bom=b"", delimiter="", newline="",
        columns=tuple(frame.columns), problems=tuple(far),
    )  # fmt: skip


def _of_period(period: Mapping[str, Any]) -> dict[str, str]:
    """One period in the columns of weather.csv; what is not known is left blank."""
    row = {"time": str(period.get("startTime") or "")}
    temperature, unit = _measured(period.get("temperature"), str(period.get("temperatureUnit")))
    row[_UNITS.get(unit, "temperature_f")] = temperature
    wind = period.get("windSpeed")
    if isinstance(wind, Mapping):
        speed, unit = _measured(wind, "")
        row[_UNITS.get(unit, "wind_kph")] = speed
    elif found := _SPEED.search(str(wind or "")):
        low, high, unit = found.groups()
        row[_WIND_COLUMN[unit.lower()]] = str((float(low) + float(high or low)) / 2)
    elif str(wind).strip().casefold() == "calm":
        row["wind_mph"] = "0"
    row["wind_from"] = str(period.get("windDirection") or "")
    return row


def _measured(value: object, unit: str) -> tuple[str, str]:
    """A figure and its unit: bare, or as the service's quantity with a unit code."""
    if isinstance(value, Mapping):
        unit = str(value.get("unitCode", "")).rpartition(":")[2]
        low, high, value = (value.get(name) for name in ("minValue", "maxValue", "value"))
        if value is None and isinstance(low, int | float) and isinstance(high, int | float):
            value = (low + high) / 2
    return ("" if value is None else str(value)), unit


def _middle(geometry: Any) -> tuple[float, float] | None:
    """Latitude and longitude of the middle of a GeoJSON point or polygon."""
    try:
        points = geometry["coordinates"]
        while not isinstance(points[0], int | float):
            if isinstance(points[0][0], int | float):
                longitudes, latitudes = zip(*(point[:2] for point in points), strict=True)
                middle = [(min(each) + max(each)) / 2 for each in (latitudes, longitudes)]
                return float(middle[0]), float(middle[1])
            points = points[0]
        return float(points[1]), float(points[0])
    except (KeyError, IndexError, TypeError, ValueError):
        return None


def _observations(sheet: SheetTable, home: tuple[float, float] | None) -> SheetTable:
    """Airport observations of one station: where there are several, of that with most rows."""
    notes, frame = [*sheet.problems], sheet.frame

    def note(kind: str, column: str, why: str, how: str) -> None:
        notes.append(
            Problem(kind=kind, file=sheet.file, column=column, why=why, how=how, must_mend=False)
        )

    rows = frame["station"].value_counts()
    if len(rows) > 1:
        frame = frame[frame["station"] == rows.index[0]]
        note(
            "weather-stations",
            "station",
            f"The file holds {len(rows)} stations; {rows.index[0]} is used, with most rows.",
            "Keep the rows of one station, the nearest.",
        )
    values = frame.drop(columns="row").replace(list(NO_VALUE), "")
    if {"lat", "lon"} <= set(values) and len(values):
        at = [float(pd.to_numeric(values[c], errors="coerce").median()) for c in ("lat", "lon")]
        notes += _far((at[0], at[1]), home, sheet.file, "The station lies")
    if "valid" in values:
        bare = values["valid"].str.contains(r"\d$") & ~values["valid"].str.contains(_ZONE)
        values = values.drop(columns="time", errors="ignore")
        values["valid"] = values["valid"].where(~bare, values["valid"] + "+00:00")
        if bare.any():
            note(
                "weather-utc",
                "valid",
                "The times (valid) are taken as UTC, as such a download has them unless asked "
                "otherwise.",
                "If they are local times, name the column time in place of valid.",
            )
    table = values.rename(columns=AIRPORT)
    # Pressures at the sea by two rules differ by more than weather does in an hour: one of them.
    pressures = [c for c in ("pressure_inhg", "pressure_hpa") if c in table]
    pressures.sort(key=lambda column: sum(map(bool, table[column])))
    table = table.drop(columns=pressures[:-1])
    # A direction beside no wind is written as 0, which is north.
    if {"wind_from", "wind_knots"} <= set(table):
        still = pd.to_numeric(table["wind_knots"], errors="coerce") == 0
        table["wind_from"] = table["wind_from"].where(~still, "")
    return replace(sheet, frame=table.assign(row=frame["row"]), problems=tuple(notes))


def _far(
    place: tuple[float, float] | None, home: tuple[float, float] | None, file: str, what: str
) -> list[Problem]:
    """That the weather is of a place far from the property, where it is."""
    if place is None or home is None or any(math.isnan(value) for value in place):
        return []
    off_m = float(distance_m(*place, *home))
    if off_m <= FAR_M:
        return []
    why = f"{what} {off_m / 1000:,.0f} km from the property; the weather there may be another."
    how = "Save that of the nearest place, if this is not it."
    return [Problem(kind="weather-far", file=file, why=why, how=how, must_mend=False)]
