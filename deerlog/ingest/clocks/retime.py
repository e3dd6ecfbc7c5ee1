"""What cameras showed, to instants: clock.csv, fixed clocks, stated offsets, doubled hours.

In order of precedence for each photo:

1. A row of clock.csv that applies to it (by ``from`` and ``to``, in shown time): the user saw the
   clock wrong, so what the camera states about its offset is not asked.
2. A fixed ``clock`` of its placement in cameras.csv, such as ``UTC-5``.
3. The offset the camera stated beside the time (OffsetTimeOriginal), where it is one that the
   property's zone uses in that year. Any other is a factory setting, and is reported, not used.
4. Local time of the property's zone, with its daylight-saving changes.

And which of them cannot be true: no photo is of before or after all belief.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.ingest.clocks.look_model import Instants
from deerlog.property import Property
from deerlog.property.cameras import clock_offset_minutes
from deerlog.property.placements import nearest_placement
from deerlog.timekeeping.zones import localize

EARLIEST = np.datetime64("2005-01-01", "us")
"""No trail camera's clock is right before this; our choice, from the design of the tables."""
BEFORE_2005 = "time before 2005"
IN_THE_FUTURE = "time in the future"


def excluded_times(wall: npt.NDArray[np.datetime64], read_on: pd.Series) -> npt.NDArray[np.object_]:
    """Why a local time (naive) cannot be true: `BEFORE_2005`, `IN_THE_FUTURE` or ``""``.

    Nothing is photographed after the day it was read, ``read_on``; a day is allowed for time zones
    and for clocks somewhat ahead. All of shape (n,).
    """
    excluded = np.full(len(wall), "", dtype=object)
    latest = pd.DatetimeIndex(np.asarray(read_on, dtype="datetime64[us]")) + pd.Timedelta(days=2)
    excluded[wall >= latest.to_numpy()] = IN_THE_FUTURE
    excluded[wall < EARLIEST] = BEFORE_2005
    return excluded


@dataclass(frozen=True)
class CorrectedTimes:
    """Instants of photos (``utc``, naive ``datetime64[us]``), and what is in doubt about them.

    Each of shape (n,). ``fault``: ``""``; ``twice`` (the hour when clocks go back; the first
    reading is taken) or ``never`` (the hour skipped in spring; moved forward). ``by_row``: whether
    clock.csv set the time. ``foreign_offset``: whether the camera stated an offset that the zone
    does not use.
    """

    utc: Instants
    fault: npt.NDArray[np.str_]
    by_row: npt.NDArray[np.bool_]
    foreign_offset: npt.NDArray[np.bool_]


def corrected_times(
    camera: npt.NDArray[np.object_],
    shown: Instants,
    offset_minutes: npt.NDArray[np.float64],
    placements: pd.DataFrame,
    clock_readings: pd.DataFrame,
    zone: str,
) -> CorrectedTimes:
    """Instants of photos from what their cameras showed.

    ``camera``, ``shown``, ``offset_minutes`` have shape (n,): camera, what its clock showed
    (naive), and the offset it stated, minutes east of UTC (NaN: none). ``placements`` and
    ``clock_readings`` are as in `Property`; ``zone`` is the IANA name of its time.
    """
    n = len(shown)
    wall = np.array(shown, dtype="datetime64[us]")
    by_row = np.zeros(n, dtype=bool)
    fixed = np.full(n, np.nan)
    for name, mine in pd.Series(camera).groupby(camera).indices.items():
        placed = placements[placements["camera"] == name]
        readings = clock_readings[clock_readings["camera"] == name]
        if len(readings):
            shift, by_row[mine] = clock_shift(wall[mine], readings, placed, zone)
            wall[mine] += shift
        offsets = _clock_offsets(placed)
        if not np.isnan(offsets).all():
            fixed[mine] = offsets[nearest_placement(wall[mine], placed)]
    stated = np.where(by_row | ~np.isnan(fixed), np.nan, np.asarray(offset_minutes, dtype=float))
    foreign = ~np.isnan(stated) & ~_used_in_zone(stated, wall, zone)
    stated[foreign] = np.nan
    offset = np.where(np.isnan(fixed), stated, fixed)
    by_zone = np.isnan(offset)

    utc = wall.copy()
    fault = np.full(n, "", dtype="<U5")
    utc[~by_zone] -= (offset[~by_zone] * 60e6).astype("timedelta64[us]")
    instants, fault[by_zone] = localize(wall[by_zone], zone)
    utc[by_zone] = np.asarray(instants.tz_localize(None), dtype="datetime64[us]")
    return CorrectedTimes(utc=utc, fault=fault, by_row=by_row, foreign_offset=foreign)


def clock_shift(
    shown: Instants, readings: pd.DataFrame, placed: pd.DataFrame, zone: str
) -> tuple[npt.NDArray[np.timedelta64], npt.NDArray[np.bool_]]:
    """What to add to the shown times of one camera, and which a row of clock.csv applies to.

    One row shifts by ``actual - shown``. Where several with the same bounds apply to a photo, the
    shift runs straight from one reading to the next, and stays as at the first before it and as at
    the last after it. Of rows with different bounds the narrowest apply alone: a row for the week
    after a reset does not mix with one for the whole year.
    On a camera whose clock is fixed, ``actual`` is first put into that clock's time, so that the
    result is what that clock should have shown.

    ``shown`` is naive, shape (n,); ``readings`` and ``placed`` are the camera's rows of
    `Property.clock_readings` and of `Property.placements`; ``actual`` is given in ``zone``.
    """
    seen = np.asarray(readings["shown"], dtype="datetime64[us]")
    actual = _in_camera_clock(np.asarray(readings["actual"], dtype="datetime64[us]"), placed, zone)
    shift_us = (actual - seen).astype(np.int64)
    first, last = pd.Timestamp("0001-01-01"), pd.Timestamp("9999-12-31")
    opens = np.asarray(readings["valid_from"].fillna(first), dtype="datetime64[us]")
    closes = np.asarray(readings["valid_to"].fillna(last), dtype="datetime64[us]")

    total = np.zeros(len(shown), dtype="timedelta64[us]")
    applies = np.zeros(len(shown), dtype=bool)
    edges = np.unique(np.concatenate([opens, closes]))
    for first, after in pairwise(edges):
        rows = np.flatnonzero((opens <= first) & (after <= closes))
        inside = (shown >= first) & (shown < after)
        if not len(rows) or not inside.any():
            continue
        narrowest = rows[np.argmin(closes[rows] - opens[rows])]
        rows = rows[(opens[rows] == opens[narrowest]) & (closes[rows] == closes[narrowest])]
        rows = rows[np.argsort(seen[rows], kind="stable")]
        at = (shown[inside] - seen[rows[0]]).astype(np.int64)
        knots = (seen[rows] - seen[rows[0]]).astype(np.int64)
        shift = np.interp(at, knots, shift_us[rows])
        total[inside] = np.rint(shift).astype(np.int64).astype("timedelta64[us]")
        applies |= inside
    return total, applies


def seen_right(photos: pd.DataFrame, place: Property) -> bool:
    """Whether a row of clock.csv says that a clock was right over some photos of one camera.

    It shows no shift, was read from the first to the last of them, and applies to all.
    """
    camera, shown = photos["camera"].iloc[0], photos["shown"]
    rows = place.clock_readings[place.clock_readings["camera"] == camera]
    placed = place.placements[place.placements["camera"] == camera]
    actual = np.asarray(rows["actual"], dtype="datetime64[us]")
    actual = _in_camera_clock(actual, placed, place.settings.timezone)
    first, last = shown.min(), shown.max()
    says = (actual == rows["shown"].to_numpy()) & rows["shown"].between(first, last)
    says &= ~(rows["valid_from"] > first) & ~(rows["valid_to"] <= last)
    return bool(says.any())


def _in_camera_clock(actual: Instants, placed: pd.DataFrame, zone: str) -> Instants:
    """Real local times as the camera's own clock, set right, would show them."""
    offsets = _clock_offsets(placed)
    if np.isnan(offsets).all():
        return actual
    offsets = offsets[nearest_placement(actual, placed)]
    fixed = ~np.isnan(offsets)
    utc, _ = localize(actual[fixed], zone)
    result = actual.copy()
    result[fixed] = np.asarray(utc.tz_localize(None), dtype="datetime64[us]")
    result[fixed] += (offsets[fixed] * 60e6).astype("timedelta64[us]")
    return result


def _clock_offsets(placed: pd.DataFrame) -> npt.NDArray[np.float64]:
    """Minutes east of UTC of each placement's clock, NaN for local time."""
    offsets = [clock_offset_minutes(clock) for clock in placed["clock"]]
    return np.array([np.nan if offset is None else offset for offset in offsets], dtype=float)


def _used_in_zone(
    offset_minutes: npt.NDArray[np.float64], wall: Instants, zone: str
) -> npt.NDArray[np.bool_]:
    """Whether a zone uses an offset, in winter or summer of the year of each time."""
    used = np.zeros(len(wall), dtype=bool)
    stated = ~np.isnan(offset_minutes)
    years = wall.astype("datetime64[Y]").astype(np.int64) + 1970
    for year in np.unique(years[stated]):
        start = pd.Timestamp(year=min(max(int(year), 1970), 2100), month=1, day=1, hour=12)
        noons = pd.date_range(start, periods=12, freq="MS", tz=zone)
        minutes = [(noon.utcoffset() or timedelta()).total_seconds() / 60 for noon in noons]
        this = stated & (years == year)
        used[this] = np.isin(offset_minutes[this], minutes)
    return used
