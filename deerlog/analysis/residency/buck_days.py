"""Each buck's days: his visits, the share of his own cameras that ran, the wrong tags to expect."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.analysis.effort_grid import EffortGrid, camera_worth, site_weights
from deerlog.analysis.residency.judgement import Judgement

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class BuckDays:
    """Arrays of T days by bucks.

    Attributes
    ----------
    visits, light_visits
        Visits, and visits in shooting light.
    share
        Share of his own cameras that ran; see `deerlog.analysis.effort_grid.watched_share`.
    wrong_tags
        Expected sightings under his name that were another buck. A wrong tag needs a visit to be
        put on: the more was tagged on a day, the likelier that one of the tags is wrong. What ran
        bounds the rest; a tag on a day when nothing is said to have run proves that something did.
    days_by_site
        Shape (bucks, sites): days with a visit of his.
    camera_worth
        Shape (bucks, sites): what one camera that runs all day at the site adds to ``share``.
    """

    visits: Ints
    light_visits: Ints
    share: Floats
    wrong_tags: Floats
    days_by_site: Floats
    camera_worth: Floats


def buck_days(
    visits: pd.DataFrame, bucks: list[str], grid: EffortGrid, judgement: Judgement
) -> BuckDays:
    """Count each buck's days.

    Parameters
    ----------
    visits
        Of `deerlog.analysis.visits.buck_visits`, sure tags only, all within the days of ``grid``.
    bucks
        Every buck in ``visits``, in the order wanted.
    """
    row = grid.day_number(visits["day"])
    column = pd.Categorical(visits["buck"], categories=bucks).codes.astype(np.int64)
    n = np.zeros((len(grid.days), len(bucks)), dtype=np.int64)
    light = np.zeros_like(n)
    np.add.at(n, (row, column), 1)
    np.add.at(light, (row, column), visits["in_light"].to_numpy(dtype=np.int64))
    used = _days_by_site(visits, bucks, grid)
    weights = site_weights(used, grid.running.sum(axis=0), judgement.site_learning_days)
    worth = camera_worth(grid.running, weights)
    share = grid.running @ worth.T
    ran = np.where((n > 0) & (share <= 0), 1.0, np.minimum(share, 1.0))
    named = judgement.wrong_tag_share * n.sum(axis=1, keepdims=True) / max(len(bucks), 1)
    return BuckDays(
        visits=n,
        light_visits=light,
        share=share,
        wrong_tags=np.asarray(named + judgement.stranger_rate * ran),
        days_by_site=used,
        camera_worth=worth,
    )


def _days_by_site(visits: pd.DataFrame, bucks: list[str], grid: EffortGrid) -> Floats:
    sites = pd.CategoricalDtype(list(grid.sites))
    days = visits.drop_duplicates(["buck", "site", "day"])
    days = days[days["site"].isin(grid.sites)]
    used = np.zeros((len(bucks), len(grid.sites)))
    np.add.at(
        used,
        (
            pd.Categorical(days["buck"], categories=bucks).codes.astype(np.int64),
            days["site"].astype(sites).cat.codes.to_numpy(dtype=np.int64),
        ),
        1.0,
    )
    return used
