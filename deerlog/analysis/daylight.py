"""How much of what a buck does here, he does in shooting light."""

from __future__ import annotations

import pandas as pd

from deerlog.analysis.intervals import jeffreys

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


def daylight_share(visits: pd.DataFrame) -> pd.DataFrame:
    """Visits in shooting light over visits, with a Jeffreys interval.

    Parameters
    ----------
    visits
        Of `deerlog.analysis.visits.buck_visits`, sure tags only.

    Returns
    -------
    DataFrame
        Columns of `COLUMNS`: one row a buck, season (a year, or ``all``) and cut that has visits.
        ``share``, ``low`` and ``high`` lie between 0 and 1 (95 % interval).
    """
    parts = []
    for season_cut in (("season",), ()):
        for cut in CUTS:
            by = ["buck", *season_cut, *cut]
            grouped = visits.groupby(by, sort=True, observed=True)["in_light"]
            part = grouped.agg(visits="size", shooting_light_visits="sum").reset_index()
            for column in ("season", "phase", "site", "half"):
                if column not in part:
                    part[column] = "all"
            parts.append(part.astype({"season": str}))
    table = pd.concat(parts, ignore_index=True)
    table["visits"] = table["visits"].astype(int)
    table["shooting_light_visits"] = table["shooting_light_visits"].astype(int)
    table["share"] = table["shooting_light_visits"] / table["visits"]
    low, high = jeffreys(table["shooting_light_visits"], table["visits"])
    table["low"], table["high"] = low, high
    return table[COLUMNS].sort_values(COLUMNS[:5], kind="stable").reset_index(drop=True)
