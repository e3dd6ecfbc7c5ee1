"""Small invented card files: JPEGs with EXIF as a trail camera writes it, and videos.

The make and model are invented. Pictures are drawn from a seed, grey for night and coloured for
day.
"""

from __future__ import annotations

import io
import os
import struct
from datetime import datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

MAKE, MODEL = "Fernhollow", "FH-2"


@lru_cache(maxsize=256)
def picture(seed: int, *, grey: bool, width: int = 64, height: int = 48) -> bytes:
    """A JPEG without EXIF: soft blobs, grey or coloured."""
    rng = np.random.default_rng(seed)
    blobs = rng.integers(20, 235, (6, 8, 3), dtype=np.uint8)
    image = Image.fromarray(blobs).resize((width, height), Image.Resampling.BICUBIC)
    if grey:
        image = image.convert("L").convert("RGB")
    out = io.BytesIO()
    image.save(out, "JPEG", quality=80)
    return out.getvalue()


def exif_block(
    *,
    original: str | None = None,
    digitized: str | None = None,
    changed: str | None = None,
    offset: str | None = None,
    fraction: str | None = None,
    thumbnail: bytes = b"",
    full: bool = False,
    big_endian: bool = False,
    more: dict[str, Any] | None = None,
) -> bytes:
    """A TIFF structure, as it stands in an EXIF segment.

    With the tags that matter here; ``full`` adds the thirty others a camera usually writes, and a
    maker's private block.
    """
    tags = {"flash": 0, "exposure": (1, 60), "iso": 200, "serial": "A1B2C3"} | (more or {})
    first: list[tuple[int, int, Any]] = [(0x010F, 2, MAKE), (0x0110, 2, MODEL)]
    if changed is not None:
        first.append((0x0132, 2, changed))
    sub: list[tuple[int, int, Any]] = []
    if tags["exposure"]:
        sub.append((0x829A, 5, tags["exposure"]))
    if tags["iso"] is not None:
        sub.append((0x8827, 3, tags["iso"]))
    if original is not None:
        sub.append((0x9003, 2, original))
    if digitized is not None:
        sub.append((0x9004, 2, digitized))
    if offset is not None:
        sub.append((0x9011, 2, offset))
    if tags["flash"] is not None:
        sub.append((0x9209, 3, tags["flash"]))
    if fraction is not None:
        sub.append((0x9291, 2, fraction))
    if "maker" in tags:
        sub.append((0x927C, 7, tags["maker"]))
    if "temperature" in tags:
        sub += [(0x9400, 10, tags["temperature"]), (0x9402, 5, tags["pressure"])]
    if tags["serial"]:
        sub.append((0xA431, 2, tags["serial"]))
    if full:
        first += _USUAL_FIRST
        sub += _USUAL_SUB
    first.append((0x8769, 4, 0))
    first.sort()
    place = [tag for tag, _, _ in first].index(0x8769)
    order = ">" if big_endian else "<"
    start = 8
    sub_at = start + len(_directory(first, start, 0, order))
    first[place] = (0x8769, 4, sub_at)
    thumb_at = sub_at + len(_directory(sub, sub_at, 0, order))
    parts = [
        (b"MM" if big_endian else b"II") + struct.pack(order + "HI", 42, start),
        _directory(first, start, thumb_at if thumbnail else 0, order),
        _directory(sub, sub_at, 0, order),
    ]
    if thumbnail:
        second: list[tuple[int, int, Any]] = [
            (0x0103, 3, 6),
            (0x0201, 4, 0),
            (0x0202, 4, len(thumbnail)),
        ]
        second[1] = (0x0201, 4, thumb_at + len(_directory(second, thumb_at, 0, order)))
        parts += [_directory(second, thumb_at, 0, order), thumbnail]
    return b"".join(parts)


_USUAL_FIRST: list[tuple[int, int, Any]] = [
    (0x010E, 2, "trail"),
    (0x0112, 3, 1),
    (0x011A, 5, (72, 1)),
    (0x011B, 5, (72, 1)),
    (0x0128, 3, 2),
    (0x0131, 2, "FH2 1.07"),
    (0x013B, 2, "none"),
    (0x0213, 3, 2),
    (0x8298, 2, "none"),
]
_USUAL_SUB: list[tuple[int, int, Any]] = [
    (0x829D, 5, (28, 10)),
    (0x8822, 3, 2),
    (0x9000, 7, b"0220"),
    (0x9101, 7, b"\x01\x02\x03\x00"),
    (0x9102, 5, (4, 1)),
    (0x9201, 5, (59, 10)),
    (0x9202, 5, (29, 10)),
    (0x9204, 5, (0, 10)),
    (0x9205, 5, (30, 10)),
    (0x9207, 3, 5),
    (0x9208, 3, 0),
    (0x920A, 5, (74, 10)),
    (0x927C, 7, bytes(range(256)) * 4),
    (0xA000, 7, b"0100"),
    (0xA001, 3, 1),
    (0xA002, 4, 2560),
    (0xA003, 4, 1920),
    (0xA217, 3, 2),
    (0xA300, 7, b"\x03\x00\x00\x00"),
    (0xA301, 7, b"\x01\x00\x00\x00"),
    (0xA402, 3, 0),
    (0xA403, 3, 0),
    (0xA404, 5, (1, 1)),
    (0xA406, 3, 0),
    (0xA408, 3, 0),
    (0xA40A, 3, 0),
]


def _directory(entries: list[tuple[int, int, Any]], at: int, following: int, order: str) -> bytes:
    """One IFD with its values behind it."""
    table = struct.pack(order + "H", len(entries))
    values = b""
    values_at = at + 2 + 12 * len(entries) + 4
    for tag, kind, value in sorted(entries):
        if kind == 2:
            raw = value.encode("latin-1") + b"\x00"
        elif kind == 7:
            raw = value
        else:
            raw = struct.pack(order + {3: "H", 4: "I", 5: "II", 10: "ii"}[kind], *_pair(value))
        count = len(raw) if kind in (2, 7) else 1
        table += struct.pack(order + "HHI", tag, kind, count)
        if len(raw) <= 4:
            table += raw.ljust(4, b"\x00")
        else:
            table += struct.pack(order + "I", values_at + len(values))
            values += raw + b"\x00" * (len(raw) % 2)
    return table + struct.pack(order + "I", following) + values


def _pair(value: int | tuple[int, int]) -> tuple[int, ...]:
    return value if isinstance(value, tuple) else (value,)


def with_exif(jpeg: bytes, block: bytes) -> bytes:
    """A JPEG with an EXIF segment put in front."""
    body = b"Exif\x00\x00" + block
    return jpeg[:2] + b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body + jpeg[2:]


def photo(
    shown: datetime | str | None,
    *,
    night: bool = False,
    seed: int = 0,
    thumbnail: bool = True,
    body_bytes: int = 0,
    **exif: Any,
) -> bytes:
    """A photo as a camera writes it.

    Parameters
    ----------
    shown
        What the camera's clock showed, or the text of DateTimeOriginal; None leaves it out.
    seed
        Photos with the same seed show the same picture.
    body_bytes
        Bytes of incompressible comment to make the file as large as a real one.
    exif
        More for `exif_block`.
    """
    text = f"{shown:%Y:%m:%d %H:%M:%S}" if isinstance(shown, datetime) else shown
    small = picture(seed, grey=night, width=32, height=24) if thumbnail else b""
    block = exif_block(original=text, thumbnail=small, **exif)
    jpeg = picture(seed, grey=night)
    # So that two photos with different seeds differ even where the drawing happens to agree.
    comment = struct.pack(">I", seed) + np.random.default_rng(seed).bytes(body_bytes)
    for start in range(0, len(comment), 65_000):
        piece = comment[start : start + 65_000]
        jpeg = jpeg[:2] + b"\xff\xfe" + struct.pack(">H", len(piece) + 2) + piece + jpeg[2:]
    return with_exif(jpeg, block)


def mp4(shown: datetime | None, *, moov_last: bool = False) -> bytes:
    """The boxes of an MP4 that a reader of its time needs."""
    epoch = datetime(1904, 1, 1)  # noqa: DTZ001
    seconds = 0 if shown is None else int((shown - epoch).total_seconds())
    mvhd = _box(b"mvhd", struct.pack(">IIII", 0, seconds, seconds, 1000) + bytes(84))
    moov = _box(b"moov", mvhd)
    mdat = _box(b"mdat", bytes(5_000))
    start = _box(b"ftyp", b"mp42" + bytes(4) + b"mp42")
    return start + (mdat + moov if moov_last else moov + mdat)


def _box(name: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content) + 8) + name + content


def avi(shown: str | None) -> bytes:
    """The header of an AVI, with the time as text in its IDIT chunk."""
    chunk = b""
    if shown is not None:
        raw = shown.encode("ascii") + b"\x00"
        chunk = b"IDIT" + struct.pack("<I", len(raw)) + raw + b"\x00" * (len(raw) % 2)
    header = b"LIST" + struct.pack("<I", len(chunk) + 4) + b"hdrl" + chunk
    body = header + b"LIST" + struct.pack("<I", 4) + b"movi"
    return b"RIFF" + struct.pack("<I", len(body) + 4) + b"AVI " + body


def put(path: Path, content: bytes, *, age_days: float = 0.0) -> Path:
    """Write a card file, with a modification time that does not hang on when the test runs."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    stamp = datetime(2025, 1, 1) - timedelta(days=age_days)  # noqa: DTZ001
    os.utime(path, (stamp.timestamp(), stamp.timestamp()))
    return path
