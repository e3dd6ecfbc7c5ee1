"""What an EXIF block says about a photo, read through exifread and never trusted.

The block is first stripped of the tags that are not needed: a camera writes some forty-five,
deerlog uses a third of them, and reading takes time by the tag. It also bounds what a damaged block
can ask for: each tag once, no nested directories.
"""

from __future__ import annotations

import io
import logging
import math
import re
import struct
from contextlib import suppress
from datetime import datetime
from typing import Any

import exifread

MAKE, MODEL, CHANGED = 0x010F, 0x0110, 0x0132
ORIGINAL, DIGITIZED = 0x9003, 0x9004
EXIF_DIRECTORY = 0x8769

_FIRST = frozenset({MAKE, MODEL, CHANGED, ORIGINAL, DIGITIZED, EXIF_DIRECTORY})
_EXIF = frozenset(
    {
        0x829A,  # ExposureTime
        0x8827,  # ISOSpeedRatings
        ORIGINAL,
        DIGITIZED,
        0x9010,  # OffsetTime
        0x9011,  # OffsetTimeOriginal
        0x9012,  # OffsetTimeDigitized
        0x9209,  # Flash
        0x9290,  # SubSecTime
        0x9291,  # SubSecTimeOriginal
        0x9292,  # SubSecTimeDigitized
        0xA431,  # BodySerialNumber
    }
)
_THUMBNAIL = frozenset({0x0201, 0x0202})  # where the embedded JPEG begins, and its length
_MAKER_BLOCK = 0x927C
_LONG = 4
_MOST_ENTRIES = 1_000


Entries = dict[int, tuple[int, int, bytes]]
"""Of a directory: by tag its type, count, and value or where that lies."""


def lean_exif(block: bytes) -> bytes:
    """The same block with directories of the needed tags only, put behind it.

    Values stay where they are, so that no offset changes. The block is a TIFF structure, from its
    byte-order mark on, of at least eight bytes.

    Raises
    ------
    struct.error
        A directory lies outside the block.
    """
    order = "<" if block[:2] == b"II" else ">"
    (first_at,) = struct.unpack_from(order + "I", block, 4)
    first, second_at = _directory(block, order, first_at, _FIRST)
    exif: Entries = {}
    if EXIF_DIRECTORY in first:
        (exif_at,) = struct.unpack(order + "I", first.pop(EXIF_DIRECTORY)[2])
        exif, _ = _directory(block, order, exif_at, _EXIF)
    thumbnail: Entries = {}
    if second_at:
        with suppress(struct.error):  # the thumbnail is lost then, the rest is not
            thumbnail, _ = _directory(block, order, second_at, _THUMBNAIL)
    at = len(block)
    after = at + _size(first) + (12 if exif else 0)
    if exif:
        first[EXIF_DIRECTORY] = (_LONG, 1, struct.pack(order + "I", after))
    following = after + (_size(exif) if exif else 0) if thumbnail else 0
    return b"".join(
        (
            block[:4],
            struct.pack(order + "I", at),
            block[8:],
            _packed(first, order, following),
            _packed(exif, order, 0) if exif else b"",
            _packed(thumbnail, order, 0) if thumbnail else b"",
        )
    )


def has_maker_block(block: bytes) -> bool:
    """Whether a readable block holds the maker's private tags, which nobody else can read."""
    order = "<" if block[:2] == b"II" else ">"
    try:
        (first_at,) = struct.unpack_from(order + "I", block, 4)
        first, _ = _directory(block, order, first_at, _FIRST)
        (exif_at,) = struct.unpack(order + "I", first[EXIF_DIRECTORY][2])
        return bool(_directory(block, order, exif_at, frozenset({_MAKER_BLOCK}))[0])
    except (struct.error, KeyError):
        return False


def _directory(block: bytes, order: str, at: int, wanted: frozenset[int]) -> tuple[Entries, int]:
    """Wanted entries of a directory, and where the next one lies."""
    (count,) = struct.unpack_from(order + "H", block, at)
    end = at + 2 + 12 * min(count, _MOST_ENTRIES)
    whole = block[at + 2 : min(end, at + 2 + (len(block) - at - 2) // 12 * 12)]
    entries = {
        tag: (kind, number, value)
        for tag, kind, number, value in struct.iter_unpack(order + "HHI4s", whole)
        if tag in wanted
    }
    following = block[end : end + 4]
    return entries, struct.unpack(order + "I", following)[0] if len(following) == 4 else 0


def _size(entries: Entries) -> int:
    return 2 + 12 * len(entries) + 4


def _packed(entries: Entries, order: str, following: int) -> bytes:
    rows = [struct.pack(order + "HHI4s", tag, *entry) for tag, entry in entries.items()]
    return b"".join(
        (struct.pack(order + "H", len(rows)), *rows, struct.pack(order + "I", following))
    )


# exifread warns on standard error about every odd tag; what matters here is told as a reason.
logging.getLogger("exifread").setLevel(logging.CRITICAL)

FIRST_YEAR, LAST_YEAR = 1970, 2100
"""Years a camera's clock may show; those that clock.csv can name. Not imported from there, since
worker processes would then have to load all that reads tables."""

_TIME = re.compile(
    r"\s*(\d{4})[:/.-](\d{1,2})[:/.-](\d{1,2})[ T]+(\d{1,2}):(\d{1,2})(?::(\d{1,2}))?(?!\d)"
)
_OFFSET = re.compile(r"\s*([+-])(\d{2}):?(\d{2})")

# Time tags in order of trust: when the shutter opened; when it was stored; when the file was last
# changed, which may be years later. Some cameras put the first two into the image's own directory.
# With each its fraction of a second and its offset from UTC (EXIF 2.32).
_TIME_TAGS = (
    ("original", "EXIF DateTimeOriginal", "EXIF SubSecTimeOriginal", "EXIF OffsetTimeOriginal"),
    ("original", "Image DateTimeOriginal", "EXIF SubSecTimeOriginal", "EXIF OffsetTimeOriginal"),
    ("digitized", "EXIF DateTimeDigitized", "EXIF SubSecTimeDigitized", "EXIF OffsetTimeDigitized"),
    ("digitized", "Image DateTimeDigitized", "", ""),
    ("changed", "Image DateTime", "EXIF SubSecTime", "EXIF OffsetTime"),
)


class ExifUnreadable(Exception):
    """An EXIF block that cannot be read, or holds no time; the text is the reason."""


def read_exif(block: bytes) -> tuple[dict[str, Any], bytes]:
    """What the EXIF block of a picture says, and its thumbnail (``b""`` if it has none).

    Parameters
    ----------
    block
        The TIFF structure, from its byte-order mark on.

    Returns
    -------
    facts
        By the names of `deerlog.ingest.cards.photo_file.FileRecord`.
    thumbnail
        The embedded small JPEG.

    Raises
    ------
    ExifUnreadable
        The block is damaged, or holds no time.
    """
    try:
        tags = exifread.process_file(io.BytesIO(lean_exif(block)), details=False)
    # exifread meets arbitrary bytes here and raises nearly anything on them: IndexError,
    # ValueError, struct.error, TypeError.
    except Exception as error:
        raise ExifUnreadable("EXIF block is damaged") from error
    blank = False
    for source, tag, fraction_tag, offset_tag in _TIME_TAGS:
        if tag not in tags:
            continue
        shown = parse_shown(_text(tags, tag))
        if not shown:
            blank = True
            continue
        flash = _number(tags, "EXIF Flash")
        iso = _number(tags, "EXIF ISOSpeedRatings")
        thumbnail = tags.get("JPEGThumbnail", b"")
        facts = {
            "shown": shown,
            "time_source": source,
            "fraction_us": _fraction_us(_text(tags, fraction_tag)),
            "offset_minutes": _offset_minutes(_text(tags, offset_tag)),
            "make": _text(tags, "Image Make"),
            "model": _text(tags, "Image Model"),
            "serial": _text(tags, "EXIF BodySerialNumber"),
            "flash": None if flash is None else bool(int(flash) & 1),
            "exposure_s": _number(tags, "EXIF ExposureTime"),
            "iso": None if iso is None else int(iso),
        }
        return facts, thumbnail if isinstance(thumbnail, bytes) else b""
    if not tags:
        raise ExifUnreadable("EXIF block is damaged")
    if blank:
        raise ExifUnreadable("EXIF time is blank or impossible")
    private = has_maker_block(block)
    raise ExifUnreadable(
        "no EXIF time, unless in the maker's own block" if private else "no EXIF time"
    )


def parse_shown(text: str) -> str:
    """An EXIF time as ``YYYY-MM-DD HH:MM:SS``, or ``""`` for a blank, zero or impossible one.

    Years outside `FIRST_YEAR` to `LAST_YEAR` are impossible.
    """
    match = _TIME.match(text)
    if not match:
        return ""
    year, month, day, hour, minute, second = (int(part or 0) for part in match.groups())
    try:
        # No zone: it is what the camera's clock showed.
        time = datetime(year, month, day, hour, minute, second)  # noqa: DTZ001
    except ValueError:
        return ""
    return time.isoformat(sep=" ") if FIRST_YEAR <= year <= LAST_YEAR else ""


def _text(tags: dict[str, Any], name: str) -> str:
    tag = tags.get(name)
    if tag is None:
        return ""
    values = tag.values
    if isinstance(values, bytes):
        values = values.decode("latin-1")
    if not isinstance(values, str):
        return ""
    if not values.isprintable():
        values = "".join(letter for letter in values if letter.isprintable())
    return values.strip()


def _number(tags: dict[str, Any], name: str) -> float | None:
    tag = tags.get(name)
    if tag is None or isinstance(tag.values, (str, bytes)) or not tag.values:
        return None
    value = tag.values[0]
    try:
        number = value.num / value.den if hasattr(value, "den") else float(value)
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if math.isfinite(number) and 0 <= number < 2**31 else None


def _fraction_us(text: str) -> int:
    return int(text[:6].ljust(6, "0")) if text.isascii() and text.isdigit() else 0


def _offset_minutes(text: str) -> int | None:
    match = _OFFSET.match(text)
    if not match:
        return None
    minutes = int(match[2]) * 60 + int(match[3])
    if minutes > 14 * 60:
        return None
    return -minutes if match[1] == "-" else minutes
