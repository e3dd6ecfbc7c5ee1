"""What a record tells before any name is put in it: when something passes where, and what to look
at first."""

from __future__ import annotations

from datetime import date

import pandas as pd

LIKELIEST = ("bed", "travel")
"""Settings at which a buck in light is worth most: where he sleeps, and his way from there (common
practice, no published source)."""


def activity_by_hour(visits: pd.DataFrame, effort: pd.DataFrame) -> pd.DataFrame:
    """Visits of anything in 100 camera-days, by site (rows) and hour of the clock (0 to 23).

    Needs ``site, local`` (aware, in the zone of the property) and ``site, camera_day``. A site at
    which nothing ran has no row.
    """
    ran = effort.groupby("site", sort=False)["camera_day"].sum()
    ran = ran[ran > 0]
    hours = visits["local"].dt.hour
    counts = visits.groupby(["site", hours]).size().unstack(fill_value=0)
    counts = counts.reindex(index=ran.index, columns=range(24), fill_value=0)
    return 100 * counts.div(ran, axis=0)


def look_first(visits: pd.DataFrame, opener: date | None, most: int) -> pd.DataFrame:
    """The visits to tag first: in shooting light, at bed and travel before others, near the opener.

    ``visits`` are untagged ones, with ``setting, day, in_light``; ``opener`` is the nearest day on
    which hunting opens, None to count back from the last visit.
    """
    light = visits[visits["in_light"]]
    if light.empty:
        return light
    near = pd.Timestamp(opener) if opener is not None else light["day"].max()
    ranked = light.assign(
        elsewhere=~light["setting"].isin(LIKELIEST), off=(light["day"] - near).abs()
    )
    return ranked.sort_values(["elsewhere", "off", "local"], kind="stable").head(most)[
        visits.columns
    ]
