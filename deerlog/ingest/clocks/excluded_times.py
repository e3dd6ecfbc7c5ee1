"""Times that cannot be true, whatever the camera: no photo is of before or after all belief."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

EARLIEST = np.datetime64("2005-01-01", "us")
"""No trail camera's clock is right before this; our choice, from the design of the tables."""
BEFORE_2005 = "time before 2005"
IN_THE_FUTURE = "time in the future"


def excluded_times(wall: npt.NDArray[np.datetime64], read_on: pd.Series) -> npt.NDArray[np.object_]:
    """Why a time cannot be true: nothing is photographed after the day it was read.

    A day is allowed for time zones and for clocks somewhat ahead.

    Parameters
    ----------
    wall
        Naive local times, shape (n,).
    read_on
        Day each file was read, length n.

    Returns
    -------
    array of object
        Shape (n,): `BEFORE_2005`, `IN_THE_FUTURE` or ``""``.
    """
    excluded = np.full(len(wall), "", dtype=object)
    latest = np.asarray(read_on, dtype="datetime64[us]") + np.timedelta64(2, "D").astype(
        "timedelta64[us]"
    )
    excluded[wall >= latest] = IN_THE_FUTURE
    excluded[wall < EARLIEST] = BEFORE_2005
    return excluded
