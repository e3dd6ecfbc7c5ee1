"""Times that cannot be true, whatever the camera: no photo is of before or after all belief.

What cameras showed, to instants: clock.csv, fixed clocks, stated offsets, doubled hours.

In order of precedence for each photo:

1. A row of clock.csv that applies to it (by ``from`` and ``to``, in shown time): the user saw the
   clock wrong, so what the camera states about its offset is not asked.
2. A fixed ``clock`` of its placement in cameras.csv, such as ``UTC-5``.
3. The offset the camera stated beside the time (OffsetTimeOriginal), where it is one that the
   property's zone uses in that year. Any other is a factory setting, and is reported, not used.
4. Local time of the property's zone, with its daylight-saving changes.

A row of clock.csv: what it would move, and how it is written.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.property.cameras import clock_offset_minutes
from deerlog.property.cell_values import csv_line
from deerlog.property.placements import nearest_placement
from deerlog.timekeeping.zones import localize

EARLIEST = np.datetime64("2005-01-01", "us")
"""No trail camera's clock is right before this; our choice, from the design of the tables."""
BEFORE_2005 = "time before 2005"
IN_THE_FUTURE = "time in the future"


def excluded_times(wall: npt.NDArray[np.datetime64], read_on: pd.Series) -> npt.NDArray[np.object_]:
    """Why a time cannot be true: nothing is photographed after the day it was read.

    A day is allowed for time zones and for clocks somewhat ahead.

    Parameters
    ----------
    wall
        Naive local times, shape (n,).
    read_on
        Day each file was read, length n.

    Returns
    -------
    array of object
        Shape (n,): `BEFORE_2005`, `IN_THE_FUTURE` or ``""``.
    """
    excluded = np.full(len(wall), "", dtype=object)
    latest = np.asarray(read_on, dtype="datetime64[us]") + np.timedelta64(2, "D").astype(
        "timedelta64[us]"
    )
    excluded[wall >= latest] = IN_THE_FUTURE
    excluded[wall < EARLIEST] = BEFORE_2005
    return excluded


Times = npt.NDArray[np.datetime64]
_MINUTE = np.timedelta64(60_000_000, "us")


@dataclass(frozen=True)
class CorrectedTimes:
    """Instants of photos, and what is in doubt about them.

    Attributes
    ----------
    utc
        Shape (n,), ``datetime64[us]``, UTC (naive).
    fault
        Shape (n,): ``""``; ``twice`` (the hour when clocks go back; the first reading is taken)
        or ``never`` (the hour skipped in spring; moved forward).
    by_row
        Shape (n,): whether clock.csv set the time.
    foreign_offset
        Shape (n,): whether the camera stated an offset that the zone does not use.
    """

    utc: Times
    fault: npt.NDArray[np.str_]
    by_row: npt.NDArray[np.bool_]
    foreign_offset: npt.NDArray[np.bool_]


def corrected_times(
    camera: npt.NDArray[np.object_],
    shown: Times,
    offset_minutes: npt.NDArray[np.float64],
    placements: pd.DataFrame,
    clock_readings: pd.DataFrame,
    zone: str,
) -> CorrectedTimes:
    """Instants of photos from what their cameras showed.

    Parameters
    ----------
    camera, shown, offset_minutes
        Shape (n,): camera, what its clock showed (naive), and the offset it stated, minutes east
        of UTC (NaN: none).
    placements, clock_readings
        As in `Property`.
    zone
        IANA name of the property's time.
    """
    n = len(shown)
    wall = np.asarray(shown, dtype="datetime64[us]").copy()
    by_row = np.zeros(n, dtype=bool)
    fixed = np.full(n, np.nan)
    names, code = np.unique(np.asarray(camera, dtype=str), return_inverse=True)
    order = np.argsort(code, kind="stable")
    bounds = np.searchsorted(code[order], np.arange(len(names) + 1))
    for i, name in enumerate(names):
        mine = order[bounds[i] : bounds[i + 1]]
        placed = placements[placements["camera"] == name]
        readings = clock_readings[clock_readings["camera"] == name]
        if len(readings):
            shift, applies = clock_shift(wall[mine], readings, placed, zone)
            by_row[mine] = applies
            wall[mine] += shift
        if len(placed):
            offsets = _clock_offsets(placed)
            if not np.isnan(offsets).all():
                nearest = nearest_placement(wall[mine], placed)
                fixed[mine] = offsets[nearest]
    stated = np.where(by_row | ~np.isnan(fixed), np.nan, np.asarray(offset_minutes, dtype=float))
    foreign = ~np.isnan(stated) & ~_used_in_zone(stated, wall, zone)
    stated[foreign] = np.nan
    offset = np.where(np.isnan(fixed), stated, fixed)
    by_offset = ~np.isnan(offset)

    utc = wall.copy()
    fault = np.full(n, "", dtype="<U5")
    utc[by_offset] -= (offset[by_offset] * 60e6).astype("timedelta64[us]")
    by_zone = ~by_offset
    instants, fault[by_zone] = localize(wall[by_zone], zone)
    utc[by_zone] = np.asarray(instants.tz_localize(None), dtype="datetime64[us]")
    return CorrectedTimes(utc=utc, fault=fault, by_row=by_row, foreign_offset=foreign)


def clock_shift(
    shown: Times, readings: pd.DataFrame, placed: pd.DataFrame, zone: str
) -> tuple[npt.NDArray[np.timedelta64], npt.NDArray[np.bool_]]:
    """What to add to the shown times of one camera, and which a row of clock.csv applies to.

    One row shifts by ``actual - shown``. Where several with the same bounds apply to a photo, the
    shift runs straight from one reading to the next, and stays as at the first before it and as at
    the last after it. Of rows with different bounds the narrowest apply alone: a row for the week
    after a reset does not mix with one for the whole year.
    On a camera whose clock is fixed, ``actual`` is first put into that clock's time, so that the
    result is what that clock should have shown.

    Parameters
    ----------
    shown
        Shape (n,), naive.
    readings
        The camera's rows of `Property.clock_readings`.
    placed
        Its rows of `Property.placements`.
    zone
        IANA name of the property's time, in which ``actual`` is given.
    """
    seen = np.asarray(readings["shown"], dtype="datetime64[us]")
    actual = _in_camera_clock(np.asarray(readings["actual"], dtype="datetime64[us]"), placed, zone)
    shift_us = (actual - seen).astype(np.int64)
    opens = np.asarray(readings["valid_from"], dtype="datetime64[us]")
    closes = np.asarray(readings["valid_to"], dtype="datetime64[us]")
    opens = np.where(np.isnat(opens), np.datetime64("0001-01-01", "us"), opens)
    closes = np.where(np.isnat(closes), np.datetime64("9999-12-31", "us"), closes)

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


def _in_camera_clock(actual: Times, placed: pd.DataFrame, zone: str) -> Times:
    """Real local times as the camera's own clock, set right, would show them."""
    if not len(placed):
        return actual
    offsets = _clock_offsets(placed)[nearest_placement(actual, placed)]
    fixed = ~np.isnan(offsets)
    if not fixed.any():
        return actual
    utc, _ = localize(actual[fixed], zone)
    result = actual.copy()
    result[fixed] = np.asarray(utc.tz_localize(None), dtype="datetime64[us]") + (
        offsets[fixed] * 60e6
    ).astype("timedelta64[us]")
    return result


def _clock_offsets(placed: pd.DataFrame) -> npt.NDArray[np.float64]:
    """Minutes east of UTC of each placement's clock, NaN for local time."""
    offsets = [clock_offset_minutes(clock) for clock in placed["clock"]]
    return np.array([np.nan if offset is None else offset for offset in offsets], dtype=float)


def _used_in_zone(
    offset_minutes: npt.NDArray[np.float64], wall: Times, zone: str
) -> npt.NDArray[np.bool_]:
    """Whether a zone uses an offset, in winter or summer of the year of each time."""
    used = np.zeros(len(wall), dtype=bool)
    stated = ~np.isnan(offset_minutes)
    years = wall.astype("datetime64[Y]").astype(np.int64) + 1970
    for year in np.unique(years[stated]):
        this = stated & (years == year)
        used[this] = np.isin(offset_minutes[this], list(_zone_offsets(zone, int(year))))
    return used


def _zone_offsets(zone: str, year: int) -> set[float]:
    tz = ZoneInfo(zone)
    year = min(max(year, 1970), 2100)
    offsets = (datetime(year, month, 1, 12, tzinfo=tz).utcoffset() for month in range(1, 13))
    return {offset.total_seconds() / 60 for offset in offsets if offset is not None}


ACTUAL = "<real local time>"
SHOWN = "<what it showed>"
_SECOND = np.timedelta64(1_000_000, "us")
_FIRST, _LAST = np.datetime64("0001-01-01", "us"), np.datetime64("9999-12-31", "us")


@dataclass(frozen=True)
class RunBounds:
    """A run of photos as clock.csv can name it, by what the camera showed (naive).

    Attributes
    ----------
    shown
        At the first photo of the run.
    opens, closes
        Half-open bounds, from the earliest photo of the run to a second after the latest.
    n_others
        Other photos of the camera within them, which a row would move too.
    instead_of
        Rows of clock.csv (line numbers) that would have a say in it before a new one.
    """

    shown: np.datetime64
    opens: np.datetime64
    closes: np.datetime64
    n_others: int
    instead_of: tuple[int, ...]


def run_bounds(run: pd.DataFrame, photos: pd.DataFrame, readings: pd.DataFrame) -> RunBounds:
    """What a row of clock.csv for a run of photos would name.

    Parameters
    ----------
    run
        The photos, all of one camera, in order of their numbers: rows of ``photos``.
    photos
        Of `deerlog.ingest.field_log.logged_photos`: all of them.
    readings
        `Property.clock_readings`.
    """
    shown = np.asarray(run["shown"], dtype="datetime64[us]")
    opens, closes = shown.min(), shown.max() + _SECOND
    camera = str(run["camera"].iloc[0])
    within = (photos["shown"] >= opens) & (photos["shown"] < closes)
    others = photos[(photos["camera"] == camera) & photos["same_as"].isna() & within]
    return RunBounds(
        shown=shown[0],
        opens=opens,
        closes=closes,
        n_others=int((~others.index.isin(run.index)).sum()),
        instead_of=rows_before(readings, camera, opens, closes),
    )


def rows_before(
    readings: pd.DataFrame, camera: str, opens: np.datetime64, closes: np.datetime64
) -> tuple[int, ...]:
    """Line numbers of a camera's rows in clock.csv that a new row would not overrule.

    Of rows that apply to a photo the one with the narrowest bounds counts alone (see
    `deerlog.ingest.clocks.retime.clock_shift`), so that a wider row may stay where it is.

    Parameters
    ----------
    opens, closes
        Bounds of the new row, NaT for none.
    """
    mine = readings[readings["camera"] == camera]
    first = mine["valid_from"].fillna(pd.Timestamp(_FIRST))
    after = mine["valid_to"].fillna(pd.Timestamp(_LAST))
    low = pd.Timestamp(_FIRST if np.isnat(opens) else opens)
    high = pd.Timestamp(_LAST if np.isnat(closes) else closes)
    before = (first < high) & (after > low) & (after - first <= high - low)
    return tuple(int(row) for row in mine.loc[before, "row"])


def clock_row(
    camera: str,
    *,
    shown: np.datetime64 | None = None,
    actual: np.datetime64 | None = None,
    opens: np.datetime64 | None = None,
    closes: np.datetime64 | None = None,
) -> str:
    """A line of clock.csv; what only a person can know in ``<>``."""
    return csv_line(
        camera,
        minute_text(shown) or SHOWN,
        minute_text(actual) or ACTUAL,
        minute_text(opens),
        minute_text(closes),
    )


def minute_text(moment: np.datetime64 | None) -> str:
    """``2024-11-03 02:00``, seconds only where there are any; blank for none and NaT."""
    if moment is None or np.isnat(moment):
        return ""
    stamp = pd.Timestamp(moment)
    return stamp.strftime("%Y-%m-%d %H:%M:%S" if stamp.second else "%Y-%m-%d %H:%M")
