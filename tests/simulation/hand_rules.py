"""The two rules people use by hand to tell a resident, to hold an engine against.

Common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pandas as pd

from deerlog.timekeeping.seasons import SeasonCalendar, week_start

WATCHED_SHARE = 0.25
"""A week counts as watched when at least this share of its placed camera-days really ran."""


def resident_by_weeks(
    sightings: pd.DataFrame,
    effort: pd.DataFrame,
    bucks: Iterable[str],
    *,
    calendar: SeasonCalendar,
    season: int | None = None,
) -> pd.Series:
    """Rule A: resident when he was seen in more than half of the watched weeks.

    Parameters
    ----------
    sightings, effort
        As the analysis reads them, ending on the day of the judgement.
    bucks
        Names to judge; one never seen is not a resident.
    season
        Count the weeks of this season only; None counts the whole record.

    Returns
    -------
    Series of bool by buck.
    """
    ran = effort if season is None else effort[calendar.season_of(effort["day"]) == season]
    weeks = ran.groupby(week_start(ran["day"]))["camera_day"].agg(["sum", "size"])
    watched = weeks.index[weeks["sum"] >= WATCHED_SHARE * weeks["size"]]
    seen = _sure_days(sightings).assign(week=lambda t: week_start(t["day"]))
    if season is not None:
        seen = seen[calendar.season_of(seen["day"]) == season]
    seen_weeks = seen[seen["week"].isin(watched)].groupby("buck")["week"].nunique()
    share = seen_weeks.reindex(list(bucks), fill_value=0) / max(len(watched), 1)
    return share > 0.5


def resident_by_months(
    sightings: pd.DataFrame,
    bucks: Iterable[str],
    *,
    calendar: SeasonCalendar,
    season: int | None = None,
) -> pd.Series:
    """Rule B: resident when he was seen in two or more months, not counting days of the rut.

    Parameters and result as in `resident_by_weeks`. A month of another year is another month.
    """
    seen = _sure_days(sightings)
    if season is not None:
        seen = seen[calendar.season_of(seen["day"]) == season]
    seen = seen[np.asarray(calendar.phase_of(seen["day"]) != "rut")]
    months = seen["day"].dt.year * 12 + seen["day"].dt.month
    n_months = months.groupby(seen["buck"]).nunique().reindex(list(bucks), fill_value=0)
    return pd.Series(n_months >= 2)


def _sure_days(sightings: pd.DataFrame) -> pd.DataFrame:
    """Buck and local day of each sure sighting."""
    sure = sightings.loc[~sightings["unsure"], ["buck", "local"]]
    return pd.DataFrame(
        {"buck": sure["buck"], "day": sure["local"].dt.tz_localize(None).dt.normalize()}
    )
