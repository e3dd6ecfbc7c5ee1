"""Two rules of thumb for the chance of a visit, from counts alone, to hold an analysis against."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

LAST_DAYS = 14
ALL_TIME_WEIGHT, LAST_DAYS_WEIGHT = 40.0, 8.0
"""Half-days of the average rate added to each count: the weights with which each rule did best on
simulated properties."""


def simple_rates(came: npt.NDArray[np.bool_], ran: Floats) -> dict[str, Floats]:
    """Share of half-days with a visit, of each buck at each site in each half.

    Parameters
    ----------
    came
        Visits in shooting light written down so far, shape (bucks, sites, days, 2).
    ran
        Part of the day that the camera ran, shape (sites, days).

    Returns
    -------
    dict
        ``all_time`` (since he first came anywhere) and ``last_14_days``, shape (bucks, sites, 2);
        both drawn towards the average over all bucks, sites and halves.
    """
    n_days = came.shape[2]
    first = came.any(axis=(1, 3)).argmax(axis=1)
    since = np.arange(n_days) >= first[:, None]
    average = (came.sum() + 0.5) / (2 * len(came) * ran.sum() + 1.0)

    def rate(part: slice, watched: Floats, weight: float) -> Floats:
        counted = came[:, :, part].sum(axis=2)
        days = np.maximum(watched[:, :, None], counted)
        return np.asarray((counted + weight * average) / (days + weight))

    last = slice(max(n_days - LAST_DAYS, 0), n_days)
    lately = np.broadcast_to(ran[:, last].sum(axis=1), came.shape[:2])
    return {
        "all_time": rate(slice(None), since.astype(float) @ ran.T, ALL_TIME_WEIGHT),
        "last_14_days": rate(last, lately, LAST_DAYS_WEIGHT),
    }
