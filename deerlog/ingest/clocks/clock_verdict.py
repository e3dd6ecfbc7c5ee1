"""What the looks of a camera's pictures say of its clock, as values."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


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
