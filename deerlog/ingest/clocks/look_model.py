"""How likely a grey or a coloured picture is at each height of the sun, and under each clock shift.

A camera takes coloured pictures by day and grey ones (by infrared) in the dark. Where it changes
over differs between cameras and sites, so the level, the width of the change and the share of
wrong looks are a grid of possible cameras, each with its prior; callers integrate over it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.timekeeping.sun import sun_height

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Instants = npt.NDArray[np.datetime64]

# --- What is fixed by judgement, with its reason ------------------------------------------------
STEP_MINUTES = 10
"""Grid of candidate shifts. Our choice: a third of the smallest fault that is looked for."""
SHIFTS_MINUTES: Ints = np.arange(-720 + STEP_MINUTES, 720 + 1, STEP_MINUTES)
"""Candidate shifts (actual less shown), -11:50 to +12:00. Light cannot tell 12 h early from 12 h
late: only the date differs, and the sun of the next day is the same."""
THRESHOLD_DEG = (0.0, 4.0)
"""Mean and sd of the sun height at which half the pictures are grey. Our choice: open fields stay
coloured until the sun is 5 degrees down, closed canopy goes grey with it 5 to 8 degrees up."""
THRESHOLD_GRID_DEG = np.arange(-10.0, 14.1, 2.0)
BLUR_DEG = (1.6, 3.2)
"""Sd in degrees of sun height by which cloud and canopy move the change-over. Our choice."""
MISLABELS = ((0.01, 0.6), (0.05, 0.3), (0.25, 0.1))
"""Share of looks that are wrong whatever the light, and its prior. Our choice: one in a hundred is
usual, a camera whose looks say next to nothing is possible."""
STUCK_WRONG = 0.02
"""Share of the other look in a stretch in which the picture is always grey or always coloured
(an infrared filter that sticks, a white flash). Our choice."""

_BIN = 0.0175  # of the sine of the height: one degree at the horizon, finer than any blur
_REACH = 0.4375  # 26 degrees: beyond the last threshold by three of the usual blurs
_N_BINS = round(2 * _REACH / _BIN)
_CHUNK = 8192  # looks at a time, so that memory stays at a few tens of megabytes


@dataclass(frozen=True)
class Looks:
    """The looks of one camera in order of time; each array of shape (n,).

    ``stated_utc``: instants if the clock is right, UTC (naive ``datetime64[us]``). The sine of the
    sun's height at a shift of s hours is
    ``constant + cosine * cos(2 pi s / 24) - sine * sin(2 pi s / 24)``. The sun's declination is
    taken as constant over the 12 h, which is right to 0.2 degrees.
    """

    stated_utc: Instants
    coloured: Bools
    constant: Floats
    cosine: Floats
    sine: Floats

    def __len__(self) -> int:
        return len(self.coloured)

    def take(self, which: Bools) -> Looks:
        """The looks for which ``which`` is True."""
        return Looks(*(values[which] for values in vars(self).values()))

    def sine_of_height(self, shifts_minutes: npt.ArrayLike) -> Floats:
        """Sine of the sun's height under each shift, shape (n, number of shifts)."""
        angle = np.asarray(shifts_minutes, dtype=np.float64).reshape(1, -1) * (2 * np.pi / 1440)
        part = self.cosine[:, None] * np.cos(angle) - self.sine[:, None] * np.sin(angle)
        return np.asarray(self.constant[:, None] + part)

    def height_deg(self, shift_minutes: float) -> Floats:
        """Sun height in degrees under one shift, shape (n,)."""
        sine = self.sine_of_height([shift_minutes])[:, 0]
        return np.asarray(np.degrees(np.arcsin(np.clip(sine, -1, 1))))


def looks_in_the_sun(
    stated_utc: Instants, coloured: Bools, latitude: float, longitude: float
) -> Looks:
    """The sun's daily circle for each look, from its height at three times eight hours apart."""
    times = pd.DatetimeIndex(np.asarray(stated_utc, dtype="datetime64[us]"))
    before, now, after = (
        np.sin(np.radians(sun_height(latitude, longitude, times + pd.Timedelta(hours=hours))))
        for hours in (-8, 0, 8)
    )
    constant = (before + now + after) / 3
    return Looks(
        times.to_numpy(), coloured, constant, now - constant, (before - after) / np.sqrt(3.0)
    )


@dataclass(frozen=True)
class PossibleCameras:
    """A grid of cameras, shape (g,) each; the exponentials of ``log_prior`` sum to 1."""

    threshold_deg: Floats  # sun height at the change-over
    blur_deg: Floats  # its sd
    mislabel: Floats  # share of wrong looks
    log_prior: Floats

    def p_coloured(self, height_deg: npt.ArrayLike) -> Floats:
        """Chance of a coloured picture, shape (number of heights, g)."""
        height = np.asarray(height_deg, dtype=np.float64).reshape(-1, 1)
        scale = self.blur_deg * (np.sqrt(3.0) / np.pi)  # of a logistic curve with that sd
        day = 1.0 / (1.0 + np.exp(np.clip((self.threshold_deg - height) / scale, -60, 60)))
        return np.asarray(self.mislabel + (1 - 2 * self.mislabel) * day)


def possible_cameras() -> PossibleCameras:
    """The grid with its prior."""
    mean, sd = THRESHOLD_DEG
    share, p_share = np.array(MISLABELS).T
    threshold, blur, mislabel = np.meshgrid(
        THRESHOLD_GRID_DEG, np.array(BLUR_DEG), share, indexing="ij"
    )
    weight = np.exp(-0.5 * ((threshold - mean) / sd) ** 2) * p_share
    log_prior = np.log(weight / weight.sum())
    return PossibleCameras(threshold.ravel(), blur.ravel(), mislabel.ravel(), log_prior.ravel())


def log_likelihood(
    looks: Looks,
    block: Ints,
    n_blocks: int,
    cameras: PossibleCameras,
    shifts_minutes: npt.ArrayLike = SHIFTS_MINUTES,
) -> Floats:
    """Natural log of the probability of each block's looks, shape (blocks, shifts, g).

    Looks are counted in classes of one degree of sun height first, so that the cost hardly
    depends on the number of possible cameras. ``block`` numbers the block of each look.
    """
    shifts = np.asarray(shifts_minutes, dtype=np.float64)
    n_shifts = len(shifts)
    counts = np.zeros(n_blocks * n_shifts * 2 * _N_BINS, dtype=np.int64)
    for first in range(0, len(looks), _CHUNK):
        part = np.zeros(len(looks), dtype=bool)
        part[first : first + _CHUNK] = True
        some = looks.take(part)
        place = np.floor((some.sine_of_height(shifts) + _REACH) / _BIN).astype(np.int64)
        place = np.clip(place, 0, _N_BINS - 1)
        cell = (block[part, None] * n_shifts + np.arange(n_shifts)) * 2 + some.coloured[:, None]
        counts += np.bincount((cell * _N_BINS + place).ravel(), minlength=len(counts))
    middle = np.degrees(np.arcsin(-_REACH + (np.arange(_N_BINS) + 0.5) * _BIN))
    p = cameras.p_coloured(middle)
    table = np.concatenate((np.log1p(-p), np.log(p)))
    flat = counts.reshape(n_blocks * n_shifts, 2 * _N_BINS).astype(np.float64) @ table
    return np.asarray(flat.reshape(n_blocks, n_shifts, -1))


def log_likelihood_stuck(looks: Looks, block: Ints, n_blocks: int) -> Floats:
    """The same if the picture is always grey, or always coloured, shape (blocks, 2)."""
    coloured = np.bincount(block, weights=looks.coloured, minlength=n_blocks)
    grey = np.bincount(block, minlength=n_blocks) - coloured
    right, wrong = np.log1p(-STUCK_WRONG), np.log(STUCK_WRONG)
    return np.column_stack((grey * right + coloured * wrong, grey * wrong + coloured * right))
