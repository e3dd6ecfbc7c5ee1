"""Local wall-clock readings to instants, honest about the night the clocks change."""

from __future__ import annotations

from datetime import UTC
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd


def localize(
    shown: pd.Series | pd.DatetimeIndex | npt.NDArray[np.datetime64], zone: str
) -> tuple[pd.DatetimeIndex, npt.NDArray[np.str_]]:
    """Instants (UTC) of wall-clock readings in a zone, and which of them are in doubt.

    From naive local times, shape (n,), NaT allowed and kept, come n instants,
    ``datetime64[us, UTC]``, and for each ``""``, ``"twice"`` for a reading in the hour that happens
    twice when clocks go back (the first of the two, still on summer time, is returned), or
    ``"never"`` for one in the hour that is skipped in spring (moved forward by the skipped time).
    """
    naive = pd.DatetimeIndex(np.asarray(shown, dtype="datetime64[us]"))
    summer = np.ones(len(naive), dtype=bool)
    local = naive.tz_localize(zone, ambiguous=summer, nonexistent="shift_forward")
    # Read a second time as if every doubtful hour were the later one: where the two readings
    # differ the wall clock showed that time twice.
    later = naive.tz_localize(zone, ambiguous=~summer, nonexistent="shift_forward")
    known = ~np.asarray(naive.isna())
    never = np.asarray(local.tz_localize(None) != naive) & known
    fault = np.full(len(naive), "", dtype="<U5")
    fault[np.asarray(local != later) & known] = "twice"
    fault[never] = "never"
    instants = np.array(local.tz_convert("UTC").tz_localize(None), dtype="datetime64[us]")
    # A reading in the skipped hour came from a clock that had not been put forward yet, which is
    # how Python reads it (PEP 495, fold 0), however long the skip.
    before_change = [t.replace(tzinfo=ZoneInfo(zone)) for t in naive[never].to_pydatetime()]
    instants[never] = [t.astimezone(UTC).replace(tzinfo=None) for t in before_change]
    return pd.DatetimeIndex(instants).tz_localize("UTC"), fault
