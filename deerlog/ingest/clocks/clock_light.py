"""A camera's clock held against the sun: grey pictures belong to the dark, coloured ones to day."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.ingest.clocks.light_faults import ClockVerdict, LightRecord
from deerlog.ingest.clocks.look_model import Floats, Ints, looks_in_the_sun
from deerlog.ingest.clocks.shift_path import record_blocks

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
Instants = npt.NDArray[np.datetime64]


def judge_clocks(
    photos: pd.DataFrame,
    *,
    latitude: float,
    longitude: float,
    zone: str,
    breaks: Mapping[str, Instants] | None = None,
) -> list[ClockVerdict]:
    """`judge_clock` for every camera of a property, in order of name.

    Parameters
    ----------
    photos
        Columns ``camera``, ``stated_utc``, ``shown``, ``look`` and, if known, ``flash``, as in
        `judge_clock`.
    latitude, longitude
        Of the property: over its few miles the sun stands everywhere within a quarter degree.
    breaks
        By camera; also the days on which it was moved.
    """
    verdicts = []
    for camera, mine in photos.groupby("camera", sort=True):
        verdicts.append(
            judge_clock(
                str(camera),
                np.asarray(mine["stated_utc"], dtype="datetime64[us]"),
                np.asarray(mine["shown"], dtype="datetime64[us]"),
                np.asarray(mine["look"], dtype=np.float64),
                latitude=latitude,
                longitude=longitude,
                zone=zone,
                flash=np.asarray(mine["flash"], dtype=np.float64) if "flash" in mine else None,
                breaks=(breaks or {}).get(str(camera)),
            )
        )
    return verdicts


def judge_clock(
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
) -> ClockVerdict:
    """Hold the looks of one camera against the sun.

    Parameters
    ----------
    camera
        Name, for the result.
    stated_utc
        Instants of the photos if the clock is right (with what clock.csv says already applied),
        shape (n,), UTC (naive ``datetime64``), in any order; photos with NaT are not used.
    shown
        What the camera showed, naive, shape (n,); for the bounds in ``clock.csv``.
    look
        0 for grey to 1 for coloured, NaN where unknown, shape (n,).
    latitude, longitude
        Of the camera, in degrees.
    zone
        IANA name: the nights on which local time is moved are where a fault may well begin.
    flash
        1 if the flash fired, 0 if not, NaN where unknown, shape (n,): stands in for an unknown
        look where the camera's flash does change (a flash that always fires tells nothing).
    breaks
        Instants between photos at which someone was at the camera (card checks, battery changes),
        UTC. Gaps of days are found here.
    """
    times = np.asarray(stated_utc, dtype="datetime64[us]")
    wall = np.asarray(shown, dtype="datetime64[us]")
    known = _known_look(np.asarray(look, dtype=np.float64), flash)
    usable = ~np.isnan(known) & ~np.isnat(times) & ~np.isnat(wall)
    picked = _one_a_moment(times, known, usable)
    coloured = known[picked] > 0.5
    verdict = ClockVerdict(
        camera=camera,
        n_photos=len(times),
        n_unknown=int((~usable).sum()),
        n_looks=len(picked),
        not_told=_too_little(coloured),
    )
    if verdict.not_told:
        return verdict
    looks = looks_in_the_sun(times[picked], coloured, latitude, longitude)
    blocks = record_blocks(times[picked], zone, breaks)
    record = LightRecord(camera, looks, wall[picked], blocks, zone)
    return replace(
        verdict,
        p_fault=float(record.path.p_fault.max()),
        threshold_deg=record.threshold_deg,
        faults=tuple(record.faults()),
    )


def _known_look(look: Floats, flash: npt.ArrayLike | None) -> Floats:
    """Looks with the flash in place of those unknown, NaN for those in between."""
    known = look.copy()
    known[(known > UNSURE_LOOK[0]) & (known < UNSURE_LOOK[1])] = np.nan
    if flash is not None:
        fired = np.asarray(flash, dtype=np.float64)
        if np.nanmin(fired, initial=1.0) < np.nanmax(fired, initial=0.0):
            known = np.where(np.isnan(look), 1.0 - fired, known)
    return known


def _one_a_moment(times: Instants, known: Floats, usable: npt.NDArray[np.bool_]) -> Ints:
    """Places of the first picture of each look in each ten minutes, in order of time."""
    places = np.flatnonzero(usable)
    places = places[np.argsort(times[places], kind="stable")]
    if len(places) == 0:
        return places
    moment = (times[places] - times[places[0]]) // np.timedelta64(SAME_LIGHT_MINUTES, "m")
    key = moment.astype(np.int64) * 2 + (known[places] > 0.5)
    _, first = np.unique(key, return_index=True)
    return np.asarray(places[np.sort(first)])


def _too_little(coloured: npt.NDArray[np.bool_]) -> str:
    n, day = len(coloured), int(coloured.sum())
    if n < FEWEST_LOOKS:
        return f"only {n} pictures whose day or night look is known"
    if day < FEWEST_OF_EACH or n - day < FEWEST_OF_EACH:
        return f"{day} coloured and {n - day} grey pictures: the look does not tell day from night"
    return ""
