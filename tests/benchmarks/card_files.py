"""Properties with cards full of photos, as many and as large as wanted."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
from invented.card_photos import exif_block, picture, with_exif

CAMERAS = 4
ON_A_FOLDER = 999
START = datetime(2023, 1, 2)  # noqa: DTZ001
BURST, IN_A_BURST = 3, timedelta(seconds=5)
BETWEEN_BURSTS = timedelta(minutes=80)
"""A visit each, three photos of it."""
THUMBNAILS = 20
STRIDE = 997
"""Bytes from where one photo's body begins in the drawn ones to where the next one's does."""


def new_property(folder: Path) -> Path:
    """A property of a few cameras and no photo."""
    folder.mkdir(parents=True)
    (folder / "property.toml").write_text(
        'name = "Speed"\nlatitude = 44.0\nlongitude = -91.0\ntimezone = "America/Chicago"\n',
        encoding="utf-8",
    )
    rows = [f"cam-{i},site {i},44.0,-91.0,2023-01-01" for i in range(CAMERAS)]
    text = "\n".join(["camera,site,latitude,longitude,start", *rows])
    (folder / "cameras.csv").write_text(text + "\n", encoding="utf-8")
    return folder


def fill_with_photos(folder: Path, count: int, *, body_bytes: int, full: bool) -> int:
    """Photos with thumbnails of 160 x 120 and different bodies; gives the bytes in all.

    Parameters
    ----------
    body_bytes
        On average; each body lies within a fifth of it.
    full
        Some 45 tags and a maker's private block, or else nine tags.
    """
    thumbnails = {
        (i, grey): picture(i, grey=grey, width=160, height=120)
        for i in range(THUMBNAILS)
        for grey in (False, True)
    }
    # No byte of 255 in it: inside a JPEG's picture that would begin a marker.
    most = body_bytes * 6 // 5
    rng = np.random.default_rng(7)
    drawn = rng.integers(0, 255, most + STRIDE * 2_003, dtype=np.uint8).tobytes()
    size = 0
    for i in range(count):
        shown = taken(i)
        text = f"{shown:%Y:%m:%d %H:%M:%S}"
        thumbnail = thumbnails[i % THUMBNAILS, not 7 <= shown.hour < 17]
        block = exif_block(
            original=text, digitized=text, changed=text, thumbnail=thumbnail, full=full
        )
        begin = i % 2_003 * STRIDE
        body = drawn[begin : begin + body_bytes * (80 + i * 7 % 41) // 100]
        content = with_exif(thumbnail[:-2] + body + thumbnail[-2:], block)
        place(folder, i).write_bytes(content)
        size += len(content)
    return size


def taken(number: int) -> datetime:
    """When a photo was taken: the cameras go off together, three photos at a time."""
    burst, of_burst = divmod(number // CAMERAS, BURST)
    return START + burst * BETWEEN_BURSTS + of_burst * IN_A_BURST


def place(folder: Path, number: int) -> Path:
    """Where a photo lies; its folder is made."""
    camera, of_camera = number % CAMERAS, number // CAMERAS
    card = folder / "cards" / f"cam-{camera}" / f"{of_camera // ON_A_FOLDER:03d}FERN"
    if of_camera % ON_A_FOLDER == 0:
        card.mkdir(parents=True)
    return card / f"IMG_{of_camera % ON_A_FOLDER + 1:04d}.JPG"


def forget_the_ingest(folder: Path) -> None:
    """Make the next ingest the first one."""
    for path in [*folder.glob("deerlog.sqlite*"), *folder.glob("tags/cam-*.*")]:
        path.unlink()
