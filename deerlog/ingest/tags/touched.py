"""How many visits some photos belong to, or would, and whose they are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from deerlog.ingest.tags.tag_cells import BucksCell
from deerlog.ingest.tags.tags import TagRows
from deerlog.property.matching import BuckNames
from deerlog.timekeeping.gaps import visit_numbers


@dataclass(frozen=True)
class Touched:
    """What a problem touches.

    Attributes
    ----------
    visits
        Visits the photos belong to; of those that belong to none for want of a true time or a
        site, how many they would make.
    bucks
        Tagged on the photos or in their visits, in order of name.
    """

    visits: float
    bucks: tuple[str, ...]


Touch = Callable[[pd.DataFrame], Touched]
"""What some rows of `deerlog.ingest.logged_photos.logged_photos` touch."""


def touch_of(
    tags: TagRows, cells: Mapping[str, BucksCell], known: BuckNames, gap_minutes: float
) -> Touch:
    """Makes a `Touch` that knows the tags.

    Parameters
    ----------
    gap_minutes
        Photos farther apart than this are different visits.
    """
    on_photo: dict[int, set[str]] = defaultdict(set)
    in_visit: dict[int, set[str]] = defaultdict(set)
    table = tags.table
    for photo_id, visit, text in zip(
        table["photo_id"].tolist(), table["visit"].tolist(), table["bucks"].tolist(), strict=True
    ):
        names = {known.canonical(tagged.name) for tagged in cells[text].names}
        if names:
            on_photo[photo_id] |= names
            in_visit[visit] |= names

    def touch(photos: pd.DataFrame) -> Touched:
        visits = set(photos.loc[photos["visit"] >= 0, "visit"].tolist())
        without = photos[(photos["visit"] < 0) & photos["same_as"].isna()]
        would_be = visit_numbers(
            without["camera"].to_numpy(dtype=object),
            np.asarray(without["time"].dt.tz_localize(None), dtype="datetime64[us]"),
            gap_minutes,
        )
        bucks: set[str] = set()
        bucks = bucks.union(*(on_photo[i] for i in on_photo.keys() & {*photos["photo_id"]}))
        bucks = bucks.union(*(in_visit[i] for i in in_visit.keys() & visits))
        return Touched(float(len(visits) + len(np.unique(would_be))), tuple(sorted(bucks)))

    return touch
