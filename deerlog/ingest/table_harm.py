"""How many visits it costs that a row of a table, or property.toml, cannot be used."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.tags.touched import Touch
from deerlog.property import Property
from deerlog.property.matching import fold_name

_CAMERAS = "cameras.csv"
_OF_ALL = ("zone-longitude", "property-far-away")
"""Problems that make every figure wrong in which the sun or a site has a say."""


def table_problems(place: Property, photos: pd.DataFrame, touch: Touch) -> tuple[Problem, ...]:
    """The problems of a property's tables, with the visits that hang on them.

    Parameters
    ----------
    photos
        Of `deerlog.ingest.logged_photos.logged_photos`.
    touch
        What photos touch.
    """
    camera_of = {row: camera for camera, rows in place.left_out.items() for row in rows}
    return tuple(_with_visits(p, photos, touch, camera_of) for p in place.problems)


def _with_visits(
    problem: Problem, photos: pd.DataFrame, touch: Touch, camera_of: dict[int, str]
) -> Problem:
    if problem.kind in _OF_ALL:
        touched = touch(photos[photos["excluded"] == ""])
    elif problem.file.casefold() == _CAMERAS and problem.row in camera_of:
        touched = touch(_without_site(photos, [camera_of[problem.row]]))
    else:
        return problem
    if not touched.visits:
        return problem
    return replace(problem, harm=touched.visits, harm_in="visit", bucks=touched.bucks)


def _without_site(photos: pd.DataFrame, cameras: Iterable[str]) -> pd.DataFrame:
    """Photos of some cameras that belong to no site for want of a row."""
    folded = {fold_name(camera) for camera in cameras}
    lost = photos[(photos["placement"] < 0) & (photos["excluded"] == "")]
    return lost[[fold_name(camera) in folded for camera in lost["camera"]]]
