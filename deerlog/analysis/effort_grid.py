"""Camera-days by days and sites, and what share of a buck's own cameras ran: camera-days on which
he would have been noticed, since the camera ran and someone looked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from deerlog.analysis.arrays import Floats, Ints


@dataclass(frozen=True)
class EffortGrid:
    """What ran on T days, one after another without gaps (naive midnights), at M sites in order.

    ``running`` (T, M): part of each day, 0 to 1, that at least one camera at the site ran (cameras
    at one site are summed and capped at 1). ``camera_days`` (T,): over the property.
    """

    days: pd.DatetimeIndex
    sites: tuple[str, ...]
    running: Floats
    camera_days: Floats

    def day_number(self, days: pd.DatetimeIndex | pd.Series) -> Ints:
        """Place of each day in ``days``; outside the grid it is negative or past the end."""
        gap = pd.DatetimeIndex(days).values.astype("datetime64[D]") - self.days[0].to_datetime64()
        return (gap / np.timedelta64(1, "D")).astype(np.int64)

    def cells(
        self, table: pd.DataFrame, bucks: Sequence[str], sites: Sequence[str]
    ) -> tuple[Ints, Ints, Ints]:
        """Places of rows (``day, buck, site``) among days, bucks and sites; the rest left out."""
        at = [self.day_number(table["day"])]
        for name, labels in (("buck", bucks), ("site", sites)):
            here = pd.Index(table[name], dtype="str")
            at.append(pd.Index(list(labels), dtype="str").get_indexer(here).astype(np.int64))
        sizes = len(self.days), len(bucks), len(sites)
        inside = np.all([(a >= 0) & (a < n) for a, n in zip(at, sizes, strict=True)], axis=0)
        return at[0][inside], at[1][inside], at[2][inside]

    def rows(self, first: date, after: date) -> slice:
        """Rows from one day up to, and without, another; both inside the grid or just past it."""
        origin = self.days[0].date()
        return slice((first - origin).days, (after - origin).days)


def effort_grid(effort: pd.DataFrame, first: pd.Timestamp, last: pd.Timestamp) -> EffortGrid:
    """Lay ``camera, site, day, camera_day`` out, ``first`` and ``last`` included, all else left
    out."""
    days = pd.date_range(first, last, freq="D", unit="us")
    inside = effort[(effort["day"] >= first) & (effort["day"] <= last)]
    sites = tuple(sorted(effort["site"].unique()))
    running = np.zeros((len(days), len(sites)))
    row = days.get_indexer(pd.DatetimeIndex(inside["day"]).normalize())
    column = pd.Categorical(inside["site"], categories=list(sites)).codes.astype(np.int64)
    np.add.at(running, (row, column), inside["camera_day"].to_numpy(dtype=float))
    camera_days = running.sum(axis=1)
    return EffortGrid(
        days=days, sites=sites, running=np.minimum(running, 1.0), camera_days=camera_days
    )


def site_weights(visits_by_site: Floats, site_days: Floats, learning_days: float) -> Floats:
    """How much each site counts towards watching each buck: only ratios within a row matter.

    His rate of visits a camera-day at each site, shrunk towards his average: a site where he is
    often seen counts much, one where he never was seen in many days counts little, and one that ran
    too short to tell counts like his average. ``visits_by_site`` (bucks, sites) are days with a
    visit, ``site_days`` (sites,) camera-days; ``learning_days`` of them count as much as his
    average.
    """
    total_days = max(float(site_days.sum()), 1.0)
    average = np.maximum(visits_by_site.sum(axis=1), 0.5) / total_days
    return np.asarray(
        (visits_by_site + learning_days * average[:, None]) / (site_days[None, :] + learning_days)
    )


def camera_worth(running: Floats, weights: Floats) -> Floats:
    """What one camera that runs all day adds to the share of each buck's own cameras that ran,
    about 1 on a usual day: shape (bucks, sites), from what ran (T, sites) and `site_weights`.

    The scale is the mean of his share over the days on which at least a tenth of the best-covered
    day ran, so that one lone camera in a first spring does not set it.
    """
    covered = running @ weights.T
    best = covered.max(axis=0, initial=0.0)
    usual = covered >= 0.1 * np.maximum(best, 1e-300)
    counts = np.maximum(usual.sum(axis=0), 1)
    mean = np.where(usual, covered, 0.0).sum(axis=0) / counts
    return np.asarray(weights / np.where(mean > 0, mean, 1.0)[:, None])


REACH_DAYS = 3
"""A day's share is that of the visits so many days before and after it: a week in all (our choice:
about as long as people take to look through a card)."""


NAMES_ONLY_FROM = 10
"""Visits that were looked at, below which it is not told how someone tags: if of those to most
sites one in two bore nobody's name, ten names in a row would come once in a thousand (our
choice)."""
NAMES_ONLY_MOST = 0.02
"""Share of them that name nobody, up to which only names are written down (our choice: of the
visits to most sites bucks with a name are the lesser part)."""
LIGHT_ONLY_FROM = 30
"""Visits that were looked at, and visits in the dark, below which it is not told whether someone
leaves out the dark (our choice)."""
LIGHT_ONLY_MOST = 0.02
"""Share of those looked at that may lie in the dark (our choice: some are opened by mistake)."""


def names_only(visits: pd.DataFrame) -> bool:
    """Whether who tags writes names down and leaves all else blank.

    A row a visit of anything: ``tagged``, someone looked; ``named``, the tag names a buck.
    """
    looked, named = visits["tagged"].astype(bool), visits["named"].astype(bool)
    n = int(looked.sum())
    return NAMES_ONLY_FROM <= n < len(visits) and (looked & ~named).sum() <= NAMES_ONLY_MOST * n


def light_only(visits: pd.DataFrame) -> bool:
    """Whether who tags looks only at what came in shooting light: ``site``, ``first``, ``tagged``,
    ``in_light``, a row a visit. What came to a site after its last tag only waits to be opened."""
    looked = visits["tagged"].astype(bool)
    opened = visits["first"] <= visits["first"].where(looked).groupby(visits["site"]).transform(
        "max"
    )
    dark, n = opened & ~visits["in_light"].astype(bool), int(looked.sum())
    enough = min(n, int(dark.sum())) >= LIGHT_ONLY_FROM
    return enough and int((looked & dark).sum()) <= LIGHT_ONLY_MOST * n


def blanks_as_nobody(visits: pd.DataFrame) -> pd.DataFrame:
    """The same visits, a blank up to the last one that was tagged counted as looked at.

    Needs ``first`` (local, aware) and ``tagged``. What came after the last tag of any camera waits
    to be looked at.
    """
    looked = visits["tagged"].astype(bool)
    if not looked.any():
        return visits
    last = visits.loc[looked, "first"].max()
    return visits.assign(tagged=looked | (visits["first"] <= last))


def watched_effort(effort: pd.DataFrame, visits: pd.DataFrame) -> pd.DataFrame:
    """Effort (``camera, site, day, camera_day``), less what nobody has looked at.

    A visit (of anything: ``site``, ``first`` local and aware, ``tagged``) without a tag may be
    anyone's: until someone looks, it says neither that he came nor that he did not. A day counts by
    the share of the visits about it that were looked at: of those at the site within `REACH_DAYS`,
    or, where there were none, of the last before it and the first after. The day's own visits alone
    will not do: of a stretch nobody has looked at only the days without a visit would be left, and
    those are the days on which no buck came. (That the visits looked at are like those that were
    not is taken for granted.) Where not all was looked at, several cameras at one site watch no
    more than one that ran all day.
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


def _day_number(times: pd.Series) -> Ints:
    return times.to_numpy().astype("datetime64[D]").astype(np.int64)


def _share(days: Ints, came: Ints, looked: Floats) -> Floats:
    """Share looked at about each day, from one site's visits in order of time; at least one."""
    total = np.append(0.0, np.cumsum(looked))
    first = np.searchsorted(came, days - REACH_DAYS, side="left")
    after = np.searchsorted(came, days + REACH_DAYS, side="right")
    # Where no visit is near: from the last before to the first after.
    alone = first == after
    first = np.where(alone, np.maximum(first - 1, 0), first)
    after = np.where(alone, np.minimum(after + 1, len(came)), after)
    return np.asarray((total[after] - total[first]) / (after - first))
