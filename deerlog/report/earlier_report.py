"""The report before this one, read back from its own tables."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import pandas as pd

from deerlog.report.tables import TABLE_COLUMNS

REPORTS = "reports"
_DAYS = frozenset({"first_seen", "last_seen", "opens", "closes"})
_NUMBERS = frozenset({"score", "visits", "chance"})


@dataclass(frozen=True, kw_only=True)
class EarlierReport:
    """An earlier report's figures, as it wrote them.

    Attributes
    ----------
    day
        The last day it knew.
    residency
        ``residency.csv``: the columns of `TABLE_COLUMNS`, days as dates, ``score`` and ``visits``
        as numbers, the others as text.
    windows
        ``windows.csv`` likewise (``chance`` as a number); None where it wrote none.
    """

    day: date
    residency: pd.DataFrame
    windows: pd.DataFrame | None


def latest_earlier_report(folder: Path, before: date) -> EarlierReport | None:
    """The latest report of a property that knew less than this one; None where there is none.

    Only reports of earlier days count, whenever they were written, so that a report written again
    compares with the same one. A folder without a readable ``residency.csv`` (a plan alone, or a
    table someone changed) is passed over.

    Parameters
    ----------
    folder
        The property folder.
    before
        The day of this report.
    """
    days = []
    for place in (folder / REPORTS).glob("????-??-??"):
        try:
            day = date.fromisoformat(place.name)
        except ValueError:
            continue
        if day < before:
            days.append((day, place))
    for day, place in sorted(days, reverse=True):
        residency = _table(place / "residency.csv")
        if residency is not None:
            return EarlierReport(
                day=day, residency=residency, windows=_table(place / "windows.csv")
            )
    return None


def _table(path: Path) -> pd.DataFrame | None:
    """A table of a report; None where it is not there, or not as it was written."""
    try:
        frame = pd.read_csv(path, dtype="str", keep_default_na=False, encoding="utf-8")
        for column in frame.columns:
            if column in _DAYS:
                frame[column] = [date.fromisoformat(d) if d else None for d in frame[column]]
            elif column in _NUMBERS:
                frame[column] = [float(n) if n else float("nan") for n in frame[column]]
    except (OSError, ValueError):  # a parser's error is one, too
        return None
    return frame if set(TABLE_COLUMNS[path.name]) <= set(frame.columns) else None
