"""A camera's looks cut into blocks of days, with the places where its clock may have changed."""

from __future__ import annotations

from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.ingest.clocks.shift_path import P_ANYWHERE, P_BREAK, P_CLOCK_NIGHT

Instants = npt.NDArray[np.datetime64]
Ints = npt.NDArray[np.int64]

# --- What is fixed by judgement, with its reason ------------------------------------------------
MOST_BLOCKS = 64
"""Blocks in a record, which bounds the work; where a change lies inside a block is found from the
single looks afterwards. Our choice."""
LOOKS_A_BLOCK = 8
"""Looks in a usual block: fewer would say nothing by themselves. Our choice."""
GAP_DAYS = 3.0
"""A gap between looks that may be a battery change. Our choice."""
NIGHT_HOURS = 14.0
"""So near to a clock night (a fault of 12 h away) a reading could be taken for the wrong side."""


@dataclass(frozen=True)
class RecordBlocks:
    """Which block each look is in, and what may have happened between them.

    Attributes
    ----------
    block
        Number of each look's block, from 0, none empty, shape (n,).
    break_before, night_before
        For each look, whether a break or a clock night lies between it and the look before,
        shape (n,); False for the first.
    p_change, clock_night_minutes
        Between block i and i + 1, shape (blocks - 1,); see `shift_path.shift_path`.
    nights
        Instants (UTC) at which local time was moved, shape (m,).
    times
        Of the looks, shape (n,).
    """

    block: Ints
    break_before: npt.NDArray[np.bool_]
    night_before: npt.NDArray[np.bool_]
    p_change: npt.NDArray[np.float64]
    clock_night_minutes: Ints
    nights: Instants
    times: Instants

    @property
    def n_blocks(self) -> int:
        """Number of blocks."""
        return len(self.p_change) + 1

    def p_change_at(self, looks: Ints) -> npt.NDArray[np.float64]:
        """Prior that the clock changed just before each of some looks."""
        p = np.where(self.break_before[looks], P_BREAK, P_ANYWHERE)
        return np.asarray(np.where(self.night_before[looks], P_CLOCK_NIGHT, p))

    def cause_at(self, look: int) -> str:
        """What lies just before a look: ``clock change``, ``break`` or ``unknown``."""
        if self.night_before[look]:
            return "clock change"
        return "break" if self.break_before[look] else "unknown"

    def clock_night_before(self, look: int) -> np.datetime64:
        """The last clock night before a look."""
        night: np.datetime64 = self.nights[np.searchsorted(self.nights, self.times[look]) - 1]
        return night

    def near_clock_night(self, time: np.datetime64) -> bool:
        """Whether a time is within hours of a clock night."""
        hours = np.abs((self.nights - time) / np.timedelta64(1, "h"))
        return bool((hours < NIGHT_HOURS).any())


def record_blocks(times: Instants, zone: str, breaks: Instants | None) -> RecordBlocks:
    """Cut sorted times into blocks of at least a day, never across a break or a clock night.

    Parameters
    ----------
    times
        UTC, naive, sorted, shape (n,), n at least 1.
    zone
        IANA name.
    breaks
        Instants of breaks, any order, or None.
    """
    nights, moved = clock_nights(times[0], times[-1], zone)
    gap = np.diff(times) >= np.timedelta64(round(GAP_DAYS * 86_400), "s")
    known = np.sort(np.asarray([] if breaks is None else breaks, dtype="datetime64[us]"))
    known = known[~np.isnat(known)]
    break_before = np.zeros(len(times), dtype=bool)
    break_before[1:] = gap | (np.diff(np.searchsorted(known, times, side="right")) > 0)
    night_number = np.searchsorted(nights, times, side="right")
    night_before = np.zeros(len(times), dtype=bool)
    night_before[1:] = np.diff(night_number) > 0

    days = float((times[-1] - times[0]) / np.timedelta64(1, "D"))
    n_cells = min(MOST_BLOCKS, max(1, len(times) // LOOKS_A_BLOCK))
    width = np.timedelta64(max(86_400, round(days * 86_400 / n_cells)), "s")
    cell = (times - times[0]) // width
    new = np.zeros(len(times), dtype=bool)
    new[1:] = np.diff(cell) > 0
    new |= break_before | night_before
    block = np.cumsum(new).astype(np.int64)

    border = np.flatnonzero(new)
    # Looks between two borders number few to hundreds; the chance of a change between them is
    # that of the likeliest cause at the border itself.
    p_change = np.where(break_before[border], P_BREAK, P_ANYWHERE)
    total = np.concatenate(([0], np.cumsum(moved)))[night_number]
    clock_night_minutes = total[border] - total[border - 1]
    return RecordBlocks(
        block, break_before, night_before, p_change, clock_night_minutes, nights, times
    )


def clock_nights(first: np.datetime64, last: np.datetime64, zone: str) -> tuple[Instants, Ints]:
    """Instants (UTC) between two at which local time was moved, and by how many minutes."""
    day = np.timedelta64(1, "D")
    hours = pd.date_range(pd.Timestamp(first - day), pd.Timestamp(last + day), freq="h", tz="UTC")
    hours = hours.floor("h")
    local = hours.tz_convert(ZoneInfo(zone)).tz_localize(None)
    offset = np.asarray((local - hours.tz_localize(None)) // pd.Timedelta(minutes=1))
    change = np.flatnonzero(np.diff(offset)) + 1
    instants = np.asarray(hours.tz_localize(None), dtype="datetime64[us]")[change]
    return instants, np.diff(offset)[change - 1].astype(np.int64)
