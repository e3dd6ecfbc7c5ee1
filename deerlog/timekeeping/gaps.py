"""Photos into visits: a gap longer than allowed starts a new one."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt


def visit_numbers(
    site: npt.NDArray[np.object_], time: npt.NDArray[np.datetime64], gap_minutes: float
) -> npt.NDArray[np.int64]:
    """Number of the visit each photo belongs to, from 0, in order of site and time.

    Parameters
    ----------
    site
        Site of each photo, shape (n,).
    time
        Instant of each photo (UTC, naive ``datetime64``), shape (n,), in any order.
    gap_minutes
        Photos at one site farther apart than this belong to different visits. Thirty minutes is
        the usual choice (O'Brien, Kinnaird and Wibisono 2003, Animal Conservation 6:131; from
        memory).
    """
    number = np.zeros(len(time), dtype=np.int64)
    if len(time) == 0:
        return number
    _, code = np.unique(np.asarray(site, dtype=str), return_inverse=True)
    instant = np.asarray(time, dtype="datetime64[us]")
    order = np.lexsort((instant, code))
    gap = np.timedelta64(round(gap_minutes * 60_000_000), "us")
    new = np.ones(len(order), dtype=bool)
    new[1:] = (np.diff(instant[order]) > gap) | (np.diff(code[order]) != 0)
    number[order] = np.cumsum(new) - 1
    return number
