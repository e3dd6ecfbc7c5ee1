"""weather.csv: hourly or daily weather in either system of units, to one."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.errors import PropertyError
from deerlog.property.cell_values import CellError, parse_number
from deerlog.property.coordinates import POINTS, point_degrees
from deerlog.property.day_and_time import parse_moment
from deerlog.property.table_reader import SheetTable, bytes_of, read_table_bytes
from deerlog.property.table_rows import Faults, column_order, table_problem
from deerlog.property.weather_downloads import downloaded
from deerlog.timekeeping.zones import localize

# A column of the file, the one of the table that it becomes, and how: value * scale + shift.
# Exact by definition, but for the inch of mercury (conventional value, NIST SP 811, 2008).
_MEASURES = (
    ("temperature_c", "temperature_c", 1.0, 0.0),
    ("temperature_f", "temperature_c", 5 / 9, -160 / 9),
    ("wind_ms", "wind_ms", 1.0, 0.0),
    ("wind_kph", "wind_ms", 1 / 3.6, 0.0),
    ("wind_mph", "wind_ms", 0.44704, 0.0),
    ("wind_knots", "wind_ms", 1852 / 3600, 0.0),
    ("pressure_hpa", "pressure_hpa", 1.0, 0.0),
    ("pressure_inhg", "pressure_hpa", 33.86389, 0.0),
)

# What is believed, in the units of the table (our choice: somewhat beyond what was ever measured
# in North America; pressure down to that of a station at 4,000 m).
_LIMITS = {
    "temperature_c": (-65.0, 60.0),
    "wind_ms": (0.0, 110.0),
    "pressure_hpa": (600.0, 1100.0),
}

COLUMNS = ("time", "wind_from", *(column for column, *_ in _MEASURES))

VALUES = ("temperature_c", "wind_ms", "wind_from_deg", "pressure_hpa")

_NO_DIRECTION = frozenset({"calm", "var", "variable", "vrb", "-"})


def read_weather(
    path: Path, zone: str, date_order: str = "", home: tuple[float, float] | None = None
) -> tuple[pd.DataFrame | None, Faults]:
    """Read the weather, sorted by ``time``; None where nothing can be used.

    A table with the columns of weather.csv, or a file as `weather_downloads` knows it; ``home`` is
    the latitude and longitude of the property.

    ``time`` is naive local, each once; a bare day stands at its noon, and a time written with a
    zone is turned to ``zone``, the property's own. Beside it are ``temperature_c``, ``wind_ms``
    (metres a second), ``wind_from_deg`` (direction it blows from, degrees clockwise from north, 0
    to below 360) and ``pressure_hpa``, NaN where not given. Rows left out are told one by one;
    values that cannot be read in one problem a column and reason, with their number and the first
    row.
    """
    try:
        raw = bytes_of(path, path.name)
        sheet = downloaded(raw, path.name, home) or read_table_bytes(
            raw, COLUMNS, required=("time",), file=path.name
        )
    except PropertyError as error:
        return None, Faults.unreadable(path, error)
    faults = Faults(path.name, sheet.problems)
    if not set(sheet.frame.columns) & (set(COLUMNS) - {"time"}):
        why = "No column holds a temperature, wind or pressure; the table is left out."
        how = f"Name the columns with their units: {', '.join(COLUMNS)}."
        faults.append(table_problem("table-unreadable", path.name, why, how, len(sheet.frame)))
        return None, faults
    table = pd.DataFrame({"time": _times(sheet, zone, date_order, faults)})
    for name in _LIMITS:
        table[name] = _in_table_units(sheet, name, faults)
    direction = partial(_direction, decimal_comma=sheet.decimal_comma)
    table["wind_from_deg"] = _column(sheet, "wind_from", direction, faults)
    table["row"] = sheet.frame["row"]
    table = table[table["time"].notna()].sort_values("time", kind="stable")
    table = _each_time_once(table, zone, faults)
    return (table[["time", *VALUES]].reset_index(drop=True) if len(table) else None), faults


def _times(sheet: SheetTable, zone: str, date_order: str, faults: Faults) -> pd.Series:
    tz = ZoneInfo(zone)
    order = column_order(sheet, "time", date_order)
    times: list[datetime | None] = []
    for text, row in zip(sheet.frame["time"], sheet.frame["row"], strict=True):
        try:
            if not text:
                raise CellError("The time is blank.", how="Fill it in, or clear the whole row.")
            moment = parse_moment(text, zone_allowed=True, date_order=order)
        except CellError as error:
            times.append(None)
            why = f"{error.what} The row is left out."
            faults.add("bad-cell", {"row": row, "time": text}, "time", why, error.how)
            continue
        time = moment.time + timedelta(hours=12) if moment.whole_day else moment.time
        times.append(time.astimezone(tz).replace(tzinfo=None) if time.tzinfo else time)
    return pd.Series(times, dtype="datetime64[us]")


def _in_table_units(sheet: SheetTable, name: str, faults: Faults) -> npt.NDArray[np.float64]:
    """One measure from whichever of its columns has a value in a row; the first listed wins."""
    low, high = _LIMITS[name]
    result = np.full(len(sheet.frame), np.nan)
    for column, becomes, scale, shift in _MEASURES:
        if becomes != name:
            continue

        def parse(
            text: str, scale: float = scale, shift: float = shift, column: str = column
        ) -> float:
            value = parse_number(text, decimal_comma=sheet.decimal_comma) * scale + shift
            if not low <= value <= high:
                raise CellError(
                    "The value is beyond anything measured.",
                    how=f"Check the figure and its unit ({column}).",
                )
            return value

        found = _column(sheet, column, parse, faults)
        result = np.where(np.isnan(result), found, result)
    return result


def _direction(text: str, decimal_comma: bool) -> float:
    """Direction in degrees from a compass point or a number; NaN for calm or variable wind."""
    word = text.strip().upper()
    if word.casefold() in _NO_DIRECTION:
        return math.nan
    if word in POINTS:
        return point_degrees(word)
    try:
        degrees = parse_number(text.rstrip("°"), low=0, high=360, decimal_comma=decimal_comma)
    except CellError:
        raise CellError(
            "The value is not a wind direction.",
            how="Write a compass point (NW) or degrees from 0 to 360, where it blows from.",
        ) from None
    return degrees % 360


def _column(
    sheet: SheetTable, column: str, parse: Callable[[str], float], faults: Faults
) -> npt.NDArray[np.float64]:
    """A column of numbers, NaN where blank; unreadable cells told together, by reason."""
    if column not in sheet.frame:
        return np.full(len(sheet.frame), np.nan)
    values: list[float] = []
    wrong: dict[tuple[str, str], list[tuple[int, str]]] = {}
    for text, row in zip(sheet.frame[column], sheet.frame["row"], strict=True):
        try:
            values.append(parse(text) if text else math.nan)
        except CellError as error:
            values.append(math.nan)
            reason = error.what.replace(f"{text!r}", "The value")
            wrong.setdefault((reason, error.how), []).append((int(row), text))
    for (reason, how), cells in wrong.items():
        also = f" The same goes for {len(cells) - 1} more below it." if len(cells) > 1 else ""
        why = f"{reason} It is taken as not measured.{also}"
        faults.add("bad-cell", {"row": cells[0][0]}, column, why, how, cells[0][1])
    return np.asarray(values, dtype=np.float64)


def _each_time_once(table: pd.DataFrame, zone: str, faults: Faults) -> pd.DataFrame:
    """The first row of each time. The hour that happens twice in fall may be there twice."""
    again = table["time"].duplicated()
    if again.any():
        _, fault = localize(table["time"], zone)
        odd = table[again & (fault != "twice")]
        if len(odd):
            why = (
                f"Rows that repeat the time of an earlier row: {len(odd)}. Only the first of each "
                "is used."
            )
            how, first = "Remove the repeated rows.", odd.iloc[0].to_dict()
            faults.add("weather-twice", first, "time", why, how, must_mend=False)
    return table[~again]
