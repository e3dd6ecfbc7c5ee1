"""Which shift a clock had in each block of looks, with the places where it changed.

A hidden-state chain over the blocks: the states are the candidate shifts and two in which looks
say nothing (always grey, always coloured). Integrated over the possible cameras.

A camera's looks cut into blocks of days, with the places where its clock may have changed.
"""

from __future__ import annotations

from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.ingest.clocks.look_model import SHIFTS_MINUTES, STEP_MINUTES, Floats, Ints

# --- What is fixed by judgement, with its reason ------------------------------------------------
SMALL_SHIFTS = {0: 0.8, 10: 0.1, -10: 0.1}
"""Prior over the shifts that are no fault. Our choice: a camera in the shade of a hill to the west
goes grey early in the evening and comes back in time in the morning, which looks like a shift of
some minutes."""
USUAL_FAULTS = {60: 0.2, -60: 0.2, 720: 0.16, 30: 0.06, -30: 0.06} | {
    120: 0.03,
    -120: 0.03,
    180: 0.03,
    -180: 0.03,
}
"""Prior over faults: the clock change, AM for PM, a careless setting, the zones of one country.
Our choice."""
WHOLE_HOURS = 0.1
"""Prior of any other whole hour together (a zone far off). Our choice."""
P_START = (0.90, 0.02)
"""A clock is right, or its looks say nothing, when the record begins. Our choice."""
P_AFTER_CHANGE = (0.5, 0.1)
"""The same after a change of the clock for any reason. Our choice: it is mostly put right."""
P_CLOCK_NIGHT = 0.2
"""A clock said to follow local time that does not change with it. Our choice: most cameras do not
change by themselves (common practice, no published source), and most owners say so."""
P_BREAK = 0.03
"""A clock changes at a card check, a battery change or a gap of days. Our choice."""
P_ANYWHERE = 2e-4
"""A clock changes between two other blocks. Our choice: some 2 % in a placement."""

N_SHIFTS = len(SHIFTS_MINUTES)
N_STATES = N_SHIFTS + 2
RIGHT = np.isin(SHIFTS_MINUTES, list(SMALL_SHIFTS))


@dataclass(frozen=True)
class ShiftPath:
    """What is known of the shift in each block.

    Attributes
    ----------
    p_state
        Probability of each shift, and of the two uninformative states, in each block:
        shape (blocks, N_STATES), rows sum to 1.
    p_camera
        Probability of each possible camera, shape (g,).
    """

    p_state: Floats
    p_camera: Floats

    @property
    def p_fault(self) -> Floats:
        """Probability that the clock is none of `SMALL_SHIFTS`, shape (blocks,)."""
        return np.asarray(self.p_state[:, :N_SHIFTS][:, ~RIGHT].sum(axis=1))


def shift_prior(p_right_and_stuck: tuple[float, float]) -> Floats:
    """Prior over the states, shape (N_STATES,), from the shares of right and of stuck."""
    p_right, p_stuck = p_right_and_stuck
    prior = np.zeros(N_STATES)
    fault = np.zeros(N_SHIFTS)
    for shift, weight in SMALL_SHIFTS.items():
        prior[np.flatnonzero(shift == SHIFTS_MINUTES)] = p_right * weight
    for shift, weight in USUAL_FAULTS.items():
        fault[shift == SHIFTS_MINUTES] += weight
    hours = (SHIFTS_MINUTES % 60 == 0) & ~RIGHT & (fault == 0)
    fault[hours] += WHOLE_HOURS / hours.sum()
    fault[~RIGHT] += (1 - fault.sum()) / (~RIGHT).sum()
    prior[:N_SHIFTS] += (1 - p_right - p_stuck) * fault
    prior[N_SHIFTS:] = p_stuck / 2
    return prior


def shift_path(
    log_looks: Floats,
    log_stuck: Floats,
    log_prior_camera: Floats,
    p_change: Floats,
    clock_night_minutes: Ints,
) -> ShiftPath:
    """Forward and backward over the blocks, for every possible camera at once.

    Parameters
    ----------
    log_looks
        Of each block's looks, shape (blocks, N_SHIFTS, g).
    log_stuck
        If looks say nothing, shape (blocks, 2).
    log_prior_camera
        Shape (g,).
    p_change
        Prior that the clock changes for any reason between block i and i + 1, shape (blocks - 1,).
    clock_night_minutes
        How far local time was moved between them (60 in spring, -60 in fall, else 0): a clock that
        was not moved with it changes its shift by as much.
    """
    n_blocks, _, n_cameras = log_looks.shape
    stuck = np.broadcast_to(log_stuck[:, :, None], (n_blocks, 2, n_cameras))
    log_all = np.concatenate((log_looks, stuck), axis=1)
    top = log_all.max(axis=1, keepdims=True)
    likelihood = np.exp(log_all - top)
    start = shift_prior(P_START)
    fresh = shift_prior(P_AFTER_CHANGE)

    ahead = np.empty_like(likelihood)
    log_weight = log_prior_camera + top.sum(axis=(0, 1))
    now = np.repeat(start[:, None], n_cameras, axis=1)
    for b in range(n_blocks):
        if b > 0:
            now = _onward(
                ahead[b - 1], float(p_change[b - 1]), int(clock_night_minutes[b - 1]), fresh
            )
        now = now * likelihood[b]
        total = now.sum(axis=0)
        log_weight = log_weight + np.log(total)
        ahead[b] = now / total
    p_camera = np.exp(log_weight - log_weight.max())
    p_camera /= p_camera.sum()

    p_state = np.empty((n_blocks, N_STATES))
    back = np.ones((N_STATES, n_cameras))
    p_state[-1] = ahead[-1] @ p_camera
    for b in range(n_blocks - 2, -1, -1):
        p_any, night = float(p_change[b]), int(clock_night_minutes[b])
        seen = back * likelihood[b + 1]
        back = _backward(seen, p_any, night, fresh)
        joint = ahead[b] * back
        p_state[b] = (joint / joint.sum(axis=0)) @ p_camera
        back = back / back.max(axis=0)
    return ShiftPath(p_state, p_camera)


def _p_night(night: int) -> float:
    return P_CLOCK_NIGHT if night else 0.0


def _turn(state: Floats, steps: int) -> Floats:
    """Every shift moved by a number of grid steps around the day; the stuck states stay."""
    return np.concatenate((np.roll(state[:N_SHIFTS], steps, axis=0), state[N_SHIFTS:]))


def _onward(state: Floats, p_any: float, night: int, fresh: Floats) -> Floats:
    result = (1 - p_any - _p_night(night)) * state + p_any * fresh[:, None] * state.sum(axis=0)
    if night:
        result = result + P_CLOCK_NIGHT * _turn(state, night // STEP_MINUTES)
    return np.asarray(result)


def _backward(seen: Floats, p_any: float, night: int, fresh: Floats) -> Floats:
    result = (1 - p_any - _p_night(night)) * seen + p_any * (fresh @ seen)
    if night:
        result = result + P_CLOCK_NIGHT * _turn(seen, -(night // STEP_MINUTES))
    return np.asarray(result)


Instants = npt.NDArray[np.datetime64]

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
