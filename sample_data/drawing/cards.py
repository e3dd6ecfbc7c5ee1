"""Writes the card dumps: CSV photo logs for the older cards, JPEG files for the last ones."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

from drawing.ground import CAMERAS, SITES
from drawing.mishaps import (
    COPIED_CAMERA,
    COPY,
    EMPTY_FILE_CAMERA,
    LAST_DUMP,
    TRUNCATED_CAMERA,
    VIDEO_CAMERA,
)
from drawing.photos import Photo, with_path
from drawing.picture import jpeg
from drawing.video import tiny_mp4

_TRUNCATED_BYTES = 64  # inside the first directory of the EXIF block: no time can be had from it


def put_on_cards(photos: list[Photo]) -> tuple[list[Photo], dict[str, str]]:
    """The photos with the paths of their final files, and the files that mishaps befell.

    Returns
    -------
    photos
        As given; those of the last dump now lie in a DCIM tree, the video has its own suffix.
    spoiled
        Mishap (``truncated``, ``zero bytes``, ``video``) to ``camera/path``.
    """
    spoiled = {
        "truncated": _last_of_burst(photos, TRUNCATED_CAMERA),
        "zero bytes": _last_of_burst(photos, EMPTY_FILE_CAMERA),
        "video": _lone_turkey(photos, VIDEO_CAMERA),
    }
    placed, where = [], {}
    for photo in photos:
        if photo.dump == LAST_DUMP:
            name = photo.path.rsplit("/", 1)[1]
            folder = CAMERAS[photo.camera].make.folder
            path = f"{photo.dump}/DCIM/{folder}/{name}"
            if photo is spoiled["video"]:
                path = path.replace(".JPG", ".MP4")
            moved = with_path(photo, path)
            for mishap, spoilt in spoiled.items():
                if photo is spoilt:
                    where[mishap] = f"{photo.camera}/{path}"
            placed.append(moved)
        else:
            placed.append(photo)
    return placed, where


def _last_of_burst(photos: list[Photo], camera: str) -> Photo:
    """The last picture of a by-stander's burst on the last card: no visit hangs on it alone."""
    last = [p for p in photos if p.camera == camera and p.dump == LAST_DUMP]
    visits: dict[int, list[Photo]] = defaultdict(list)
    for photo in last:
        visits[photo.visit].append(photo)
    bursts = [v for v in visits.values() if len(v) >= 3 and not any(p.event.buck for p in v)]
    return bursts[len(bursts) // 2][-1]


def _lone_turkey(photos: list[Photo], camera: str) -> Photo:
    """A visit of one picture, by no named buck, on the last card."""
    last = [p for p in photos if p.camera == camera and p.dump == LAST_DUMP]
    count: dict[int, int] = defaultdict(int)
    for photo in last:
        count[photo.visit] += 1
    lone = [
        p for p in last if count[p.visit] == 1 and not p.event.buck and p.event.others != "person"
    ]
    return lone[len(lone) // 2]


def subjects(photo: Photo) -> list[str]:
    """What stands in the picture."""
    mine = ["buck"] if photo.event.buck else []
    return mine + [other for other in photo.event.others.split(";") if other]


def write_cards(
    folder: Path, photos: list[Photo], spoiled: dict[str, str], seed: list[int]
) -> None:
    """Writes ``cards/<camera>/`` for every camera."""
    logs: dict[tuple[str, str], list[Photo]] = defaultdict(list)
    for i, photo in enumerate(photos):
        if photo.dump == LAST_DUMP:
            _write_file(folder, photo, spoiled, [*seed, i])
        else:
            logs[photo.camera, photo.dump].append(photo)
    for (camera, dump), rows in logs.items():
        # The oldest records were kept without a word on day or night.
        looks = dump != "2024"
        lines = ["file,taken,look" if looks else "file,taken"]
        for photo in rows:
            look = (",colour" if photo.colour else ",grey") if looks else ""
            lines.append(f"{photo.path.rsplit('/', 1)[1]},{photo.shown}{look}")
        path = folder / camera / dump / "log.csv"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(("\n".join(lines) + "\n").encode())


def _write_file(folder: Path, photo: Photo, spoiled: dict[str, str], seed: list[int]) -> None:
    key = f"{photo.camera}/{photo.path}"
    if key == spoiled["video"]:
        data = tiny_mp4(photo.true)
    else:
        camera, site = CAMERAS[photo.camera], SITES[photo.site]
        data = jpeg(camera, site, photo.shown, photo.colour, subjects(photo), seed)
        if key == spoiled["truncated"]:
            data = data[:_TRUNCATED_BYTES]
        if key == spoiled["zero bytes"]:
            data = b""
    places = [folder / photo.camera / photo.path]
    if photo.camera == COPIED_CAMERA:
        places.append(folder / photo.camera / photo.path.replace(LAST_DUMP, COPY, 1))
    for place in places:
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(data)
