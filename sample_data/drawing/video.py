"""The smallest honest MP4: a file type box and a movie header with its creation time."""

from __future__ import annotations

import struct

import numpy as np

_SECONDS_1904_TO_1970 = 2_082_844_800  # ISO 14496-12 counts seconds since 1904, in UTC


def tiny_mp4(created_utc: np.datetime64, seconds: int = 10) -> bytes:
    """An MP4 without a track, created at an instant (UTC, as ISO 14496-12 says)."""
    stamp = int((created_utc - np.datetime64("1970-01-01", "s")) / np.timedelta64(1, "s"))
    stamp += _SECONDS_1904_TO_1970
    timescale = 1000
    header = struct.pack(">LLLLL", 0, stamp, stamp, timescale, seconds * timescale)
    header += struct.pack(">LH", 0x00010000, 0x0100) + bytes(10)
    header += struct.pack(">9L", 0x00010000, 0, 0, 0, 0x00010000, 0, 0, 0, 0x40000000)
    header += bytes(24) + struct.pack(">L", 1)
    movie = _box(b"moov", _box(b"mvhd", header))
    return (
        _box(b"ftyp", b"isom" + struct.pack(">L", 512) + b"isomiso2mp41")
        + movie
        + _box(b"mdat", b"")
    )


def _box(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">L", 8 + len(body)) + kind + body
