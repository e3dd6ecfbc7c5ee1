"""Events into photos: bursts, looks, what the clock showed, the card and the file each is on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from deerlog.timekeeping.sun import sun_height
from drawing.bystanders import bystander_events, person_events
from drawing.ground import (
    CAMERAS,
    LATITUDE,
    LONGITUDE,
    PULLED,
    ZONE,
    Camera,
    Placement,
    placements,
)
from drawing.mishaps import (
    CARD_FULL,
    DEAD,
    DRIFT_CAMERA,
    DRIFT_END,
    DRIFT_MINUTES,
    DRIFT_START,
    FAULT_CAMERA,
    FAULT_FROM,
)
from drawing.movement import Event
from drawing.sky import Sun

VISIT_GAP_MINUTES = 30
_MINUTE = np.timedelta64(60, "s")
_FIRST_NUMBER = {"cam-06": 8790}  # rolls over from 9999 to 0001 in the second season
# Clocks go back at 07:00 UTC: the hour after it shows times that have been shown before.
_CLOCKS_BACK = [
    np.datetime64(f"{day}T07:00", "s") for day in ("2024-11-03", "2025-11-02", "2026-11-01")
]


@dataclass(frozen=True)
class Photo:
    """One picture. ``true`` is UTC; ``shown`` and ``corrected`` are naive local readings.

    ``corrected`` is what deerlog can know from cameras.csv and clock.csv as they stand; it is the
    true local time but for the camera whose clock nobody has mended yet.
    """

    camera: str
    site: str
    true: np.datetime64
    shown: datetime
    corrected: datetime
    colour: bool
    event: Event
    visit: int
    dump: str
    path: str


def all_photos(bucks: list[Event], seed: list[int], sun: Sun) -> list[Photo]:
    """Every picture on every card, by camera and time."""
    photos: list[Photo] = []
    number = dict(_FIRST_NUMBER)
    visit = 0
    for k, placement in enumerate(placements()):
        rng = np.random.default_rng([*seed, k])
        frames, stops = _frames(placement, bucks, rng, sun)
        camera = CAMERAS[placement.camera]
        looks = _looks(camera, frames, rng)
        last: np.datetime64 | None = None
        previous_dump = ""
        for (at, event), colour in zip(frames, looks, strict=True):
            if last is None or at - last > VISIT_GAP_MINUTES * _MINUTE:
                visit += 1
            last = at
            dump = _dump(placement, at, stops)
            count = number.get(camera.name, 0) % 9999 + 1
            if camera.make.restarts and dump != previous_dump and dump not in ("2024", "2025"):
                count = 1
            previous_dump = dump
            number[camera.name] = count
            shown = shown_time(camera, at)
            photos.append(
                Photo(
                    camera=camera.name,
                    site=placement.site,
                    true=at,
                    shown=shown,
                    corrected=_corrected(camera, at, shown),
                    colour=bool(colour),
                    event=event,
                    visit=visit,
                    dump=dump,
                    path=f"{dump}/{camera.make.prefix}{count:04d}.JPG",
                )
            )
    return photos


def _frames(
    placement: Placement, bucks: list[Event], rng: np.random.Generator, sun: Sun
) -> tuple[list[tuple[np.datetime64, Event]], list[np.datetime64]]:
    """Pictures of one placement in order, and the instants at which its card was pulled."""
    people = person_events(placement, rng)
    pulls = [event.at for event, kind in people if kind == "old card"]
    first, last = people[0][0].at, people[-1][0].at
    events = [e for e in bucks if e.site == placement.site and first < e.at < last]
    events += [e for e in bystander_events(placement, rng, sun) if first < e.at < last]
    events = [e for e in events if not _lost(placement.camera, e.at)]
    events.sort(key=lambda e: (e.at, e.buck, e.others))
    visitors = [event for event, _ in people if not _lost(placement.camera, event.at)]
    frames: list[tuple[np.datetime64, Event]] = [(event.at, event) for event in visitors]
    frames += [frame for event in events for frame in _burst(event, rng) if frame[0] < last]
    return _tidy(frames), pulls


def _lost(camera: str, at: np.datetime64) -> bool:
    """Whether no picture was taken: the camera was dead, its card full, or the hour is doubled."""
    for name, start, end in (DEAD, CARD_FULL):
        if camera == name and start <= at < end:
            return True
    quiet = np.timedelta64(100 if camera == FAULT_CAMERA else 65, "m")
    return any(back - quiet <= at <= back + quiet for back in _CLOCKS_BACK)


def _burst(event: Event, rng: np.random.Generator) -> list[tuple[np.datetime64, Event]]:
    steps = rng.choice([4, 7, 15, 40, 110, 240], size=event.frames - 1)
    steps = steps + rng.integers(0, 3, event.frames - 1)
    offsets = np.concatenate([[0], np.cumsum(steps)])
    return [(event.at + np.timedelta64(int(s), "s"), event) for s in offsets]


def _tidy(frames: list[tuple[np.datetime64, Event]]) -> list[tuple[np.datetime64, Event]]:
    """In order of time, no two in one second, and no gap so near the limit that a rounded second
    would decide between one visit and two."""
    frames = sorted(frames, key=lambda f: (f[0], f[1].buck, f[1].others))
    out: list[tuple[np.datetime64, Event]] = []
    for at, event in frames:
        if out:
            if at <= out[-1][0]:
                at = out[-1][0] + np.timedelta64(2, "s")
            gap = (at - out[-1][0]) / _MINUTE
            if 27 < gap < 33:
                at = out[-1][0] + np.timedelta64(26 * 60 + 11, "s")
        out.append((at, event))
    return out


def _looks(
    camera: Camera, frames: list[tuple[np.datetime64, Event]], rng: np.random.Generator
) -> npt.NDArray[np.bool_]:
    """Coloured or grey: by the sun's height, clouds for a whole event, a little a picture."""
    if not frames:
        return np.zeros(0, dtype=bool)
    height = sun_height(LATITUDE, LONGITUDE, np.array([at for at, _ in frames]))
    clouds: dict[int, float] = {}
    for _, event in frames:
        clouds.setdefault(id(event), float(rng.normal(0, 2.2)))
    noise = np.array([clouds[id(event)] for _, event in frames]) + rng.normal(0, 0.5, len(frames))
    return np.asarray(height + noise > camera.grey_below)


def _dump(placement: Placement, at: np.datetime64, pulls: list[np.datetime64]) -> str:
    """Folder of the card: one a season in the old records, one a check in the running season."""
    season = placement.start.year if placement.start.month >= 6 else placement.start.year - 1
    if season in PULLED:
        return str(season)
    for pull in pulls:
        if at <= pull:
            return _local(pull).date().isoformat()
    raise AssertionError(f"{placement.camera}: a picture after the last pull, {at}")


def shown_time(camera: Camera, at: np.datetime64) -> datetime:
    """What the camera's clock showed at an instant."""
    if camera.clock == "UTC-6":
        return _naive(at - np.timedelta64(6, "h"))
    if camera.name == FAULT_CAMERA and at >= FAULT_FROM:
        return _naive(at - np.timedelta64(5, "h"))
    local = _local(at)
    if camera.name == DRIFT_CAMERA:
        fast = DRIFT_MINUTES * 60 * _drift_share(local)
        return _naive(np.datetime64(local, "s") + np.timedelta64(round(fast), "s"))
    return local


def _corrected(camera: Camera, at: np.datetime64, shown: datetime) -> datetime:
    if camera.name == FAULT_CAMERA and at >= FAULT_FROM:
        return shown
    return _local(at)


def _drift_share(local: datetime) -> float:
    if not DRIFT_START <= local <= DRIFT_END:
        return 0.0
    return (local - DRIFT_START) / (DRIFT_END - DRIFT_START)


def _local(at: np.datetime64) -> datetime:
    """Naive local wall-clock time of an instant."""
    aware = _naive(at).replace(tzinfo=ZoneInfo("UTC")).astimezone(ZoneInfo(ZONE))
    return aware.replace(tzinfo=None)


def _naive(at: np.datetime64) -> datetime:
    moment = at.astype("datetime64[s]").item()
    assert isinstance(moment, datetime)
    return moment


def with_path(photo: Photo, path: str) -> Photo:
    """The same picture on another path."""
    return replace(photo, path=path)
