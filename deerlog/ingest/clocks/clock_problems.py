"""Every clock that looks wrong: light, order and travel asked of the photo log."""

from __future__ import annotations

from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.clocks.clock_light import judge_clocks
from deerlog.ingest.clocks.clock_order import OrderFinding, order_findings
from deerlog.ingest.clocks.clock_words import (
    light_problem,
    order_problem,
    tag_problem,
    travel_problem,
)
from deerlog.ingest.clocks.light_faults import ClockFault
from deerlog.ingest.clocks.retime import rows_before, run_bounds
from deerlog.ingest.clocks.travel import TravelFinding, travel_findings
from deerlog.one_thread import one_thread
from deerlog.property import Property
from deerlog.property.coordinates import Ground
from deerlog.timekeeping.zones import localize


def clock_problems(photos: pd.DataFrame, sightings: pd.DataFrame, place: Property) -> list[Problem]:
    """Problems with clocks, each with the row to put in clock.csv. Nothing is shifted here.

    Parameters
    ----------
    photos
        Of `deerlog.ingest.field_log.logged_photos`.
    sightings
        Of `deerlog.ingest.tags.sightings.sighting_table`.
    """
    true = photos[photos["same_as"].isna() & (photos["excluded"] == "")]
    if true.empty:
        return []
    zone, units = place.settings.timezone, place.settings.units
    readings = place.clock_readings
    problems = []
    # By a sun of the wrong place every clock would look wrong.
    misplaced = any(p.kind in ("zone-longitude", "property-far-away") for p in place.problems)
    for fault in [] if misplaced else light_faults(true, place):
        touched = _touched(true[_within(true, fault)], sightings)
        bounds = fault.row.valid_from, fault.row.valid_to
        instead_of = rows_before(readings, fault.camera, *bounds)
        problems.append(light_problem(fault, zone, *touched, instead_of=instead_of))
    for found in out_of_order(true, photos, place):
        run = photos.loc[list(found.rows)]
        touched = _touched(run, sightings)
        problems.append(order_problem(found, run_bounds(run, photos, readings), *touched))
    by_cameras: dict[tuple[str, ...], list[TravelFinding]] = {}
    for trip in too_fast(true, sightings, place):
        by_cameras.setdefault(trip.cameras, []).append(trip)
    problems += [tag_problem(trip, zone, units) for trip in by_cameras.pop((), [])]
    for cameras, trips in by_cameras.items():
        touched = _touched(true[_between(true, cameras, trips)], sightings)
        problems.append(travel_problem(trips, zone, units, *touched))
    return problems


def light_faults(true: pd.DataFrame, place: Property) -> list[ClockFault]:
    """What the looks of the pictures say of every clock."""
    settings = place.settings
    pictures = true[true["look"].notna() | true["flash"].notna()]
    frame = pd.DataFrame(
        {
            "camera": pictures["camera"],
            "stated_utc": _utc(pictures["time"]),
            "shown": pictures["shown"],
            "look": pictures["look"].astype("float64"),
            "flash": pictures["flash"].astype("Float64").to_numpy(dtype=float, na_value=np.nan),
        }
    )
    with one_thread():
        verdicts = judge_clocks(
            frame,
            latitude=settings.latitude,
            longitude=settings.longitude,
            zone=settings.timezone,
            breaks=_breaks(pictures, place),
        )
    return [fault for verdict in verdicts for fault in verdict.faults]


def _breaks(pictures: pd.DataFrame, place: Property) -> dict[str, npt.NDArray[np.datetime64]]:
    """When someone was at each camera: its first photo of each dump, and each placement's start."""
    below = [path.partition("/") for path in pictures["path"]]
    dump = np.array([folder if slash else "" for folder, slash, _ in below], dtype=object)
    starts = pictures.groupby([pictures["camera"], dump])["time"].min().reset_index()
    placed, _ = localize(place.placements["start"], place.settings.timezone)
    both = pd.concat(
        [
            starts[["camera", "time"]],
            pd.DataFrame({"camera": place.placements["camera"], "time": placed}),
        ]
    )
    return {str(camera): _utc(group["time"]) for camera, group in both.groupby("camera")}


def out_of_order(true: pd.DataFrame, photos: pd.DataFrame, place: Property) -> list[OrderFinding]:
    """Runs of photos that do not fit their numbers; impossible dates are problems of the card."""
    wall = true["local"].dt.tz_localize(None)
    files = true[true["kind"] != "log"]
    # A picture that was damaged and has been taken away is no witness against a clock.
    files = files[(files["reason"] != "truncated") | ~files["gone"].astype(bool)]
    frame = pd.DataFrame(
        {
            "camera": files["camera"],
            "path": files["path"],
            "shown": wall[files.index],
            "replaced": _lie_over_others(files, photos),
        }
    )
    latest: date = wall.max().date()
    found = order_findings(frame, today=latest, zone=place.settings.timezone)
    return [finding for finding in found if finding.kind in ("reset", "backwards", "jump")]


def _lie_over_others(files: pd.DataFrame, photos: pd.DataFrame) -> pd.Series:
    """Which photos lie, or lay, at a path that has held several pictures."""
    lost = photos[(photos["replaced"] > 0) & (photos["listed_in"] == "")]
    if lost.empty:
        return pd.Series(False, index=files.index)
    return (files["camera"] + "/" + files["path"]).isin(set(lost["camera"] + "/" + lost["path"]))


def too_fast(true: pd.DataFrame, sightings: pd.DataFrame, place: Property) -> list[TravelFinding]:
    """Trips that no deer makes, of bucks tagged without doubt."""
    sure = sightings[~sightings["unsure"].astype(bool)]
    at = true[true["visit"] >= 0].drop_duplicates("visit").set_index("visit")["placement"]
    ground = Ground(place.settings.latitude, place.settings.longitude)
    east, north = ground.metres(place.placements["latitude"], place.placements["longitude"])
    placement = sure["visit"].map(at).fillna(-1).astype("int64").to_numpy()
    frame = pd.DataFrame(
        {
            "buck": sure["buck"],
            "camera": sure["camera"],
            "site": sure["site"],
            "time": sure["local"],
            "x_m": np.append(east, np.nan)[placement],
            "y_m": np.append(north, np.nan)[placement],
        }
    )
    return travel_findings(frame)


def _within(photos: pd.DataFrame, fault: ClockFault) -> npt.NDArray[np.bool_]:
    """Which photos a fault touches."""
    instants = _utc(photos["time"])
    within = np.array(photos["camera"] == fault.camera, dtype=bool)
    if not np.isnat(fault.begins):
        within &= instants >= fault.begins
    if not np.isnat(fault.ends):
        within &= instants < fault.ends
    return within


def _between(
    photos: pd.DataFrame, cameras: tuple[str, ...], trips: list[TravelFinding]
) -> npt.NDArray[np.bool_]:
    """Which photos of some cameras lie from the first to the last of some trips."""
    instants = _utc(photos["time"])
    first, last = min(trip.time_a for trip in trips), max(trip.time_b for trip in trips)
    return np.isin(photos["camera"], cameras) & (instants >= first) & (instants <= last)


def _touched(photos: pd.DataFrame, sightings: pd.DataFrame) -> tuple[float, tuple[str, ...]]:
    """How many visits some photos belong to, and whose."""
    visits = photos.loc[photos["visit"] >= 0, "visit"].unique()
    bucks = sightings.loc[sightings["visit"].isin(visits), "buck"].unique()
    return float(len(visits)), tuple(sorted(str(buck) for buck in bucks))


def _utc(times: pd.Series) -> npt.NDArray[np.datetime64]:
    return np.asarray(times.dt.tz_convert("UTC").dt.tz_localize(None), dtype="datetime64[us]")
