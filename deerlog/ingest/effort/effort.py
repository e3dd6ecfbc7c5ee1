"""Camera-days: when each camera was really running.

Silent stretches in words, with the row that says the camera ran.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.effort.silence import NEIGHBOUR_DAYS, silent_stretches
from deerlog.property import Property
from deerlog.property.cell_values import counted, csv_line
from deerlog.property.placements import placement_ends
from deerlog.timekeeping.zones import localize

Times = npt.NDArray[np.datetime64]
Interval = tuple[np.datetime64, np.datetime64]
_DAY = np.timedelta64(1, "D")


@dataclass(frozen=True)
class FoundSilence:
    """A silence of a camera at its site.

    Attributes
    ----------
    camera, site
        Which.
    start, end
        Half-open, naive local time.
    expected_visits
        Visits of any kind that the camera's own rate would have given in it.
    log10_p
        Common logarithm of the probability of a silence so long while the camera ran.
    """

    camera: str
    site: str
    start: np.datetime64
    end: np.datetime64
    expected_visits: float
    log10_p: float


@dataclass(frozen=True)
class Effort:
    """What ran.

    Attributes
    ----------
    camera_days
        ``camera, site, day`` (naive midnight), ``camera_day`` (0 to 1): a row for each day of each
        placement, up to the camera's last proof of life.
    stretches
        ``placement`` (row number in `Property.placements`), ``start, end`` (naive local): the
        stretches that make up the camera-days.
    silent
        ``camera, site, start, end`` (naive local), ``status``: ``silent`` (found here, counted as
        not watched), ``running`` (found here, overruled by outages.csv), ``down`` (outages.csv).
    found
        Every silence found here that outages.csv says nothing of.
    """

    camera_days: pd.DataFrame
    stretches: pd.DataFrame
    silent: pd.DataFrame
    found: tuple[FoundSilence, ...]


def camera_effort(photos: pd.DataFrame, place: Property) -> Effort:
    """Camera-days of every placement.

    They run from its start to its end, but not beyond the camera's last proof of life: a photo of
    any kind, or a reading in clock.csv. A proof after its end shows that it ran to the end. Inside,
    silent stretches (see `silence.py`) count as not watched, and outages.csv overrules both ways,
    also beyond the last proof. When a card was pulled is not known from the card, so that is no
    proof by itself.

    Parameters
    ----------
    photos
        Of `deerlog.ingest.field_log.logged_photos`.
    """
    zone = place.settings.timezone
    true = photos[(photos["excluded"] == "") & photos["same_as"].isna()]
    local = np.asarray(true["local"].dt.tz_localize(None), dtype="datetime64[us]")
    utc = np.asarray(true["time"].dt.tz_localize(None), dtype="datetime64[us]")
    camera = true["camera"].to_numpy(dtype=object)
    readings = place.clock_readings
    days: list[pd.DataFrame] = []
    ran: list[tuple[int, np.datetime64, np.datetime64]] = []
    row_number = pd.Series(np.arange(len(place.placements)), index=place.placements.index)
    silent: list[tuple[str, str, np.datetime64, np.datetime64, str]] = []
    found: list[FoundSilence] = []
    for name, placed in place.placements.groupby("camera", sort=True):
        mine = camera == name
        seen, instants = local[mine], utc[mine]
        read = np.asarray(readings.loc[readings["camera"] == name, "actual"], "datetime64[us]")
        proofs = np.concatenate([seen, read])
        outages = place.outages[place.outages["camera"] == name]
        down, running = (_intervals(outages[outages["status"] == s]) for s in ("down", "running"))
        ends = placement_ends(placed)
        starts = np.asarray(placed["start"], dtype="datetime64[us]")
        for i in np.argsort(starts, kind="stable"):
            site, start, end = str(placed["site"].iloc[i]), starts[i], ends[i]
            until = _ran_until(proofs, start, end)
            stretches = _silences(str(name), site, instants, start, until, zone)
            not_watched = [(s.start, s.end) for s in stretches]
            watched = _without(_without([(start, until)], not_watched), down)
            watched = _union([*watched, *_within(running, start, end)])
            days.append(_days(str(name), site, start, watched, until))
            ran.extend((int(row_number[placed.index[i]]), *stretch) for stretch in watched)
            for s in stretches:
                gap = (s.start, s.end)
                overruled = not _without([gap], running)
                silent.append((str(name), site, *gap, "running" if overruled else "silent"))
                if not overruled and _without([gap], down):
                    found.append(s)
            silent.extend((str(name), site, *gap, "down") for gap in _within(down, start, end))
    return Effort(_effort_table(days), _watched_table(ran), _silent_table(silent), tuple(found))


def _ran_until(proofs: Times, start: np.datetime64, end: np.datetime64) -> np.datetime64:
    later = proofs[proofs >= start]
    if not len(later):
        return start
    return end if (later >= end).any() else later.max()


def _silences(
    camera: str,
    site: str,
    instants: Times,
    start: np.datetime64,
    until: np.datetime64,
    zone: str,
) -> list[FoundSilence]:
    """Silent stretches of a placement in naive local time, within it."""
    if until <= start:
        return []
    bounds, _ = localize(np.array([start, until]), zone)
    first, last = np.asarray(bounds.tz_localize(None), dtype="datetime64[us]")
    found = []
    # The last proof is itself an event, so the stretch asked about must hold it.
    for s in silent_stretches(instants, first, last + np.timedelta64(1, "us")):
        utc = pd.DatetimeIndex([s.start, s.end]).tz_localize("UTC").tz_convert(zone)
        left, right = np.asarray(utc.tz_localize(None), dtype="datetime64[us]")
        left, right = max(left, start), min(right, until)
        if left < right:
            found.append(FoundSilence(camera, site, left, right, s.expected_events, s.log10_p))
    return found


def _days(
    camera: str, site: str, start: np.datetime64, watched: Sequence[Interval], until: np.datetime64
) -> pd.DataFrame:
    """Watched part of each local day, of 24 hours by the wall clock."""
    last = max([until, *(end for _, end in watched)])
    if last <= start:
        return pd.DataFrame()
    first_day = start.astype("datetime64[D]")
    after = (last - np.timedelta64(1, "us")).astype("datetime64[D]") + _DAY
    edges = np.arange(first_day, after + _DAY).astype("datetime64[us]")
    # Time watched before each midnight, by running straight between the ends of the intervals.
    at = (edges - edges[0]).astype(np.float64)
    total = np.zeros(len(edges))
    for left, right in watched:
        since, length = (left - edges[0]).astype(np.float64), (right - left).astype(np.float64)
        total += np.clip(at - since, 0.0, length)
    share = np.diff(total) / 86_400e6
    return pd.DataFrame(
        {
            "camera": pd.Series([camera] * len(share), dtype="str"),
            "site": pd.Series([site] * len(share), dtype="str"),
            "day": edges[:-1],
            "camera_day": np.round(np.clip(share, 0.0, 1.0), 4),
        }
    )


def _intervals(outages: pd.DataFrame) -> list[Interval]:
    starts = np.asarray(outages["start"], dtype="datetime64[us]")
    ends = np.asarray(outages["end"], dtype="datetime64[us]")
    return _union(zip(starts, ends, strict=True))


def _union(intervals: Iterable[Interval]) -> list[Interval]:
    merged: list[Interval] = []
    for start, end in sorted(intervals):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        elif start < end:
            merged.append((start, end))
    return merged


def _within(
    intervals: Iterable[Interval], start: np.datetime64, end: np.datetime64
) -> list[Interval]:
    cut = [(max(left, start), min(right, end)) for left, right in intervals]
    return [(left, right) for left, right in cut if left < right]


def _without(intervals: Iterable[Interval], holes: Iterable[Interval]) -> list[Interval]:
    left_over = list(intervals)
    for hole_start, hole_end in holes:
        pieces: list[Interval] = []
        for start, end in left_over:
            pieces.extend([(start, min(end, hole_start)), (max(start, hole_end), end)])
        left_over = [(start, end) for start, end in pieces if start < end]
    return left_over


def _effort_table(days: Sequence[pd.DataFrame]) -> pd.DataFrame:
    filled = [part for part in days if len(part)]
    if filled:
        return pd.concat(filled, ignore_index=True)
    return pd.DataFrame(
        {
            "camera": pd.Series([], dtype="str"),
            "site": pd.Series([], dtype="str"),
            "day": pd.Series([], dtype="datetime64[us]"),
            "camera_day": pd.Series([], dtype="float64"),
        }
    )


def _watched_table(rows: Sequence[tuple[int, np.datetime64, np.datetime64]]) -> pd.DataFrame:
    placement, start, end = zip(*rows, strict=True) if rows else ((), (), ())
    return pd.DataFrame(
        {
            "placement": pd.Series(list(placement), dtype="int64"),
            "start": pd.Series(list(start), dtype="datetime64[us]"),
            "end": pd.Series(list(end), dtype="datetime64[us]"),
        }
    )


def _silent_table(
    rows: Sequence[tuple[str, str, np.datetime64, np.datetime64, str]],
) -> pd.DataFrame:
    columns = list(zip(*rows, strict=True)) if rows else [()] * 5
    dtypes = ("str", "str", "datetime64[us]", "datetime64[us]", "str")
    names = ("camera", "site", "start", "end", "status")
    return pd.DataFrame(
        {
            name: pd.Series(list(values), dtype=dtype)
            for name, values, dtype in zip(names, columns, dtypes, strict=True)
        }
    )


FILE = "outages.csv"


def silence_problems(found: Iterable[FoundSilence], sightings: pd.DataFrame) -> list[Problem]:
    """Each silent stretch, worth knowing.

    Parameters
    ----------
    found
        Of `deerlog.ingest.effort.effort.Effort`.
    sightings
        Of `deerlog.ingest.tags.sightings.sighting_table`.
    """
    wall = np.asarray(sightings["local"].dt.tz_localize(None), dtype="datetime64[us]")
    # Whoever was seen at the site so soon before or after is touched: our choice, the time over
    # which the camera's rate is taken too.
    near = np.timedelta64(round(NEIGHBOUR_DAYS), "D")
    problems = []
    for silence in found:
        around = (wall >= silence.start - near) & (wall < silence.end + near)
        bucks = sightings.loc[around & (sightings["site"] == silence.site), "buck"]
        problems.append(_problem(silence, tuple(sorted(bucks.unique().tolist()))))
    return problems


def _problem(silence: FoundSilence, bucks: tuple[str, ...]) -> Problem:
    first, last = (t.astype("datetime64[D]").item() for t in (silence.start, silence.end))
    days = round(float((silence.end - silence.start) / np.timedelta64(1, "D")))
    unlikely = -silence.log10_p
    odds = "less than one in a million" if unlikely > 6 else f"about one in {10**unlikely:,.0f}"
    missed = round(silence.expected_visits)
    row = csv_line(silence.camera, str(first), str(last), "running")
    return Problem(
        kind="silent-stretch",
        file=FILE,
        value=silence.camera,
        why=f"{silence.camera} at {silence.site} took no photo of any kind from {first} to {last} "
        f"({counted(days, 'day', 'days')}); its own rate would have given about "
        f"{counted(missed, 'visit', 'visits')}, and the chance of none while running is {odds}. "
        "These days count as not watched.",
        how=f"If it was down, nothing to do. If it ran, add to {FILE}: {row}",
        must_mend=False,
        harm=float(missed),
        bucks=bucks,
        camera=silence.camera,
        first_day=first,
        last_day=last,
        paste=row,
    )
