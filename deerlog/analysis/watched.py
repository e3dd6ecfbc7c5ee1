"""Camera-days on which he would have been noticed: the camera ran, and someone looked."""

from __future__ import annotations

import pandas as pd


def watched_effort(effort: pd.DataFrame, visits: pd.DataFrame) -> pd.DataFrame:
    """Effort, less the visits nobody has looked at.

    A visit without a tag may be anyone's: until someone looks, it says neither that he came nor
    that he did not. Of a day at a site on which one visit in four was looked at, a quarter counts.
    A day without any visit needs no look. (Our choice; that the visits looked at are like those
    that were not is taken for granted.)

    Parameters
    ----------
    effort
        ``camera, site, day, camera_day``: what ran.
    visits
        Of anything, one row each: ``site``, ``first`` (local, aware) and ``tagged``, whether
        someone looked.

    Returns
    -------
    DataFrame
        The same rows, with ``camera_day`` the share of the day that was watched, 0 to 1.
    """
    open_days = visits.assign(
        day=visits["first"].dt.tz_localize(None).dt.normalize(),
        looked=visits["tagged"].astype(float),
    )
    looked = open_days.groupby(["site", "day"])["looked"].mean()
    at = pd.MultiIndex.from_frame(effort[["site", "day"]])
    share = looked.reindex(at).fillna(1.0).to_numpy()
    return effort.assign(camera_day=effort["camera_day"].to_numpy() * share)
