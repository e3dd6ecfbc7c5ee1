"""The two rules of thumb that a forecast must beat."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from deerlog.analysis.forecast.sighting_grid import SightingGrid

Floats = npt.NDArray[np.float64]

LAST_DAYS = 14
ALL_TIME_WEIGHT = 40.0
LAST_DAYS_WEIGHT = 8.0
"""Half-days of the average rate added to each count, so that no chance is 0 or 1 and a log loss is
finite. The weights with which each rule did best on simulated properties (of 1 to 80), so that the
forecast is held against the rules at their best."""


def all_time_rate(known: SightingGrid) -> Floats:
    """A buck's rate at a site in a half since he was first seen, shape (B, S, 2).

    Half-days with a visit in shooting light over half-days that a camera ran, drawn towards the
    average over all bucks, sites and halves. (Counted from the record's first day, before some
    bucks were born, the rule does worse.)
    """
    first = known.seen.any(axis=2).argmax(axis=0)
    so_far = np.concatenate([np.zeros((1, len(known.sites))), np.cumsum(known.running, axis=0)])
    ran = so_far[-1][None] - so_far[first]
    return _rate(known, known, ran, ALL_TIME_WEIGHT)


def last_days_rate(known: SightingGrid) -> Floats:
    """The same over the last `LAST_DAYS` days only, shape (B, S, 2)."""
    last = known.last(LAST_DAYS)
    return _rate(known, last, last.running.sum(axis=0)[None], LAST_DAYS_WEIGHT)


def _rate(known: SightingGrid, counted: SightingGrid, ran: Floats, weight: float) -> Floats:
    half_days = 2 * known.running.sum() * max(len(known.bucks), 1)
    average = (known.seen_in_light.sum() + 0.5) / (half_days + 1.0)
    came = counted.seen_in_light.sum(axis=0)
    watched = np.maximum(ran[..., None], came)
    return np.asarray((came + weight * average) / (watched + weight))
