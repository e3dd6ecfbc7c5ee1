"""Visits that nobody has looked at yet, in words."""

from __future__ import annotations

import pandas as pd

from deerlog.errors import Problem
from deerlog.property.row_words import counted

CAMERAS_NAMED = 3


def untagged_problems(visits: pd.DataFrame) -> list[Problem]:
    """One thing worth knowing, or none where every visit was looked at.

    Parameters
    ----------
    visits
        Of `deerlog.ingest.tags.sightings.visit_table`.
    """
    left = visits[~visits["tagged"].astype(bool)]
    if left.empty:
        return []
    by_camera = left.groupby("camera").size().sort_values(ascending=False, kind="stable")
    most = [f"{camera} {n}" for camera, n in by_camera.head(CAMERAS_NAMED).items()]
    more = len(by_camera) - len(most)
    where = ", ".join(most) + (f", and {more} more" if more else "")
    first, last = left["first"].min().date(), left["first"].max().date()
    when = f"on {first}" if first == last else f"from {first} to {last}"
    return [
        Problem(
            kind="not-tagged-yet",
            file="tags/",
            why=f"{counted(len(left), 'visit is', 'visits are')} not tagged yet, {when} ({where}). "
            "Until someone looks, nobody knows who came: the days about count as watched only as "
            "far as was looked at.",
            how="Name the bucks in the sheets in tags/; where you looked and there was none you "
            "know, write -.",
            must_mend=False,
            harm=float(len(left)),
            first_day=first,
            last_day=last,
        )
    ]
