"""The report's CSV tables: fixed columns, bare numbers, the same bytes for the same figures.

A text that a spreadsheet program would take for a formula is written with an apostrophe before it:
what someone named a buck or a file may not run where a table is opened. The tables are UTF-8
without a byte-order mark, comma, one ``\\n`` a line.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from numbers import Integral, Real

import pandas as pd

from deerlog.analysis.season.stays import CALENDAR_COLUMNS

TABLE_COLUMNS: Mapping[str, tuple[str, ...]] = {
    "residency.csv": (
        "buck", "target", "season", "score", "label", "pattern", "p_year_round", "p_fall",
        "p_summer", "p_rut", "p_passing", "p_gone", "weeks_seen", "weeks_watched", "days_seen",
        "visits", "shooting_light_visits", "daylight_share", "daylight_low", "daylight_high",
        "longest_absence_days", "first_seen", "last_seen",
    ),
    "weekly.csv": (
        "buck", "season", "week_start", "camera_days", "days_seen", "visits",
        "shooting_light_visits", "state", "around",
    ),
    "daylight.csv": (
        "buck", "season", "phase", "site", "half", "visits", "shooting_light_visits", "share",
        "low", "high",
    ),
    "shift.csv": (
        "buck", "season", "from_phase", "to_phase", "distance_m", "low_m", "high_m", "change_day",
        "change_probability",
    ),
    "windows.csv": (
        "buck", "site", "half", "opens", "closes", "chance", "low", "high", "visits_behind",
        "camera_days_behind",
    ),
    "calendar.csv": tuple(CALENDAR_COLUMNS),
    "outlook.csv": (
        "buck", "way", "state", "site", "stand", "half", "opens", "closes", "chance", "low", "high",
        "seasons_seen", "seasons_watched", "visits_behind", "camera_days_behind", "why",
    ),
    "effort.csv": ("camera", "site", "day", "camera_day"),
    "plan.csv": (
        "day", "half", "stand", "site", "buck", "chance", "low", "high", "advice", "why",
    ),
}  # fmt: skip
"""The tables and their columns, in order. People's spreadsheets depend on both."""

OVERVIEW_COLUMNS = (
    "property", "folder", "to_mend", "mend_first", "untagged", "cards_through", "best_sit",
    "chance", "changed", "report", "error",
)  # fmt: skip
"""Of overview.csv, which stands above the properties."""

_DECIMALS = {
    "score": 1, "camera_days": 2, "camera_days_behind": 2, "camera_day": 4, "distance_m": 0,
    "low_m": 0, "high_m": 0,
}  # fmt: skip
_DECIMALS_OTHERWISE = 4  # shares and probabilities: finer than any of them is known


_FORMULA = re.compile(r"'*[=+\-@\t\r]")
"""How a text begins that a spreadsheet program takes for a formula, with or without our mark."""


def safe_cell(text: str) -> str:
    """A text for a cell of a CSV: with an apostrophe before it where it could be a formula."""
    return f"'{text}" if _FORMULA.match(text) else text


def read_cell(text: str) -> str:
    """A text that `safe_cell` wrote, as it was."""
    return text[1:] if text.startswith("'") and _FORMULA.match(text) else text


def table_text(name: str, frame: pd.DataFrame) -> str:
    """One table of `TABLE_COLUMNS` as CSV text, from a frame that holds at least its columns.

    Rows keep their order. Days are datetimes at midnight or dates; what is not known is NaN, NaT or
    None and is written as an empty cell; booleans are written ``yes`` and ``no``. A ValueError
    where a column is missing, or holds a number that is infinite.
    """
    return cells_text(TABLE_COLUMNS[name], frame, name)


def cells_text(columns: Sequence[str], frame: pd.DataFrame, name: str = "the table") -> str:
    """Columns of a frame as CSV text, by the rules of `table_text`."""
    missing = [c for c in columns if c not in frame.columns]
    if missing:
        raise ValueError(f"{name}: the frame has no column {', '.join(missing)}")
    cells = {column: _cells(column, frame[column]) for column in columns}
    return pd.DataFrame(cells).to_csv(index=False, lineterminator="\n")


def _cells(column: str, values: pd.Series) -> list[str]:
    # Tens of thousands of rows hold few different days and shares: each is written once. A value is
    # the same as another only with its type: 1, 1.0 and True are not.
    keys = [(type(value), value) for value in values.tolist()]
    text = {key: _cell(column, key[1]) for key in dict.fromkeys(keys)}
    return [text[key] for key in keys]


def _cell(column: str, value: object) -> str:
    if isinstance(value, str):
        return safe_cell(value)
    if value is None or value is pd.NaT or value is pd.NA:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, date | Integral):
        return str(value)
    if isinstance(value, Real):
        if math.isinf(value):
            raise ValueError(f"column {column}: cannot write an infinite number")
        # Shortest decimal form at the column's precision: 0.5, 12, never -0.
        text = f"{value:.{_DECIMALS.get(column, _DECIMALS_OTHERWISE)}f}".rstrip("0").rstrip(".")
        return "" if math.isnan(value) else "0" if text in ("-0", "") else text
    raise ValueError(f"column {column}: cannot write a {type(value).__name__}: {value!r}")
