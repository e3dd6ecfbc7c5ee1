"""Every clock that looks wrong: light, order and travel asked of the photo log.

And photos whose time cannot be true, or is only something near it, with the row that mends each.
``photos`` are of `deerlog.ingest.field_log.logged_photos`, ``readings`` `Property.clock_readings`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import chain, pairwise
from typing import Any

import numpy as np
import pandas as pd

from deerlog.errors import Problem, is_lately
from deerlog.ingest.clocks.clock_order import SLACK, numbered_series, order_findings
from deerlog.ingest.clocks.clock_words import (
    light_problem,
    mend_run,
    minute_text,
    order_problem,
    span_in_words,
    tag_problem,
    travel_problem,
)
from deerlog.ingest.clocks.light_faults import light_faults
from deerlog.ingest.clocks.look_model import Instants
from deerlog.ingest.clocks.retime import BEFORE_2005, seen_right
from deerlog.ingest.clocks.travel import impossible_trips
from deerlog.one_thread import one_thread
from deerlog.property import Property
from deerlog.property.coordinates import Ground
from deerlog.property.wording import agree, count
from deerlog.timekeeping.zones import localize

Finding = tuple[Problem, pd.DataFrame | None]
"""A problem whose harm is not counted yet, and the photos it touches (None: its harm stands)."""
SUN_ELSEWHERE = ("zone-longitude", "property-far-away")
"""Problems that make every figure wrong in which the sun or a site has a say."""


def groups(table: pd.DataFrame, *by: str) -> Iterator[tuple[tuple[Any, ...], pd.DataFrame]]:
    """Groups in order of their names; grouping nothing would take as long as grouping much."""
    yield from table.groupby([*by], sort=True) if len(table) else ()


def photo_finding(
    kind: str, group: pd.DataFrame, why: str, how: str, noun: str = "photo", **also: Any
) -> Finding:
    """What to know of some photos of one camera, ``why`` said after how many they are."""
    camera = str(group["camera"].iloc[0])
    about: dict[str, Any] = {"camera": camera, "must_mend": False}
    about |= {"file": f"cards/{camera}", "value": str(group["path"].iloc[0])} | also
    why = f"{count(len(group), noun)} of {camera} {why}"
    return Problem(kind=kind, why=why, how=how, **about), group


def clock_findings(
    photos: pd.DataFrame, sightings: pd.DataFrame, place: Property
) -> Iterator[Finding]:
    """What is wrong with clocks, each with the row to put in clock.csv. Nothing is shifted here."""
    true = photos[photos["same_as"].isna() & (photos["excluded"] == "")]
    if true.empty:
        return
    found = [_by_order(true, photos, place), _by_travel(true, sightings, place)]
    # By a sun of the wrong place every clock would look wrong.
    if not any(p.kind in SUN_ELSEWHERE for p in place.problems):
        found.insert(0, _by_light(true, place))
    last = true["local"].max()
    for problem, touched in chain(*found):
        if problem.kind != "clock-travel" and touched is not None and seen_right(touched, place):
            continue  # a person has answered it
        fresh = touched is not None and is_lately(touched["local"].max(), last)
        yield replace(problem, lately=fresh), touched


def _by_light(true: pd.DataFrame, place: Property) -> Iterator[Finding]:
    """What the looks of the pictures say of every clock."""
    settings, zone = place.settings, place.settings.timezone
    pictures = true[true["look"].notna() | true["flash"].notna()]
    breaks = _breaks(pictures, place)
    for (camera,), mine in groups(pictures, "camera"):
        with one_thread():
            faults = light_faults(
                camera,
                _utc(mine["time"]),
                np.asarray(mine["shown"], dtype="datetime64[us]"),
                np.asarray(mine["look"], dtype=np.float64),
                latitude=settings.latitude,
                longitude=settings.longitude,
                zone=zone,
                flash=mine["flash"].astype("Float64").to_numpy(dtype=float, na_value=np.nan),
                breaks=breaks.get(camera),
            )
        photos = true[true["camera"] == camera]
        instants = _utc(photos["time"])
        for fault in faults:
            within = np.isnat(fault.begins) | (instants >= fault.begins)
            within &= np.isnat(fault.ends) | (instants < fault.ends)
            yield light_problem(fault, zone, place.clock_readings), photos[within]


def _breaks(pictures: pd.DataFrame, place: Property) -> dict[str, Instants]:
    """When someone was at each camera: its first photo of each dump, and each placement's start."""
    below = [path.partition("/") for path in pictures["path"]]
    dump = np.array([folder if slash else "" for folder, slash, _ in below], dtype=object)
    first = pictures.groupby([pictures["camera"], dump])["time"].min().reset_index()
    placed, _ = localize(place.placements["start"], place.settings.timezone)
    start = pd.DataFrame({"camera": place.placements["camera"], "time": placed})
    both = pd.concat([first[["camera", "time"]], start])
    return {camera: _utc(group["time"]) for (camera,), group in groups(both, "camera")}


def _by_order(true: pd.DataFrame, photos: pd.DataFrame, place: Property) -> Iterator[Finding]:
    """Runs of photos that do not fit their numbers."""
    files = true[true["kind"] != "log"]
    # A picture that was damaged and has been taken away is no witness against a clock.
    files = files[(files["reason"] != "truncated") | ~files["gone"].astype(bool)]
    # Paths that have held several pictures.
    lost = photos[(photos["replaced"] > 0) & (photos["listed_in"] == "")]
    asked = files[["camera", "path", "kind"]].assign(
        shown=files["local"].dt.tz_localize(None),
        replaced=(files["camera"] + "/" + files["path"]).isin(lost["camera"] + "/" + lost["path"]),
    )
    for found in order_findings(asked, zone=place.settings.timezone):
        problem = order_problem(found, asked, photos, place.clock_readings)
        yield problem, photos.loc[list(found.rows)]


def _by_travel(true: pd.DataFrame, sightings: pd.DataFrame, place: Property) -> Iterator[Finding]:
    """Trips that no deer makes, of bucks tagged without doubt: tags first, then clocks."""
    sure = sightings[~sightings["unsure"].astype(bool)]
    at = true[true["visit"] >= 0].drop_duplicates("visit").set_index("visit")["placement"]
    placement = sure["visit"].map(at).fillna(-1).astype("int64").to_numpy()
    ground = Ground(place.settings.latitude, place.settings.longitude)
    east, north = ground.metres(place.placements["latitude"], place.placements["longitude"])
    asked = sure[["buck", "camera", "site"]].assign(
        time=sure["local"],
        x_m=np.append(east, np.nan)[placement],
        y_m=np.append(north, np.nan)[placement],
    )
    said = place.settings.timezone, place.settings.units
    clocks: list[Finding] = []
    instants = true["time"].dt.tz_localize(None)
    trips = impossible_trips(asked)
    named: list[tuple[str, ...]] = trips["cameras"].tolist()
    for cameras in dict.fromkeys(named):
        group = trips[[each == cameras for each in named]].copy()
        within = instants.between(group["time_a"].min(), group["time_b"].max())
        photos = {camera: true[within & (true["camera"] == camera)] for camera in cameras}
        # Where a person has seen the clock right, it is the other camera's, or the tags.
        left = tuple(c for c, mine in photos.items() if mine.empty or not seen_right(mine, place))
        group["cameras"] = pd.Series([left] * len(group), index=group.index, dtype=object)
        rows = [trip for _, trip in group.iterrows()]
        if left:
            clocks.append((travel_problem(rows, *said), pd.concat([photos[c] for c in left])))
        else:
            yield from ((tag_problem(trip, *said), None) for trip in rows)
    yield from clocks


def _utc(times: pd.Series) -> Instants:
    return np.asarray(times.dt.tz_convert("UTC").dt.tz_localize(None), dtype="datetime64[us]")


def impossible_times(photos: pd.DataFrame, readings: pd.DataFrame) -> Iterator[Finding]:
    """A problem for each stretch of photos from before 2005 or from the future.

    A clock that was reset twice makes two stretches, which need a row each.
    """
    counts = photos[photos["same_as"].isna()]
    wrong = counts["excluded"] != ""
    true = counts[~wrong].groupby("camera")["local"].max()
    for camera in sorted(counts.loc[wrong, "camera"].unique()):
        # Where a camera has no true photo of the last days, its clock is wrong still.
        right = camera in true and is_lately(true[camera], true.max())
        for part in _stretches(counts[counts["camera"] == camera]):
            early = part["excluded"].iloc[0] == BEFORE_2005
            said = "before 2005" if early else "after the day it was read"
            first, last = part["shown"].min(), part["shown"].max()
            times = span_in_words(minute_text(first), minute_text(last))
            how, row = mend_run(part, photos, readings)
            yield photo_finding(
                "impossible-time",
                part,
                f"{agree(len(part), 'shows', 'show')} a time {said} ({times}, first "
                f"{part['path'].iloc[0]}); {agree(len(part), 'it is', 'they are')} kept, and left "
                "out of every figure.",
                how,
                file="clock.csv",
                value=camera,
                must_mend=True,
                first_day=first.date(),
                last_day=last.date(),
                paste=row,
                lately=not right,
            )


def _stretches(mine: pd.DataFrame) -> list[pd.DataFrame]:
    """One camera's impossible photos, stretch by stretch, in order of file numbers."""
    pieces: list[tuple[pd.DataFrame, bool, bool]] = []  # the photos; begins its card; ends it
    for _, card in mine.join(numbered_series(mine["path"])).groupby("series", sort=True):
        card = card.sort_values(["folder_number", "number"], kind="stable")
        if card["number"].min() < 0:
            card = card.sort_values("shown", kind="stable")
        # Runs with one reason in which the time never steps back.
        reason = card["excluded"].to_numpy(dtype=object)
        back = np.diff(np.asarray(card["shown"], dtype="datetime64[us]")) < -SLACK
        cuts = np.flatnonzero((reason[1:] != reason[:-1]) | back) + 1
        for first, after in pairwise([0, *cuts.tolist(), len(card)]):
            if reason[first]:
                pieces.append((card.iloc[first:after], first == 0, after == len(card)))
    pieces.sort(key=lambda piece: piece[0]["shown"].iloc[0])
    stretches: list[pd.DataFrame] = []
    open_end = False
    for piece, begins, ends in pieces:
        # A fault that lasts goes on from the end of one card to the beginning of the next.
        run = stretches[-1] if open_end and begins else piece[:0]
        alike = len(run) > 0 and run["excluded"].iloc[0] == piece["excluded"].iloc[0]
        if alike and piece["shown"].min() >= run["shown"].max():
            stretches[-1] = pd.concat([run, piece])
        else:
            stretches.append(piece)
        open_end = ends
    return stretches


# By time_source: the slug, what they are, and what the time is that they have.
_LESSER = {
    "changed": (
        "time-of-change",
        "photo",
        "only the time of the file's last change, which may be later than the picture; it is used.",
    ),
    "container": (
        "time-of-container",
        "video",
        "the time in the container. The standard (ISO/IEC 14496-12) says that is UTC, but cameras "
        "that know no zone write what their clock shows; it is taken for that.",
    ),
}


def lesser_times(photos: pd.DataFrame, readings: pd.DataFrame) -> Iterator[Finding]:
    """Photos that say only something near their time, by camera; not those clock.csv has set."""
    open_ones = photos[photos["same_as"].isna() & ~photos["by_row"] & (photos["excluded"] == "")]
    for source, (kind, noun, time) in _LESSER.items():
        for _, group in groups(open_ones[open_ones["time_source"] == source], "camera"):
            how, row = mend_run(group.iloc[:1], photos, readings)
            yield photo_finding(
                kind,
                group,
                f"(first {group['path'].iloc[0]}) {agree(len(group), 'gives', 'give')} {time}",
                f"Look at one that you know the time of. If it is wrong: {how}",
                noun,
                paste=row,
            )
