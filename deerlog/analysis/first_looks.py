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

    Parameters
    ----------
    visits
        ``site, local`` (aware, in the zone of the property).
    effort
        ``site, camera_day``. A site at which nothing ran has no row.
    """
    ran = effort.groupby("site", sort=False)["camera_day"].sum()
    ran = ran[ran > 0]
    hours = visits["local"].dt.hour
    counts = visits.groupby(["site", hours]).size().unstack(fill_value=0)
    counts = counts.reindex(index=ran.index, columns=range(24), fill_value=0)
    return 100 * counts.div(ran, axis=0)


def look_first(visits: pd.DataFrame, opener: date | None, most: int) -> pd.DataFrame:
    """The visits to tag first: in shooting light, at bed and travel before others, near the opener.

    Parameters
    ----------
    visits
        Untagged ones; ``setting, day, in_light`` and whatever else.
    opener
        The nearest day on which hunting opens; None counts back from the last visit.
    most
        At most so many rows.
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
