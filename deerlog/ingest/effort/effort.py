"""Camera-days: when each camera was really running, and its silent stretches in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.errors import Problem, is_lately
from deerlog.ingest.effort.silence import NEIGHBOUR_DAYS, SHORTEST_DAYS, silent_stretches
from deerlog.property import Property
from deerlog.property.cell_values import csv_line
from deerlog.property.placements import placement_ends
from deerlog.property.table_rows import Record, frame_of
from deerlog.property.wording import count
from deerlog.timekeeping.zones import localize

FILE = "outages.csv"
Times = npt.NDArray[np.datetime64]
Interval = tuple[np.datetime64, np.datetime64]

_SHORTEST = np.timedelta64(round(24 * SHORTEST_DAYS), "h")
_CAMERA = {"camera": "str", "site": "str"}
_SPAN = {"start": "datetime64[us]", "end": "datetime64[us]"}


@dataclass(frozen=True)
class Effort:
    """What ran; ``start`` and ``end`` are half-open, naive local time.

    - ``camera_days``: ``camera, site, day`` (naive midnight), ``camera_day`` (0 to 1): a row for
      each day of each placement, up to the camera's last proof of life
    - ``stretches``: ``placement`` (row number in `Property.placements`), ``start, end``: what makes
      up the camera-days
    - ``silent``: ``camera, site, start, end, status``: ``silent`` (found here, counted as not
      watched), ``running`` (found here, overruled by outages.csv), ``down`` (outages.csv)
    - ``found``: ``camera, site, start, end`` of every silence found here that outages.csv says
      nothing of, and ``expected_visits`` of any kind that the camera's own rate would have given in
      it
    - ``quiet``: the same of cameras that stand somewhere still and took nothing from their last
      photo to the last of any camera, too long to be believed
    """

    camera_days: pd.DataFrame
    stretches: pd.DataFrame
    silent: pd.DataFrame
    found: pd.DataFrame
    quiet: pd.DataFrame


def camera_effort(photos: pd.DataFrame, place: Property) -> Effort:
    """Camera-days of every placement, from `deerlog.ingest.field_log.logged_photos`.

    They run from its start to its end, but not beyond the camera's last proof of life: a photo of
    any kind, or a reading in clock.csv. A proof after its end shows that it ran to the end. Inside,
    silent stretches (see `silence.py`) count as not watched, and outages.csv overrules both ways,
    also beyond the last proof. When a card was pulled is not known from the card, so that is no
    proof by itself.
    """
    zone = place.settings.timezone
    true = photos[(photos["excluded"] == "") & photos["same_as"].isna()]
    local, utc = _us(true["local"]), _us(true["time"])
    camera = true["camera"].to_numpy(dtype=object)
    # Someone was at a camera when its card was changed: at the first photo of each dump.
    dump = [path.rpartition("/")[0].partition("/")[0] for path in true["path"]]
    first = true.groupby(["camera", np.array(dump, dtype=object)])["time"].min()
    checks = first.reset_index("camera")
    last = local.max() if len(local) else np.datetime64("NaT", "us")
    readings = place.clock_readings
    placements = place.placements.assign(
        number=np.arange(len(place.placements)), until=placement_ends(place.placements)
    )
    days: list[pd.DataFrame] = []
    ran: list[Record] = []
    silent: list[Record] = []
    found: list[Record] = []
    quiet: list[Record] = []
    for name, placed in placements.sort_values("start", kind="stable").groupby("camera", sort=True):
        mine = utc[camera == name]
        proofs = _us(readings.loc[readings["camera"] == name, "actual"])
        proofs = np.concatenate([local[camera == name], proofs])
        visited = _us(checks.loc[checks["camera"] == name, "time"])
        outages = place.outages[place.outages["camera"] == name]
        down, running = (_intervals(outages, status) for status in ("down", "running"))
        columns = (placed["number"], placed["site"], _us(placed["start"]), _us(placed["until"]))
        for number, site, start, end in zip(*columns, strict=True):
            of = {"camera": str(name), "site": str(site)}
            until = min(max(proofs[proofs >= start], default=start), end)
            stretches = _silences(mine, visited, start, until, zone)
            watched = _without([(start, until)], [(s["start"], s["end"]) for s in stretches])
            watched = _union([*_without(watched, down), *_within(running, start, end)])
            days.append(_days(start, watched, until).assign(**of))
            ran.extend({"placement": number, "start": a, "end": b} for a, b in watched)
            for s in stretches:
                gap = (s["start"], s["end"])
                overruled = not _without([gap], running)
                silent.append(of | s | {"status": "running" if overruled else "silent"})
                if not overruled and _without([gap], down):
                    found.append(of | s)
            stands = last < end and not _within([*down, *running], until, last)
            if stands and last - until > _SHORTEST:
                since = _silences(mine, visited, start, last, zone)
                quiet.extend(of | s | {"start": until} for s in since if s["start"] >= until)
            outs = _within(down, start, end)
            silent.extend(of | {"start": a, "end": b, "status": "down"} for a, b in outs)
    day_columns = _CAMERA | {"day": "datetime64[us]", "camera_day": "float64"}
    filled = [part for part in days if len(part)] or [frame_of([], day_columns)]
    visits = _CAMERA | _SPAN | {"expected_visits": "float64"}
    return Effort(
        pd.concat(filled, ignore_index=True).astype(day_columns)[[*day_columns]],
        frame_of(ran, {"placement": "int64"} | _SPAN),
        frame_of(silent, _CAMERA | _SPAN | {"status": "str"}),
        frame_of(found, visits),
        frame_of(quiet, visits),
    )


def _us(times: pd.Series) -> Times:
    """Naive times, those of aware ones on their own clock."""
    return np.asarray(times.dt.tz_localize(None), dtype="datetime64[us]")


def _silences(
    instants: Times, visited: Times, start: np.datetime64, until: np.datetime64, zone: str
) -> list[Record]:
    """Silent stretches of a placement in naive local time, within it."""
    if until <= start:
        return []
    bounds, _ = localize(np.array([start, until]), zone)
    first, last = _us(bounds.to_series())
    found = []
    # The last proof is itself an event, so the stretch asked about must hold it.
    for s in silent_stretches(instants, first, last + np.timedelta64(1, "us"), checks=visited):
        utc = pd.DatetimeIndex([s.start, s.end]).tz_localize("UTC").tz_convert(zone)
        left, right = _us(utc.to_series())
        left, right = max(left, start), min(right, until)
        if left < right:
            found.append({"start": left, "end": right, "expected_visits": s.expected_events})
    return found


def _days(start: np.datetime64, watched: Sequence[Interval], until: np.datetime64) -> pd.DataFrame:
    """Watched part of each local day, of 24 hours by the wall clock."""
    last = max([until, *(end for _, end in watched)])
    if last <= start:
        return pd.DataFrame()
    day = np.timedelta64(1, "D")
    after = (last - np.timedelta64(1, "us")).astype("datetime64[D]") + day
    edges = np.arange(start.astype("datetime64[D]"), after + day).astype("datetime64[us]")
    # Time watched before each midnight, by running straight between the ends of the intervals.
    at = (edges - edges[0]).astype(np.float64)
    total = np.zeros(len(edges))
    for left, right in watched:
        since, length = (left - edges[0]).astype(np.float64), (right - left).astype(np.float64)
        total += np.clip(at - since, 0.0, length)
    share = np.clip(np.diff(total) / 86_400e6, 0.0, 1.0)
    return pd.DataFrame({"day": edges[:-1], "camera_day": np.round(share, 4)})


def _intervals(outages: pd.DataFrame, status: str) -> list[Interval]:
    rows = outages[outages["status"] == status]
    return _union(zip(_us(rows["start"]), _us(rows["end"]), strict=True))


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


def silence_problems(effort: Effort, sightings: pd.DataFrame) -> Iterator[Problem]:
    """Each silent stretch, and each camera that has fallen silent, worth knowing."""
    wall = sightings["local"].dt.tz_localize(None)
    last = effort.camera_days["day"].max()
    # Whoever was seen at the site so soon before or after is touched: our choice, the time over
    # which the camera's rate is taken too.
    near = pd.Timedelta(days=round(NEIGHBOUR_DAYS))
    for camera, site, start, end, expected in effort.found.itertuples(index=False):
        around = (wall >= start - near) & (wall < end + near) & (sightings["site"] == site)
        first, until = start.date(), end.date()
        days = count(round((end - start) / pd.Timedelta(days=1)), "day")
        row = csv_line(camera, str(first), str(until), "running")
        yield Problem(
            kind="silent-stretch",
            file=FILE,
            value=camera,
            why=f"{camera} at {site} took no photo of any kind from {first} to {until} ({days}); "
            f"its own rate would have given about {count(round(expected), 'visit')}, so it is very "
            "unlikely that it was running. These days count as not watched.",
            how=f"If it was down, nothing to do. If it ran, add to {FILE}: {row}",
            must_mend=False,
            harm=float(round(expected)),
            bucks=tuple(sorted(sightings.loc[around, "buck"].unique())),
            camera=camera,
            first_day=first,
            last_day=until,
            paste=row,
            lately=is_lately(end, last),
        )
    for camera, site, start, end, expected in effort.quiet.itertuples(index=False):
        yield Problem(
            kind="camera-quiet",
            file=f"cards/{camera}",
            value=camera,
            why=f"{camera} at {site} has brought no photo since {start.date()}; other cameras ran "
            f"until {end.date()}, and by then its own rate would have given about "
            f"{count(round(expected), 'visit')}, so it is very unlikely that it is running. Its "
            "days end with its last photo.",
            how="If its card was read after that day, look at its batteries, its card and where it "
            "points. If its card is still in it, nothing to do; if it was taken down, write the "
            "day into its end in cameras.csv.",
            must_mend=False,
            harm=float(round(expected)),
            camera=camera,
            first_day=start.date(),
            lately=True,
        )
