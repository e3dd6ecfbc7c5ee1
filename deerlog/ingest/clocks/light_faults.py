"""A camera's clock held against the sun: grey pictures belong to the dark, coloured ones to day.

The stretches of a camera's record in which its looks say that the clock was wrong.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.ingest.clocks.look_model import (
    SHIFTS_MINUTES,
    STEP_MINUTES,
    Bools,
    Floats,
    Instants,
    Ints,
    Looks,
    log_likelihood,
    log_likelihood_stuck,
    looks_in_the_sun,
    possible_cameras,
)
from deerlog.ingest.clocks.shift_path import (
    CAUSES,
    N_SHIFTS,
    P_START,
    RIGHT,
    record_blocks,
    shift_path,
    shift_prior,
)

# --- What is fixed by judgement, with its reason ------------------------------------------------
UNSURE_LOOK = (0.2, 0.4)
"""Looks between grey (0) and coloured (1) that are not used. Our choice: noise in a grey picture
stays below 0.17, and by day a wood in snow gives 0.5."""
SAME_LIGHT_MINUTES = 10
"""Pictures of one look within this time are one look: a burst proves no more. Our choice."""
FEWEST_LOOKS = 15
"""Below this many looks nothing is said. Our choice."""
FEWEST_OF_EACH = 4
"""So many grey and so many coloured looks there must be, or the looks do not tell day from night
(a white flash, an infrared filter that sticks). Our choice."""
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
NIGHT_HOURS = 14.0
"""So near to a clock night (a fault of 12 h away) a reading could be taken for the wrong side."""
_EDGE = (1 - 0.95) / 2  # of 95 % intervals (the usual choice)

_NEVER = np.datetime64("NaT", "us")


@dataclass(frozen=True, kw_only=True)
class ClockFault:
    """A stretch in which the looks say that the clock was wrong."""

    camera: str
    shift_minutes: int
    """Actual less shown time. 720 stands for 12 h either way: light cannot tell which."""
    low_minutes: float
    high_minutes: float
    """Its 95 % interval from the looks alone (widened to hold the shift, for which a usual fault is
    preferred to its neighbours)."""
    sure: float  # probability of a fault
    begins: np.datetime64
    ends: np.datetime64
    """Instant (UTC if the clock were right, naive) of the first look that is wrong and of the
    first that is not any more; NaT where the record's own start or end bounds it."""
    begins_low: np.datetime64
    begins_high: np.datetime64
    """The looks between which the fault began, with 95 %; NaT as `begins`."""
    begins_with: str  # of `CAUSES`; "" at the record's own start
    n_looks: int
    n_near: int  # near dusk or dawn by the camera's own clock
    n_grey_in_light: int
    n_coloured_in_dark: int  # looks that contradict the stated time
    n_contradict_after: int  # looks that contradict the shifted time
    row: dict[str, np.datetime64]
    """``shown``, ``actual``, ``opens`` and ``closes`` of the row for ``clock.csv``: naive local
    times, NaT where a bound is left blank."""


def light_faults(
    camera: str,
    stated_utc: Instants,
    shown: Instants,
    look: npt.ArrayLike,
    *,
    latitude: float,
    longitude: float,
    zone: str,
    flash: npt.ArrayLike | None = None,
    breaks: Instants | None = None,
) -> list[ClockFault]:
    """The faults of one camera's clock, by its looks held against the sun, in order of time.

    None where the clock looks right, or where there are too few looks, or too few of either kind,
    to tell. Arrays have shape (n,), instants are naive ``datetime64`` in UTC; ``zone`` is an IANA
    name: the nights on which local time is moved are where a fault may well begin.

    Parameters
    ----------
    stated_utc
        Instants of the photos if the clock is right (with what clock.csv says already applied), in
        any order; photos with NaT are not used.
    shown
        What the camera showed, naive; for the bounds in ``clock.csv``.
    look
        0 for grey to 1 for coloured, NaN where unknown.
    latitude, longitude
        Of the property, in degrees: over its few miles the sun stands everywhere within a quarter
        degree.
    flash
        1 if the flash fired, 0 if not, NaN where unknown: stands in for an unknown look where the
        camera's flash does change (a flash that always fires tells nothing).
    breaks
        Instants between photos at which someone was at the camera (card checks, battery changes).
        Gaps of days are found here.
    """
    times = np.asarray(stated_utc, dtype="datetime64[us]")
    wall = np.asarray(shown, dtype="datetime64[us]")
    known = _known_look(np.asarray(look, dtype=np.float64), flash)
    picked = _one_a_moment(times, known, ~np.isnan(known) & ~np.isnat(times) & ~np.isnat(wall))
    coloured = known[picked] > 0.5
    n_day, n_night = int(coloured.sum()), int((~coloured).sum())
    if n_day + n_night < FEWEST_LOOKS or min(n_day, n_night) < FEWEST_OF_EACH:
        return []
    looks = looks_in_the_sun(times[picked], coloured, latitude, longitude)
    return _LightRecord(camera, looks, wall[picked], zone, breaks).faults()


def _known_look(look: Floats, flash: npt.ArrayLike | None) -> Floats:
    """Looks with the flash in place of those unknown, NaN for those in between."""
    known = look.copy()
    known[(known > UNSURE_LOOK[0]) & (known < UNSURE_LOOK[1])] = np.nan
    if flash is not None:
        fired = np.asarray(flash, dtype=np.float64)
        if np.nanmin(fired, initial=1.0) < np.nanmax(fired, initial=0.0):
            known = np.where(np.isnan(look), 1.0 - fired, known)
    return known


def _one_a_moment(times: Instants, known: Floats, usable: Bools) -> Ints:
    """Places of the first picture of each look in each ten minutes, in order of time."""
    places = np.flatnonzero(usable)
    places = places[np.argsort(times[places], kind="stable")]
    moment = (times[places] - times[places[:1]]) // np.timedelta64(SAME_LIGHT_MINUTES, "m")
    key = moment.astype(np.int64) * 2 + (known[places] > 0.5)
    _, first = np.unique(key, return_index=True)
    return np.asarray(places[np.sort(first)])


class _Change(NamedTuple):
    """The look before which the shift changed, its interval, and the shift up to then."""

    look: int
    low: int
    high: int
    shift_before: int


class _LightRecord:
    """The looks of one camera with everything worked out from them once."""

    def __init__(
        self, camera: str, looks: Looks, shown: Instants, zone: str, breaks: Instants | None
    ) -> None:
        self._camera = camera
        self._zone = zone
        self._looks = looks
        self._shown = shown
        self._blocks = blocks = record_blocks(looks.stated_utc, zone, breaks)
        self._cameras = possible_cameras()
        self._log_looks = log_likelihood(looks, blocks.block, blocks.n_blocks, self._cameras)
        self._path = shift_path(
            self._log_looks,
            log_likelihood_stuck(looks, blocks.block, blocks.n_blocks),
            self._cameras.log_prior,
            blocks.p_change,
            blocks.clock_night_minutes,
        )
        self._best = np.asarray(self._path.p_state[:, :N_SHIFTS].argmax(axis=1))

    def faults(self) -> list[ClockFault]:
        """The faults that are sure enough, in order of time.

        Of half-open runs of blocks that are likelier wrong than right, one shift each.
        """
        fault_states = np.where(RIGHT, 0.0, self._path.p_state[:, :N_SHIFTS])
        shift = SHIFTS_MINUTES[fault_states.argmax(axis=1)]
        runs: list[tuple[int, int]] = []
        for b in np.flatnonzero(self._path.p_fault > 0.5).tolist():
            if runs and runs[-1][1] == b and _apart(shift[b], shift[b - 1]) <= SAME_FAULT_MINUTES:
                runs[-1] = (runs[-1][0], b + 1)
            else:
                runs.append((b, b + 1))
        judged = [self._fault(first, after) for first, after in runs]
        return [fault for fault in judged if fault is not None]

    def _fault(self, first: int, after: int) -> ClockFault | None:
        """The fault of a run of blocks, or None where it is not sure or small or leaves doubt."""
        sure = float(self._path.p_fault[first:after].max())
        if sure < SURE:
            return None
        shift, low, high = self._shift(first, after)
        start = self._change(first, shift) if first > 0 else None
        end = self._change(after, shift) if after < self._blocks.n_blocks else None
        begin, stop = start.look if start else 0, end.look if end else len(self._looks)
        inside = np.arange(len(self._looks))
        some = self._looks.take((inside >= begin) & (inside < stop))
        n_coloured = int(some.coloured.sum())
        contradict = self._chance(some, 0) < CONTRADICTS
        n_after = int((self._chance(some, shift) < CONTRADICTS).sum())
        days = np.unique(some.stated_utc[contradict].astype("datetime64[D]"))
        if (
            min(n_coloured, len(some) - n_coloured) < 2
            or len(days) < FEWEST_DAYS
            or (low <= NOTICEABLE_MINUTES and high >= -NOTICEABLE_MINUTES)
            or n_after > UNEXPLAINED * int(contradict.sum())
        ):
            return None
        threshold_deg = float(self._path.p_camera @ self._cameras.threshold_deg)
        at = self._looks.stated_utc
        return ClockFault(
            camera=self._camera,
            shift_minutes=shift,
            low_minutes=low,
            high_minutes=high,
            sure=sure,
            begins=at[begin] if start else _NEVER,
            begins_low=at[start.low - 1] if start else _NEVER,
            begins_high=at[start.high] if start else _NEVER,
            ends=at[stop] if end else _NEVER,
            begins_with=str(self._blocks.cause[begin]) if start else "",
            n_looks=len(some),
            n_near=int((np.abs(some.height_deg(0) - threshold_deg) <= NEAR_DEG).sum()),
            n_grey_in_light=int((contradict & ~some.coloured).sum()),
            n_coloured_in_dark=int((contradict & some.coloured).sum()),
            n_contradict_after=n_after,
            row=self._row(begin, stop, shift)
            | {"opens": self._bound(start), "closes": self._bound(end)},
        )

    def _shift(self, first: int, after: int) -> tuple[int, float, float]:
        """Best shift of a run of blocks, and its interval."""
        inside = np.zeros(self._blocks.n_blocks, dtype=bool)
        inside[first:after] = True
        rest = np.flatnonzero(~inside & (self._path.p_state[:, N_SHIFTS:].sum(axis=1) < 0.5))
        camera = self._cameras.log_prior + self._log_looks[rest, self._best[rest]].sum(axis=0)
        run = np.logaddexp.reduce(self._log_looks[inside].sum(axis=0) + camera, axis=1)
        rough = int(SHIFTS_MINUTES[np.where(RIGHT, -np.inf, run).argmax()])
        reach = np.arange(-FINE_REACH_MINUTES, FINE_REACH_MINUTES + 1, FINE_MINUTES)
        fine = rough + reach
        some = self._looks.take(inside[self._blocks.block])
        block = np.zeros(len(some), dtype=np.int64)
        by_camera = log_likelihood(some, block, 1, self._cameras, fine)[0] + camera
        log_fine = np.logaddexp.reduce(by_camera, axis=1)
        first_at, last_at = _central(log_fine)
        best = int(fine[(log_fine + np.log(_prior(fine))).argmax()])
        low = min(float(fine[first_at] - FINE_MINUTES / 2), best)
        high = max(float(fine[last_at] + FINE_MINUTES / 2), best)
        if best % STEP_MINUTES:
            best = 5 * round(best / 5)
        # Within the day from -11:50 to +12:00.
        around = 1440 if best <= -720 else -1440 if best > 720 else 0
        return best + around, low + around, high + around

    def _chance(self, looks: Looks, shift_minutes: float) -> Floats:
        """Chance of each look under a shift, over the possible cameras."""
        p = self._cameras.p_coloured(looks.height_deg(shift_minutes)) @ self._path.p_camera
        return np.asarray(np.where(looks.coloured, p, 1 - p))

    def _change(self, block: int, shift: int) -> _Change:
        """Where between the blocks before and after a border the shift changed."""
        others = [int(SHIFTS_MINUTES[self._best[b]]) for b in (block - 1, block)]
        # One side is the fault itself: its shift is known better than from one block.
        others[int(np.argmin([_apart(o, shift) for o in others]))] = shift
        both = np.isin(self._blocks.block, (block - 1, block))
        some = self._looks.take(both)
        gain = np.log(self._chance(some, others[0])) - np.log(self._chance(some, others[1]))
        # Cut k: looks before k under the first shift, from k on under the second.
        cut = np.flatnonzero(both)[1:]
        p_change = [CAUSES[cause] for cause in self._blocks.cause[cut].tolist()]
        log_cut = np.cumsum(gain)[:-1] + np.log(p_change)
        low, high = _central(log_cut)
        return _Change(int(cut[log_cut.argmax()]), int(cut[low]), int(cut[high]), others[0])

    def _row(self, begin: int, stop: int, shift: int) -> dict[str, np.datetime64]:
        """A reading in the middle of a fault, off the nights on which local time is moved."""
        at, middle = self._looks.stated_utc, (begin + stop) // 2
        hours = np.abs(at[middle:stop, None] - self._blocks.nights) / np.timedelta64(1, "h")
        middle += int((hours >= NIGHT_HOURS).all(axis=1).argmax())
        # To the whole minute, as a person would type it; both sides by the same seconds.
        shown = self._shown[middle].astype("datetime64[m]").astype("datetime64[us]")
        actual_utc = at[middle] - (self._shown[middle] - shown)
        actual_utc = pd.Timestamp(actual_utc + np.timedelta64(shift, "m")).tz_localize("UTC")
        actual = actual_utc.tz_convert(ZoneInfo(self._zone)).tz_localize(None)
        return {"shown": shown, "actual": np.datetime64(actual, "us")}

    def _bound(self, change: _Change | None) -> np.datetime64:
        """The change in shown time: the clock night's own hour, or the first photo after it."""
        if change is None:
            return _NEVER
        before = change.look - 1
        if self._blocks.cause[change.look] == "clock change":
            at, nights = self._looks.stated_utc, self._blocks.nights
            night = nights[np.searchsorted(nights, at[change.look]) - 1]
            wall = self._shown[before] - at[before]
            bound: np.datetime64 = night - np.timedelta64(change.shift_before, "m") + wall
            return bound
        exact: np.datetime64 = self._shown[change.look]
        minute: np.datetime64 = exact.astype("datetime64[m]").astype("datetime64[us]")
        # To the whole minute, unless the look before falls into the same one.
        return exact if minute <= self._shown[before] < exact else minute


def _apart(a: int, b: int) -> int:
    """Minutes between two shifts around the day."""
    return abs((int(a) - int(b) + 720) % 1440 - 720)


def _central(log_weight: Floats) -> tuple[int, int]:
    """The places between which the central 95 % of some weights lie."""
    share = np.cumsum(np.exp(log_weight - log_weight.max()))
    low, high = np.searchsorted(share / share[-1], (_EDGE, 1 - _EDGE))
    return int(low), min(int(high), len(share) - 1)


def _prior(shifts_minutes: Ints) -> Floats:
    """Prior of shifts on the fine grid: usual faults have their own, others share a step's."""
    by_step = shift_prior(P_START)[:N_SHIFTS]
    place = np.round((shifts_minutes - SHIFTS_MINUTES[0]) / STEP_MINUTES).astype(np.int64)
    on_step = shifts_minutes % STEP_MINUTES == 0
    share = by_step[~RIGHT].min() * FINE_MINUTES / STEP_MINUTES
    return np.asarray(np.where(on_step, by_step[place % N_SHIFTS], share))
