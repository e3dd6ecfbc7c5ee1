"""Camera-days on which he would have been noticed: the camera ran, and someone looked."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

REACH_DAYS = 3
"""A day's share is that of the visits so many days before and after it: a week in all (our choice:
about as long as people take to look through a card)."""


def watched_effort(effort: pd.DataFrame, visits: pd.DataFrame) -> pd.DataFrame:
    """Effort, less what nobody has looked at.

    A visit without a tag may be anyone's: until someone looks, it says neither that he came nor
    that he did not. A day counts by the share of the visits about it that were looked at: of those
    at the site within `REACH_DAYS`, or, where there were none, of the last before it and the first
    after. The day's own visits alone will not do: of a stretch nobody has looked at only the days
    without a visit would be left, and those are the days on which no buck came. (That the visits
    looked at are like those that were not is taken for granted.)

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
        The same rows, with ``camera_day`` the part of the day that was watched, 0 to 1. Where not
        all was looked at, several cameras at one site watch no more than one that ran all day.
    """
    came = pd.DataFrame(
        {
            "site": visits["site"].to_numpy(),
            "day": _day_number(visits["first"].dt.tz_localize(None)),
            "looked": visits["tagged"].to_numpy(dtype=float),
        }
    )
    by_site = {
        str(site): part.sort_values("day") for site, part in came.groupby("site", sort=False)
    }
    day = _day_number(effort["day"])
    share = np.ones(len(effort))
    for site, rows in effort.groupby("site", sort=False).indices.items():
        if str(site) in by_site:
            at = by_site[str(site)]
            share[rows] = _share(day[rows], at["day"].to_numpy(), at["looked"].to_numpy())
    ran = effort["camera_day"].to_numpy(dtype=float)
    together = effort.groupby(["site", "day"])["camera_day"].transform("sum").to_numpy(dtype=float)
    part = np.where(share < 1, share / np.maximum(together, 1.0), 1.0)
    return effort.assign(camera_day=ran * part)


def _day_number(times: pd.Series) -> npt.NDArray[np.int64]:
    return times.to_numpy().astype("datetime64[D]").astype(np.int64)


def _share(
    days: npt.NDArray[np.int64], came: npt.NDArray[np.int64], looked: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Share looked at about each day, from one site's visits in order of time; at least one."""
    total = np.append(0.0, np.cumsum(looked))
    first = np.searchsorted(came, days - REACH_DAYS, side="left")
    after = np.searchsorted(came, days + REACH_DAYS, side="right")
    # Where no visit is near: from the last before to the first after.
    alone = first == after
    first = np.where(alone, np.maximum(first - 1, 0), first)
    after = np.where(alone, np.minimum(after + 1, len(came)), after)
    return np.asarray((total[after] - total[first]) / (after - first))
