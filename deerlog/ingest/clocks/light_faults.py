"""What the looks of a camera's pictures say of its clock, as values.

The stretches of a camera's record in which its looks say that the clock was wrong.
"""

from __future__ import annotations

from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.ingest.clocks.look_model import (
    SHIFTS_MINUTES,
    STEP_MINUTES,
    Floats,
    Ints,
    Looks,
    PossibleCameras,
    log_likelihood,
    log_likelihood_stuck,
    possible_cameras,
)
from deerlog.ingest.clocks.shift_path import (
    N_SHIFTS,
    P_START,
    RIGHT,
    RecordBlocks,
    ShiftPath,
    shift_path,
    shift_prior,
)


@dataclass(frozen=True, kw_only=True)
class ClockRow:
    """The row for ``clock.csv``: naive local times, NaT where a bound is left blank."""

    camera: str
    shown: np.datetime64
    actual: np.datetime64
    valid_from: np.datetime64
    valid_to: np.datetime64


@dataclass(frozen=True, kw_only=True)
class ClockFault:
    """A stretch in which the looks say that the clock was wrong.

    Attributes
    ----------
    shift_minutes, low_minutes, high_minutes
        Actual less shown time, and its 95 % interval from the looks alone (widened to hold the
        shift, for which a usual fault is preferred to its neighbours). 720 stands
        for 12 h either way: light cannot tell which.
    sure
        Probability of a fault.
    log10_ratio
        Common logarithm of how much better the looks fit this shift than any small one.
    begins, ends
        Instant (UTC if the clock were right, naive) of the first look that is wrong and of the
        first that is not any more; NaT where the record's own start or end bounds it.
    begins_low, begins_high
        The looks between which the fault began, with 95 %; NaT as `begins`.
    begins_with, ends_with
        ``"clock change"`` (the night local time was moved), ``"break"`` (a card or battery check
        or a gap), ``"unknown"``, or ``""`` at the record's own start or end.
    n_looks, n_near
        Looks in the stretch, and those near dusk or dawn by the camera's own clock.
    n_grey_in_light, n_coloured_in_dark
        Looks that contradict the stated time.
    n_contradict_after
        Looks that contradict the shifted time.
    row
        What to put in ``clock.csv``.
    """

    camera: str
    shift_minutes: int
    low_minutes: float
    high_minutes: float
    sure: float
    log10_ratio: float
    begins: np.datetime64
    begins_low: np.datetime64
    begins_high: np.datetime64
    ends: np.datetime64
    begins_with: str
    ends_with: str
    n_looks: int
    n_near: int
    n_grey_in_light: int
    n_coloured_in_dark: int
    n_contradict_after: int
    row: ClockRow

    @property
    def n_contradict(self) -> int:
        """Looks that contradict the stated time."""
        return self.n_grey_in_light + self.n_coloured_in_dark


@dataclass(frozen=True, kw_only=True)
class ClockVerdict:
    """What the looks of one camera say of its clock.

    Attributes
    ----------
    n_photos, n_unknown, n_looks
        Photos given, those whose look is unknown or in between, and the looks used (pictures
        minutes apart being one).
    p_fault
        Highest probability, over the record, that the clock was wrong.
    threshold_deg
        Sun height at which this camera changes between grey and coloured; NaN if nothing is said.
    not_told
        Why nothing can be said, or ``""``.
    faults
        In order of time; empty where the clock looks right or nothing can be said.
    """

    camera: str
    n_photos: int
    n_unknown: int
    n_looks: int
    p_fault: float = float("nan")
    threshold_deg: float = float("nan")
    not_told: str = ""
    faults: tuple[ClockFault, ...] = ()


# --- What is fixed by judgement, with its reason ------------------------------------------------
SURE = 0.97
"""Probability of a fault from which it is reported. Our choice; with it the simulated cameras
whose clock is right give less than one false alarm in 200."""
FEWEST_DAYS = 3
"""Contradictions must come from so many days: one dark storm is no clock fault. Our choice."""
NOTICEABLE_MINUTES = 15.0
"""The interval of a fault must lie beyond this. Our choice: a hill on one side looks like ten or
fifteen minutes, and visits hardly move for it."""
CONTRADICTS = 0.1
"""A look is said to contradict the clock where its chance at the stated time is below this. Our
choice."""
UNEXPLAINED = 0.5
"""A shift must leave at most this share of the contradictions. Our choice."""
NEAR_DEG = 15.0
"""Sun heights within this of the change-over count as dusk or dawn (an hour or so). Our choice."""
FINE_MINUTES = 2
FINE_REACH_MINUTES = 40
"""Grid on which the shift and its interval are worked out once a fault is found. Our choice."""
SAME_FAULT_MINUTES = 30
"""Blocks of looks whose best shifts differ by no more than this are one fault. Our choice."""
CENTRAL = 0.95
"""Content of the intervals (the usual choice)."""

Instants = npt.NDArray[np.datetime64]
_NEVER = np.datetime64("NaT", "us")


class LightRecord:
    """The looks of one camera with everything worked out from them once.

    Attributes
    ----------
    path
        What is known of the shift in each block, see `ShiftPath`.
    threshold_deg
        Sun height at which this camera changes between grey and coloured, over the possible
        cameras.
    """

    def __init__(
        self, camera: str, looks: Looks, shown: Instants, blocks: RecordBlocks, zone: str
    ) -> None:
        self._camera = camera
        self._zone = zone
        self._looks = looks
        self._shown = shown
        self._blocks = blocks
        self._cameras: PossibleCameras = possible_cameras()
        self._log_looks = log_likelihood(looks, blocks.block, blocks.n_blocks, self._cameras)
        self.path: ShiftPath = shift_path(
            self._log_looks,
            log_likelihood_stuck(looks, blocks.block, blocks.n_blocks),
            self._cameras.log_prior,
            blocks.p_change,
            blocks.clock_night_minutes,
        )
        self.threshold_deg = float(self.path.p_camera @ self._cameras.threshold_deg)
        self._best = np.asarray(self.path.p_state[:, :N_SHIFTS].argmax(axis=1))

    def faults(self) -> list[ClockFault]:
        """The faults that are sure enough, in order of time."""
        judged = [self._fault(first, after) for first, after in self._runs()]
        return [fault for fault in judged if fault is not None]

    def _runs(self) -> list[tuple[int, int]]:
        """Half-open runs of blocks that are likelier wrong than right, one shift each."""
        wrong = self.path.p_fault > 0.5
        fault_states = np.where(RIGHT, 0.0, self.path.p_state[:, :N_SHIFTS])
        shift = SHIFTS_MINUTES[fault_states.argmax(axis=1)]
        runs: list[tuple[int, int]] = []
        for b in np.flatnonzero(wrong):
            if runs and runs[-1][1] == b and _apart(shift[b], shift[b - 1]) <= SAME_FAULT_MINUTES:
                runs[-1] = (runs[-1][0], int(b) + 1)
            else:
                runs.append((int(b), int(b) + 1))
        return runs

    def _fault(self, first: int, after: int) -> ClockFault | None:
        sure = float(self.path.p_fault[first:after].max())
        if sure < SURE:
            return None
        shift, low, high, log10_ratio = self._shift(first, after)
        start = self._change(first, shift) if first > 0 else None
        end = self._change(after, shift) if after < self._blocks.n_blocks else None
        begin = start.look if start else 0
        stop = end.look if end else len(self._looks)
        inside = np.zeros(len(self._looks), dtype=bool)
        inside[begin:stop] = True
        some = self._looks.take(inside)
        n_coloured = int(some.coloured.sum())
        if min(n_coloured, len(some) - n_coloured) < 2:
            return None
        before = self._chance(some, 0)
        later = self._chance(some, shift)
        contradict = before < CONTRADICTS
        days = np.unique(some.stated_utc[contradict].astype("datetime64[D]"))
        if len(days) < FEWEST_DAYS or not _clear_of_zero(low, high):
            return None
        n_after = int((later < CONTRADICTS).sum())
        if n_after > UNEXPLAINED * int(contradict.sum()):
            return None
        return ClockFault(
            camera=self._camera,
            shift_minutes=shift,
            low_minutes=low,
            high_minutes=high,
            sure=sure,
            log10_ratio=log10_ratio,
            begins=some.stated_utc[0] if start else _NEVER,
            begins_low=self._looks.stated_utc[start.low - 1] if start else _NEVER,
            begins_high=self._looks.stated_utc[start.high] if start else _NEVER,
            ends=self._looks.stated_utc[stop] if end else _NEVER,
            begins_with=start.cause if start else "",
            ends_with=end.cause if end else "",
            n_looks=len(some),
            n_near=int((np.abs(some.height_deg(0) - self.threshold_deg) <= NEAR_DEG).sum()),
            n_grey_in_light=int((contradict & ~some.coloured).sum()),
            n_coloured_in_dark=int((contradict & some.coloured).sum()),
            n_contradict_after=n_after,
            row=self._row(begin, stop, shift, start, end),
        )

    def _shift(self, first: int, after: int) -> tuple[int, float, float, float]:
        """Best shift of a run of blocks, its interval, and log10 of how much better it fits."""
        inside = np.zeros(self._blocks.n_blocks, dtype=bool)
        inside[first:after] = True
        rest = np.flatnonzero(~inside & (self.path.p_state[:, N_SHIFTS:].sum(axis=1) < 0.5))
        camera = self._cameras.log_prior + self._log_looks[rest, self._best[rest]].sum(axis=0)
        run = np.logaddexp.reduce(self._log_looks[inside].sum(axis=0) + camera, axis=1)
        rough = int(SHIFTS_MINUTES[np.where(RIGHT, -np.inf, run).argmax()])
        reach = np.arange(-FINE_REACH_MINUTES, FINE_REACH_MINUTES + 1, FINE_MINUTES)
        fine = rough + reach
        some = self._looks.take(inside[self._blocks.block])
        block = np.zeros(len(some), dtype=np.int64)
        by_camera = log_likelihood(some, block, 1, self._cameras, fine)[0] + camera
        log_fine = np.logaddexp.reduce(by_camera, axis=1)
        weight = np.exp(log_fine - log_fine.max())
        share = np.cumsum(weight) / weight.sum()
        edge = (1 - CENTRAL) / 2
        low = float(fine[np.searchsorted(share, edge)] - FINE_MINUTES / 2)
        high = float(fine[np.searchsorted(share, 1 - edge)] + FINE_MINUTES / 2)
        best = int(fine[(log_fine + np.log(_prior(fine))).argmax()])
        low, high = min(low, best), max(high, best)
        if best % STEP_MINUTES:
            best = 5 * round(best / 5)
        ratio = float(log_fine.max() - run[RIGHT].max()) / np.log(10.0)
        around = _within_day(best) - best
        return best + around, low + around, high + around, ratio

    def _chance(self, looks: Looks, shift_minutes: float) -> Floats:
        """Chance of each look under a shift, over the possible cameras."""
        p = self._cameras.p_coloured(looks.height_deg(shift_minutes)) @ self.path.p_camera
        return np.asarray(np.where(looks.coloured, p, 1 - p))

    def _change(self, block: int, shift: int) -> _Change:
        """Where between the blocks before and after a border the shift changed."""
        others = [int(SHIFTS_MINUTES[self._best[b]]) for b in (block - 1, block)]
        # One side is the fault itself: its shift is known better than from one block.
        fault_side = int(np.argmin([_apart(o, shift) for o in others]))
        others[fault_side] = shift
        around = np.flatnonzero(np.isin(self._blocks.block, (block - 1, block)))
        some = self._looks.take(np.isin(self._blocks.block, (block - 1, block)))
        gain = np.log(self._chance(some, others[0])) - np.log(self._chance(some, others[1]))
        # Cut k: looks before k under the first shift, from k on under the second.
        log_cut = np.concatenate(([0.0], np.cumsum(gain)))[1:]
        cut = around[1:]
        log_cut = log_cut[:-1] + np.log(self._blocks.p_change_at(cut))
        at = int(log_cut.argmax())
        weight = np.exp(log_cut - log_cut.max())
        share = np.cumsum(weight) / weight.sum()
        edge = (1 - CENTRAL) / 2
        last = len(cut) - 1
        return _Change(
            look=int(cut[at]),
            low=int(cut[min(int(np.searchsorted(share, edge)), last)]),
            high=int(cut[min(int(np.searchsorted(share, 1 - edge)), last)]),
            cause=self._blocks.cause_at(int(cut[at])),
            shift_before=others[0],
        )

    def _row(
        self, begin: int, stop: int, shift: int, start: _Change | None, end: _Change | None
    ) -> ClockRow:
        middle = (begin + stop) // 2
        for k in range(middle, stop):
            if not self._blocks.near_clock_night(self._looks.stated_utc[k]):
                middle = k
                break
        # To the whole minute, as a person would type it; both sides by the same seconds.
        shown = self._shown[middle].astype("datetime64[m]").astype("datetime64[us]")
        actual_utc = self._looks.stated_utc[middle] - (self._shown[middle] - shown)
        actual_utc = pd.Timestamp(actual_utc + np.timedelta64(shift, "m")).tz_localize("UTC")
        actual = actual_utc.tz_convert(ZoneInfo(self._zone)).tz_localize(None)
        return ClockRow(
            camera=self._camera,
            shown=shown,
            actual=np.datetime64(actual, "us"),
            valid_from=self._bound(start) if start else _NEVER,
            valid_to=self._bound(end) if end else _NEVER,
        )

    def _bound(self, change: _Change) -> np.datetime64:
        """The change in shown time: the clock night's own hour, or the first photo after it."""
        if change.cause == "clock change":
            night = self._blocks.clock_night_before(change.look)
            before = change.look - 1
            wall = self._shown[before] - self._looks.stated_utc[before]
            bound: np.datetime64 = night - np.timedelta64(change.shift_before, "m") + wall
            return bound
        exact: np.datetime64 = self._shown[change.look]
        minute: np.datetime64 = exact.astype("datetime64[m]").astype("datetime64[us]")
        # To the whole minute, unless the look before falls into the same one.
        return exact if minute <= self._shown[change.look - 1] < exact else minute


@dataclass(frozen=True)
class _Change:
    look: int
    low: int
    high: int
    cause: str
    shift_before: int


def _apart(a: int, b: int) -> int:
    """Minutes between two shifts around the day."""
    return abs((int(a) - int(b) + 720) % 1440 - 720)


def _clear_of_zero(low: float, high: float) -> bool:
    return low > NOTICEABLE_MINUTES or high < -NOTICEABLE_MINUTES


def _prior(shifts_minutes: Ints) -> Floats:
    """Prior of shifts on the fine grid: usual faults have their own, others share a step's."""
    by_step = shift_prior(P_START)[:N_SHIFTS]
    place = np.round((shifts_minutes - SHIFTS_MINUTES[0]) / STEP_MINUTES).astype(np.int64)
    on_step = shifts_minutes % STEP_MINUTES == 0
    share = by_step[~RIGHT].min() * FINE_MINUTES / STEP_MINUTES
    return np.asarray(np.where(on_step, by_step[place % N_SHIFTS], share))


def _within_day(shift: int) -> int:
    return shift + 1440 if shift <= -720 else shift - 1440 if shift > 720 else shift
