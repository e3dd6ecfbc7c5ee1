"""A buck's visits with all that depends on the day and the light, and how much of what he does here
he does in shooting light."""

from __future__ import annotations

import numpy as np
import pandas as pd

from deerlog.analysis.intervals import jeffreys
from deerlog.timekeeping.seasons import SeasonCalendar

HALVES = ("AM", "PM")


def buck_visits(
    sightings: pd.DataFrame,
    sun: pd.DataFrame,
    calendar: SeasonCalendar,
    *,
    light_before_sunrise_minutes: float = 30,
    light_after_sunset_minutes: float = 30,
) -> pd.DataFrame:
    """Visits with their day, season, phase, half and whether they fell in shooting light.

    ``sightings`` needs ``buck, site, local`` (aware, in the zone of the property); other columns
    are kept. ``sun``, of `sun_times`, covers every day of them; else `ValueError`. In order of buck
    and time, with ``day`` (naive local midnight), ``season`` (int), ``phase``, ``half`` (``AM``
    before solar noon, else ``PM``) and ``in_light`` (bool; both edges count as light). On a day
    when the sun does not rise or set nothing is in shooting light.
    """
    table = sightings.sort_values(["buck", "local", "site"], kind="stable").reset_index(drop=True)
    local = pd.DatetimeIndex(table["local"])
    day = local.tz_localize(None).normalize()
    missing = day[~day.isin(sun.index)]
    if len(missing):
        raise ValueError(f"no sun for {missing[0]:%Y-%m-%d}")
    table["day"] = day
    table["season"] = calendar.season_of(day)
    table["phase"] = calendar.phase_of(day)
    noon = pd.DatetimeIndex(sun["noon"].reindex(day))
    table["half"] = np.where(local < noon, "AM", "PM")
    in_light = np.zeros(len(table), dtype=bool)
    before, after = (
        pd.Timedelta(minutes=m) for m in (light_before_sunrise_minutes, light_after_sunset_minutes)
    )
    # Light that begins or ends on the far side of midnight belongs to the day before or after.
    for shift in (-1, 0, 1):
        of_day = sun.reindex(day + pd.Timedelta(days=shift))
        opens = pd.DatetimeIndex(of_day["sunrise"]) - before
        closes = pd.DatetimeIndex(of_day["sunset"]) + after
        in_light |= np.asarray((local >= opens) & (local <= closes))
    table["in_light"] = in_light
    return table


COLUMNS = [
    "buck", "season", "phase", "site", "half", "visits", "shooting_light_visits",
    "share", "low", "high",
]  # fmt: skip
CUTS: tuple[tuple[str, ...], ...] = (
    (),
    ("phase",),
    ("site",),
    ("half",),
    ("phase", "site", "half"),
)
"""The tables within the table: overall, by one thing, and by all three; ``all`` stands for a thing
not cut by."""
OPENER = "opener"


def daylight_share(visits: pd.DataFrame, calendar: SeasonCalendar | None = None) -> pd.DataFrame:
    """Visits in shooting light over visits, sure tags only, with a 95 % Jeffreys interval.

    `COLUMNS`: one row a buck, season (a year, or ``all``) and cut that has visits; shares from 0 to
    1. Where ``calendar`` has openings, visits in an opener count in their own phase and in a phase
    `OPENER` too.
    """
    by_phase = visits
    if calendar is not None and calendar.openings:
        of_opener = visits[calendar.opener_of(visits["day"])]
        by_phase = pd.concat([visits, of_opener.assign(phase=OPENER)])
    parts = []
    for season_cut in (("season",), ()):
        for cut in CUTS:
            by = ["buck", *season_cut, *cut]
            counted = by_phase if "phase" in cut else visits
            grouped = counted.groupby(by, sort=True, observed=True)["in_light"]
            part = grouped.agg(visits="size", shooting_light_visits="sum").reset_index()
            whole = {c: "all" for c in ("season", "phase", "site", "half") if c not in part}
            parts.append(part.assign(**whole).astype({"season": str}))
    table = pd.concat(parts, ignore_index=True)
    table = table.astype({"visits": int, "shooting_light_visits": int})
    table["share"] = table["shooting_light_visits"] / table["visits"]
    low, high = jeffreys(table["shooting_light_visits"], table["visits"])
    table["low"], table["high"] = low, high
    return table[COLUMNS].sort_values(COLUMNS[:5], kind="stable").reset_index(drop=True)
