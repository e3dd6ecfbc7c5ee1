"""cameras.csv: which camera stood where, and when."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, time, timedelta
from functools import partial
from itertools import groupby
from pathlib import Path
from statistics import median

import pandas as pd

from deerlog.errors import Problem
from deerlog.property.cell_values import (
    CellError,
    one_of,
    parse_folder_name,
    parse_name,
    parse_number,
    parse_yes_no,
)
from deerlog.property.coordinates import FAR_FROM_PROPERTY_M, SITE_SPREAD_M, distance_m, far_away
from deerlog.property.day_and_time import Moment, parse_moment
from deerlog.property.matching import fold_name
from deerlog.property.settings import FILE as SETTINGS_FILE
from deerlog.property.settings import Settings, zone_doubt
from deerlog.property.table_rows import Column, Faults, Record, dtypes_of, frame_of, read_rows

_FIXED = re.compile(r"(?:utc|gmt)(?:([+-])([0-9]{1,2})(?::?([0-9]{2}))?)?")


def parse_clock(text: str) -> str:
    """Read ``local`` or a fixed offset; returns ``local``, ``UTC``, ``UTC-5`` or ``UTC+5:30``."""
    word = "".join(text.split()).casefold().replace("\u2212", "-").replace("\u2013", "-")
    if word == "local":
        return "local"
    match = _FIXED.fullmatch(word)
    if not match:
        raise CellError(
            f"{text!r} is not a clock.",
            how="Leave it blank or write local if it changes to daylight-saving time, by itself or "
            "by hand; or, if it never changes, the offset it was set by: set in summer time in "
            "Central that is UTC-5, in winter UTC-6.",
        )
    offset = _offset(match)
    minutes = abs(offset) % 60
    if minutes % 15 or int(match[3] or 0) > 45 or not -12 * 60 <= offset <= 14 * 60:
        raise CellError(
            f"{text!r} is an offset no place has.", how="Offsets run from UTC-12 to UTC+14."
        )
    if offset == 0:
        return "UTC"
    return f"UTC{match[1]}{abs(offset) // 60}" + (f":{minutes:02d}" if minutes else "")


def _offset(match: re.Match[str]) -> int:
    minutes = int(match[2] or 0) * 60 + int(match[3] or 0)
    return -minutes if match[1] == "-" else minutes


def clock_offset_minutes(clock: str) -> int | None:
    """Minutes east of UTC that a camera's clock (of its placement) keeps; None for ``local``."""
    match = _FIXED.fullmatch(clock.casefold())
    return _offset(match) if match else None


_ROWS_NAMED = 3


def property_astray(far: Sequence[Record], n_rows: int, settings: Settings) -> Problem | None:
    """The problem that the coordinates of property.toml are wrong rather than those of cameras.

    So it is where more than half of the ``n_rows`` rows of cameras.csv are ``far`` from the
    property and lie together, and either their longitude fits the time zone and the property's does
    not, or both fit (or neither does) and there are at least two of them.
    """
    if 2 * len(far) <= n_rows:
        return None
    latitude = median(record["latitude"] for record in far)
    longitude = median(record["longitude"] for record in far)
    apart = [
        float(distance_m(latitude, longitude, record["latitude"], record["longitude"]))
        for record in far
    ]
    if max(apart) > FAR_FROM_PROPERTY_M:
        return None
    property_fits = zone_doubt(settings.longitude, settings.timezone) is None
    cameras_fit = zone_doubt(longitude, settings.timezone) is None
    if cameras_fit < property_fits or (cameras_fit == property_fits and len(far) < 2):
        return None
    off_km = float(distance_m(latitude, longitude, settings.latitude, settings.longitude)) / 1000
    named = ", ".join(str(record["row"]) for record in far[:_ROWS_NAMED])
    named += ", ..." if len(far) > _ROWS_NAMED else ""
    zone = "" if property_fits else f", nor is it in the time zone {settings.timezone}"
    which = (
        f"row {named} of cameras.csv puts its camera"
        if len(far) == 1
        else f"{len(far)} of {n_rows} rows of cameras.csv (rows {named}) put their cameras"
    )
    return Problem(
        kind="property-far-away",
        file=SETTINGS_FILE,
        column="latitude, longitude",
        value=f"{settings.latitude:g}, {settings.longitude:g}",
        why=f"This is {off_km:,.0f} km from where {which}{zone}. So it is taken to be wrong here. "
        f"Until it is mended {'that row is' if len(far) == 1 else 'those rows are'} left out.",
        how=f"Write latitude = {latitude:.3f} and longitude = {longitude:.3f}, which is about the "
        "middle of the cameras.",
    )


SETTINGS = ("food", "bed", "travel", "water", "scrape", "other")
"""What a site is."""

COLUMNS = (
    Column(name="camera", parse=parse_folder_name),
    Column(name="site", parse=parse_name),
    Column(name="setting", parse=one_of(SETTINGS), blank="other", unreadable="other",
           stand_in="other"),
    *(Column(name=name, parse=partial(parse_number, low=-most, high=most), number=True,
             dtype="float64") for name, most in (("latitude", 90), ("longitude", 180))),
    Column(name="start", parse=parse_moment, date=True, dtype="datetime64[us]"),
    Column(name="end", parse=parse_moment, blank=None, date=True, dtype="datetime64[us]"),
    Column(name="clock", parse=parse_clock, blank="local"),
    Column(name="bait", parse=parse_yes_no, blank=False, unreadable=False, stand_in="no",
           dtype="bool"),
    Column(name="notes", parse=str, blank=""),
)  # fmt: skip

DTYPES = dtypes_of(COLUMNS)

FILE = "cameras.csv"


def read_cameras(path: Path, settings: Settings) -> tuple[pd.DataFrame, Faults]:
    """Read the placements, one a row, in file order with the columns of `DTYPES`.

    ``start`` is inclusive, ``end`` exclusive (NaT: still there), both naive local. A bare day is
    that whole day; a day that ends one placement of a camera and starts its next is split at noon,
    or at the time given on either side. Placements of one camera never overlap here. Problems are
    rows left out or shortened, and cells taken as something else. Raises `PropertyError` where the
    file is missing or has no usable header.
    """
    records, faults = read_rows(path, COLUMNS, date_order=settings.date_order)
    home = (settings.latitude, settings.longitude)
    far = [r for r in records if far_away(r["latitude"], r["longitude"], *home)]
    astray = property_astray(far, len(records), settings)
    if astray:
        faults.append(astray)
        records = [r for r in records if r not in far]
    records = [r for r in records if _plausible(r, settings, faults)]
    for record in records:
        record["start_moment"], record["end_moment"] = record["start"], record["end"]
    for column in ("camera", "site"):
        # Names that differ in capitals or spaces only take the spelling of the first row.
        spelling: dict[str, str] = {}
        for record in records:
            record[column] = spelling.setdefault(fold_name(record[column]), record[column])
    kept: list[Record] = []
    records.sort(key=lambda r: (r["camera"], r["start"].time, r["row"]))
    for _, group in groupby(records, key=lambda r: r["camera"]):
        kept.extend(_settle(list(group), faults))
    kept.sort(key=lambda r: r["row"])
    _tell_moved_sites(kept, faults)
    return frame_of(kept, DTYPES), faults


def rows_left_out(
    placements: pd.DataFrame, faults: Faults
) -> tuple[dict[str, tuple[int, ...]], dict[str, tuple[int, ...]]]:
    """Rows of the file that gave `read_cameras` no placement: by camera, and by site."""
    by_name: tuple[dict[str, tuple[int, ...]], dict[str, tuple[int, ...]]] = ({}, {})
    for row, *names in faults.unused(placements["row"], "camera", "site"):
        for rows, name in zip(by_name, names, strict=True):
            if name:
                rows[name] = (*rows.get(name, ()), row)
    return by_name


def _plausible(record: Record, settings: Settings, faults: Faults) -> bool:
    """Whether a row can be used by itself."""
    start, end = record["start"], record["end"]
    backwards = end and end.ends <= start.time
    if backwards:
        why = "The placement ends before it starts; the row is left out."
        how = "Correct start or end; leave end blank while the camera still stands there."
        faults.add("camera-end", record, "end", why, how, _shown(end))
    far = far_away(record["latitude"], record["longitude"], settings.latitude, settings.longitude)
    if far:
        why = f"{far[0]} The row is left out."
        faults.add("far-away", record, "latitude, longitude", why, far[1], _position(record))
    return not (backwards or far)


def _position(record: Record) -> str:
    return f"{record['latitude']:g}, {record['longitude']:g}"


def _settle(group: list[Record], faults: Faults) -> list[Record]:
    """Placements of one camera, in order of start, made to follow each other.

    A day shared by three placements can leave no time for one between; it is dropped and the rest
    settled afresh, so that its neighbours get the day.
    """
    while True:
        kept, overlaps = _chain(group, faults.file)
        squeezed = [r for r in kept if r["end"] is not None and r["end"] <= r["start"]]
        if not squeezed:
            faults.extend(overlaps)
            return kept
        group = [record for record in group if record["row"] != squeezed[0]["row"]]
        why = (
            f"Camera {squeezed[0]['camera']} was moved more than once on this day, which leaves no "
            "time for this row; it is left out."
        )
        how = "Give the times of the moves in start and end: YYYY-MM-DD HH:MM."
        day = _shown(squeezed[0]["start_moment"])
        faults.add("camera-overlap", squeezed[0], "start", why, how, day)


def _chain(group: list[Record], file: str) -> tuple[list[Record], Faults]:
    """One pass over the placements of a camera; some may come out with no time left."""
    kept: list[Record] = []
    overlaps = Faults(file)
    for record in group:
        record["start"] = record["start_moment"].time
        record["end"] = record["end_moment"].ends if record["end_moment"] else None
        if kept:
            before = kept[-1]
            _share_day(before, record)
            if before["end"] is None or before["end"] > record["start"]:
                _tell_overlap(before, record, overlaps)
                if record["start"] <= before["start"]:
                    continue
                before["end"] = record["start"]
        kept.append(record)
    return kept, overlaps


def _share_day(before: Record, after: Record) -> None:
    """Split a day on which one placement ends and the next starts."""
    end, start = before["end_moment"], after["start_moment"]
    if end is None or end.time.date() != start.time.date():
        return
    if end.whole_day and start.whole_day:
        noon = datetime.combine(start.time.date(), time(12))
        before["end"] = after["start"] = noon
    elif end.whole_day:
        before["end"] = after["start"]
    elif start.whole_day:
        after["start"] = before["end"]


def _tell_overlap(before: Record, after: Record, faults: Faults) -> None:
    end, rows = before["end"], (f"row {before['row']}", f"row {after['row']}")
    until = "no end" if end is None else f"to {(end - timedelta(microseconds=1)).date()}"
    outcome = (
        f"{rows[1].capitalize()} is left out."
        if after["start"] <= before["start"]
        else f"{rows[0].capitalize()} is taken to end where {rows[1]} starts."
    )
    why = (
        f"Camera {after['camera']} would be in two places: at {before['site']} on {rows[0]} "
        f"(from {before['start'].date()}, {until}) and at {after['site']} on {rows[1]} "
        f"(from {after['start'].date()}). {outcome}"
    )
    how = (
        f"Give {rows[0]} the day the camera was taken down as its end, or correct the camera's "
        "name."
    )
    faults.add("camera-overlap", after, "start", why, how, _shown(after["start_moment"]))


def _shown(moment: Moment) -> str:
    return str(moment.time.date() if moment.whole_day else moment.time)


def _tell_moved_sites(records: list[Record], faults: Faults) -> None:
    """Sites whose rows put them at clearly different spots; the rows are used as they are."""
    first: dict[str, Record] = {}
    for record in records:
        home = first.setdefault(record["site"], record)
        apart_m = float(
            distance_m(home["latitude"], home["longitude"], record["latitude"], record["longitude"])
        )
        if apart_m > SITE_SPREAD_M:
            why = f"Site {record['site']} is {apart_m:,.0f} m from where row {home['row']} puts it."
            how = "Correct the coordinates, or give the spot a site name of its own."
            faults.add("site-moved", record, "latitude, longitude", why, how, _position(record))
