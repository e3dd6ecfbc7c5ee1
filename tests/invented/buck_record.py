"""Records made by hand: which days a buck was seen on, and what ran."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
import pandas as pd

from deerlog.analysis.effort_grid import camera_worth
from deerlog.timekeeping.seasons import SeasonCalendar

CALENDAR = SeasonCalendar()
SITES = ("Alder", "Birch", "Cedar")


def days(first: str, last: str, every: int = 1) -> list[pd.Timestamp]:
    """Every day, or every nth, from the first to the last, both included."""
    return list(pd.date_range(first, last, freq=f"{every}D", unit="us"))


def visits(
    seen: Mapping[str, Iterable[pd.Timestamp]],
    *,
    site: str = "Alder",
    in_light: bool = True,
    calendar: SeasonCalendar = CALENDAR,
) -> pd.DataFrame:
    """One visit on each of the days, in the columns of `deerlog.analysis.visits.buck_visits`."""
    rows = [(buck, pd.Timestamp(day)) for buck, on in seen.items() for day in on]
    day = pd.DatetimeIndex([d for _, d in rows], dtype="datetime64[us]")
    return pd.DataFrame(
        {
            "buck": pd.Series([b for b, _ in rows], dtype="str"),
            "site": pd.Series([site] * len(rows), dtype="str"),
            "day": day,
            "season": calendar.season_of(day),
            "phase": calendar.phase_of(day),
            "half": pd.Series(["PM"] * len(rows), dtype="str"),
            "in_light": pd.Series([in_light] * len(rows), dtype=bool),
        }
    )


def effort(
    first: str,
    last: str,
    *,
    sites: Iterable[str] = SITES,
    camera_day: float = 1.0,
    without: Iterable[pd.Timestamp] = (),
) -> pd.DataFrame:
    """A camera a site, all running from the first to the last day but on some."""
    out = set(without)
    running = [d for d in days(first, last) if d not in out]
    rows = [(f"cam {site}", site, d, camera_day) for site in sites for d in running]
    table = pd.DataFrame(rows, columns=["camera", "site", "day", "camera_day"])
    return table.astype(
        {"camera": "str", "site": "str", "day": "datetime64[us]", "camera_day": float}
    )


def watched_share(running: np.ndarray, weights: np.ndarray) -> np.ndarray:
    """Share of each buck's own cameras that ran on each day, shape (T, bucks)."""
    return running @ camera_worth(running, weights).T
