"""The time a video's container says it was made."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from typing import BinaryIO

from deerlog.ingest.cards.exif import parse_shown

_MOST_BOXES = 1_000
_EPOCH = datetime(1904, 1, 1)  # noqa: DTZ001  (ISO/IEC 14496-12: seconds since then, see below)
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_NAMED = re.compile(r"[a-z]{3},? +([a-z]{3}) +(\d{1,2}) +(\d{1,2}:\d{2}:\d{2}) +(\d{4})", re.I)


def mp4_time(file: BinaryIO, size: int) -> str:
    """Creation time of an MP4 or QuickTime file as ``YYYY-MM-DD HH:MM:SS``, or ``""``.

    The standard (ISO/IEC 14496-12) says the time is UTC. Trail cameras know no zone and write
    what their clock shows (common practice, no published source), so it is taken as that: like
    the time of a photo.

    Parameters
    ----------
    file
        Open for reading bytes. Only the headers of its boxes are read.
    size
        Bytes in the file.
    """
    moov = _find_box(file, b"moov", 0, size)
    if not moov:
        return ""
    mvhd = _find_box(file, b"mvhd", *moov)
    if not mvhd:
        return ""
    file.seek(mvhd[0])
    body = file.read(12)
    width = 8 if body[:1] == b"\x01" else 4
    if len(body) < 4 + width:
        return ""
    seconds = int.from_bytes(body[4 : 4 + width], "big")
    if seconds == 0:
        return ""
    try:
        return parse_shown((_EPOCH + timedelta(seconds=seconds)).isoformat(sep=" "))
    except OverflowError:
        return ""


def avi_time(head: bytes) -> str:
    """Time of an AVI's ``IDIT`` chunk as ``YYYY-MM-DD HH:MM:SS``, or ``""``.

    Parameters
    ----------
    head
        The leading bytes of the file, where its header list lies.
    """
    place = head.find(b"IDIT")
    if place < 0:
        return ""
    length = int.from_bytes(head[place + 4 : place + 8], "little")
    text = head[place + 8 : place + 8 + min(length, 64)].decode("latin-1").strip("\x00\r\n ")
    named = _NAMED.match(text)
    if named:
        month = named[1].casefold()
        if month not in _MONTHS:
            return ""
        text = f"{named[4]}:{_MONTHS.index(month) + 1}:{named[2]} {named[3]}"
    return parse_shown(text)


def _find_box(file: BinaryIO, name: bytes, start: int, end: int) -> tuple[int, int] | None:
    """Where the content of the first box of a name begins and ends, between two places."""
    place = start
    for _ in range(_MOST_BOXES):
        if place + 8 > end:
            return None
        file.seek(place)
        header = file.read(16)
        if len(header) < 8:
            return None
        length, content = int.from_bytes(header[:4], "big"), place + 8
        if length == 1:
            length, content = int.from_bytes(header[8:16], "big"), place + 16
        elif length == 0:
            length = end - place
        if length < content - place:
            return None
        if header[4:8] == name:
            return content, min(place + length, end)
        place += length
    return None
