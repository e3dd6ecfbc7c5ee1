"""Which shift a clock had in each block of a camera's looks, and where it may have changed.

A hidden-state chain over blocks of days: the states are the candidate shifts and two in which looks
say nothing (always grey, always coloured). Integrated over the possible cameras.
"""

from __future__ import annotations

from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.ingest.clocks.look_model import SHIFTS_MINUTES, STEP_MINUTES, Floats, Instants, Ints

# --- What is fixed by judgement, with its reason ------------------------------------------------
SMALL_SHIFTS = {0: 0.8, 10: 0.1, -10: 0.1}
"""Prior over the shifts that are no fault. Our choice: a camera in the shade of a hill to the west
goes grey early in the evening and comes back in time in the morning, which looks like a shift of
some minutes."""
USUAL_FAULTS = {60: 0.2, -60: 0.2, 720: 0.16, 30: 0.06, -30: 0.06}
USUAL_FAULTS |= dict.fromkeys((120, -120, 180, -180), 0.03)
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
MOST_BLOCKS = 64
"""Blocks in a record, which bounds the work; where a change lies inside a block is found from the
single looks afterwards. Our choice."""
LOOKS_A_BLOCK = 8
"""Looks in a usual block: fewer would say nothing by themselves. Our choice."""
GAP_DAYS = 3.0
"""A gap between looks that may be a battery change. Our choice."""

N_SHIFTS = len(SHIFTS_MINUTES)
N_STATES = N_SHIFTS + 2
RIGHT = np.isin(SHIFTS_MINUTES, list(SMALL_SHIFTS))


@dataclass(frozen=True)
class ShiftPath:
    """What is known of the shift in each block.

    ``p_state``: probability of each shift, and of the two uninformative states, in each block:
    shape (blocks, N_STATES), rows sum to 1. ``p_camera``: of each possible camera, shape (g,).
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
    fault = np.array([USUAL_FAULTS.get(int(shift), 0.0) for shift in SHIFTS_MINUTES])
    small = np.array([SMALL_SHIFTS.get(int(shift), 0.0) for shift in SHIFTS_MINUTES])
    hours = (SHIFTS_MINUTES % 60 == 0) & ~RIGHT & (fault == 0)
    fault[hours] += WHOLE_HOURS / hours.sum()
    fault[~RIGHT] += (1 - fault.sum()) / (~RIGHT).sum()
    shifts = p_right * small + (1 - p_right - p_stuck) * fault
    return np.concatenate((shifts, [p_stuck / 2, p_stuck / 2]))


def shift_path(
    log_looks: Floats,
    log_stuck: Floats,
    log_prior_camera: Floats,
    p_change: Floats,
    clock_night_minutes: Ints,
) -> ShiftPath:
    """Forward and backward over the blocks, for every possible camera at once.

    ``log_looks``: of each block's looks, shape (blocks, N_SHIFTS, g); ``log_stuck``: if looks say
    nothing, shape (blocks, 2); ``log_prior_camera``: shape (g,). Between block i and i + 1, shape
    (blocks - 1,): ``p_change``, the prior that the clock changes for any reason; and
    ``clock_night_minutes``, how far local time was moved (60 in spring, -60 in fall, else 0): a
    clock that was not moved with it changes its shift by as much.
    """
    n_blocks, _, n_cameras = log_looks.shape
    stuck = np.broadcast_to(log_stuck[:, :, None], (n_blocks, 2, n_cameras))
    log_all = np.concatenate((log_looks, stuck), axis=1)
    top = log_all.max(axis=1, keepdims=True)
    likelihood = np.exp(log_all - top)
    fresh = shift_prior(P_AFTER_CHANGE)

    def moved(state: Floats, b: int, *, back: bool) -> Floats:
        """State after the border between block b and b + 1, or before it."""
        p_any, night = float(p_change[b]), int(clock_night_minutes[b])
        p_night = P_CLOCK_NIGHT if night else 0.0
        drawn = fresh @ state if back else fresh[:, None] * state.sum(axis=0)
        result = (1 - p_any - p_night) * state + p_any * drawn
        if night:
            # Every shift moved around the day; the stuck states stay.
            steps = (-night if back else night) // STEP_MINUTES
            turned = np.roll(state[:N_SHIFTS], steps, axis=0)
            result = result + p_night * np.concatenate((turned, state[N_SHIFTS:]))
        return np.asarray(result)

    ahead = np.empty_like(likelihood)
    log_weight = log_prior_camera + top.sum(axis=(0, 1))
    now = np.repeat(shift_prior(P_START)[:, None], n_cameras, axis=1)
    for b in range(n_blocks):
        now = (moved(ahead[b - 1], b - 1, back=False) if b else now) * likelihood[b]
        total = now.sum(axis=0)
        log_weight = log_weight + np.log(total)
        ahead[b] = now / total
    p_camera = np.exp(log_weight - log_weight.max())
    p_camera /= p_camera.sum()

    p_state = np.empty((n_blocks, N_STATES))
    behind = np.ones((N_STATES, n_cameras))
    p_state[-1] = ahead[-1] @ p_camera
    for b in range(n_blocks - 2, -1, -1):
        behind = moved(behind * likelihood[b + 1], b, back=True)
        joint = ahead[b] * behind
        p_state[b] = (joint / joint.sum(axis=0)) @ p_camera
        behind = behind / behind.max(axis=0)
    return ShiftPath(p_state, p_camera)


CAUSES = {"clock change": P_CLOCK_NIGHT, "break": P_BREAK, "unknown": P_ANYWHERE}
"""What may have happened between two looks: the night local time was moved, a card or battery check
or a gap, or neither; with the prior that the clock changed there."""


@dataclass(frozen=True)
class RecordBlocks:
    """Which block each look is in, and what may have happened between them.

    ``block``: number of each look's block, from 0, none empty, shape (n,). ``cause``: for each
    look, which of `CAUSES` lies between it and the look before, shape (n,). ``p_change``,
    ``clock_night_minutes``: see `shift_path`. ``nights``: instants (UTC) at which local time was
    moved, shape (m,).
    """

    block: Ints
    cause: npt.NDArray[np.str_]
    p_change: Floats
    clock_night_minutes: Ints
    nights: Instants

    @property
    def n_blocks(self) -> int:
        """Number of blocks."""
        return len(self.p_change) + 1


def record_blocks(times: Instants, zone: str, breaks: Instants | None) -> RecordBlocks:
    """Cut sorted times into blocks of at least a day, never across a break or a clock night.

    ``times`` are UTC, naive, shape (n,), n at least 1; ``breaks`` are instants of breaks.
    """
    nights, moved = clock_nights(times[0], times[-1], zone)
    known = np.sort(np.asarray([] if breaks is None else breaks, dtype="datetime64[us]"))
    night_number = np.searchsorted(nights, times, side="right")
    break_number = np.searchsorted(known[~np.isnat(known)], times, side="right")
    days = float((times[-1] - times[0]) / np.timedelta64(1, "D"))
    n_cells = min(MOST_BLOCKS, max(1, len(times) // LOOKS_A_BLOCK))
    cell = (times - times[0]) // np.timedelta64(max(86_400, round(days * 86_400 / n_cells)), "s")
    gap = np.diff(times) >= np.timedelta64(round(GAP_DAYS * 86_400), "s")
    # Of each look, against the one before; of the first, nothing.
    at_night = np.concatenate(([False], np.diff(night_number) > 0))
    at_break = np.concatenate(([False], gap | (np.diff(break_number) > 0)))
    new = np.concatenate(([False], np.diff(cell) > 0)) | at_break | at_night
    border = np.flatnonzero(new)
    total = np.concatenate(([0], np.cumsum(moved)))[night_number]
    return RecordBlocks(
        block=np.cumsum(new).astype(np.int64),
        cause=np.where(at_night, "clock change", np.where(at_break, "break", "unknown")),
        # Looks between two borders number few to hundreds; the chance of a change between them is
        # that of the likeliest cause at the border itself.
        p_change=np.where(at_break[border], P_BREAK, P_ANYWHERE),
        clock_night_minutes=total[border] - total[border - 1],
        nights=nights,
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
