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
TEMPERATURE, PRESSURE = 0x9400, 0x9402  # ambient, degrees Celsius and hectopascal (EXIF 2.31)

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
        TEMPERATURE,
        PRESSURE,
        0xA431,  # BodySerialNumber
    }
)
_THUMBNAIL = frozenset({0x0201, 0x0202})  # where the embedded JPEG begins, and its length
_MAKER_BLOCK = 0x927C
_LONG = 4
_NO_ENTRIES = bytes(6)
_MOST_ENTRIES = 1_000


Entries = dict[int, tuple[int, int, bytes]]
"""Of a directory: by tag its type, count, and value or where that lies."""


def lean_exif(block: bytes) -> bytes:
    """The same block with directories of the needed tags only, put behind it.

    Values stay where they are, so that no offset changes. The block is a TIFF structure, from its
    byte-order mark on, of at least eight bytes; a directory outside it is a `struct.error`.
    """
    order, first, second_at = _first_directory(block)
    exif = thumbnail = b""
    if EXIF_DIRECTORY in first:
        (exif_at,) = struct.unpack(order + "I", first.pop(EXIF_DIRECTORY)[2])
        exif = _packed(_directory(block, order, exif_at, _EXIF)[0], order)
    if second_at:
        with suppress(struct.error):  # the thumbnail is lost then, the rest is not
            thumbnail = _packed(_directory(block, order, second_at, _THUMBNAIL)[0], order)
    at = len(block)
    after = at + len(_packed(first, order) or _NO_ENTRIES) + (12 if exif else 0)
    if exif:
        first[EXIF_DIRECTORY] = (_LONG, 1, struct.pack(order + "I", after))
    # A directory ends with where the next one lies.
    lean = (_packed(first, order) or _NO_ENTRIES)[:-4]
    following = struct.pack(order + "I", after + len(exif) if thumbnail else 0)
    return b"".join(
        (block[:4], struct.pack(order + "I", at), block[8:], lean, following, exif, thumbnail)
    )


def maker_block(block: bytes) -> bytes:
    """The maker's private tags in a readable block, ``b""`` where it holds none."""
    try:
        order, first, _ = _first_directory(block)
        (exif_at,) = struct.unpack(order + "I", first[EXIF_DIRECTORY][2])
        found, _ = _directory(block, order, exif_at, frozenset({_MAKER_BLOCK}))
        _, length, value = found[_MAKER_BLOCK]
        (place,) = struct.unpack(order + "I", value)
    except (struct.error, KeyError):
        return b""
    # A block so short that it stands in its own entry is none that is known.
    return block[place : place + length] or value


def _first_directory(block: bytes) -> tuple[str, Entries, int]:
    """The block's order of bytes, and what `_directory` gives of its first directory."""
    order = "<" if block[:2] == b"II" else ">"
    (first_at,) = struct.unpack_from(order + "I", block, 4)
    return order, *_directory(block, order, first_at, _FIRST)


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


def _packed(entries: Entries, order: str) -> bytes:
    """A directory that no other follows, ``b""`` where it has no entries."""
    rows = [struct.pack(order + "HHI4s", tag, *entry) for tag, entry in entries.items()]
    return b"".join((struct.pack(order + "H", len(rows)), *rows, bytes(4))) if rows else b""


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


# Year, month, day, hour, minute and second are the 0th to 5th of an EXIF time.
_MONTH_FIRST, _DAY_FIRST = (5, 4, 3, 1, 2, 0), (5, 4, 3, 2, 1, 0)

MAKER_LAYOUTS = (
    # Six numbers of two bytes; some firmware writes them big-endian in a little-endian block.
    (bytes.fromhex("01f1"), 22, "<6H", _MONTH_FIRST),
    (bytes.fromhex("01f1"), 22, ">6H", _MONTH_FIRST),
    # A packed time: five single bytes, and two for the year.
    (bytes.fromhex("5245434f4e5958554600"), 59, "<5BH", _DAY_FIRST),
    (bytes.fromhex("5245434f4e5958483200"), 62, "<6H", _DAY_FIRST),
)
"""First bytes, where the time lies, its ``struct`` format, and what its numbers are. All from
memory of the tag lists that open metadata programs publish for scouting cameras; a time is only
taken where it can be one, in the order given. An unknown block is left alone."""


class ExifUnreadable(Exception):
    """An EXIF block that cannot be read, or holds no time; the text is the reason."""


def read_exif(block: bytes) -> tuple[dict[str, Any], bytes]:
    """What the EXIF block of a picture says, and its thumbnail (``b""`` if it has none).

    The block is the TIFF structure, from its byte-order mark on; what it says has the names of
    `deerlog.ingest.cards.photo_file.FileRecord`, and the thumbnail is a small JPEG. Raises
    `ExifUnreadable` where it is damaged, or holds no time.
    """
    try:
        tags = exifread.process_file(io.BytesIO(lean_exif(block)), details=False)
    # exifread meets arbitrary bytes here and raises nearly anything on them: IndexError,
    # ValueError, struct.error, TypeError.
    except Exception as error:
        raise ExifUnreadable("EXIF block is damaged") from error
    times = {tag: parse_shown(_text(tags, tag)) for _, tag, *_ in _TIME_TAGS if tag in tags}
    for source, tag, fraction_tag, offset_tag in _TIME_TAGS:
        if times.get(tag):
            fraction, offset = _text(tags, fraction_tag), _text(tags, offset_tag)
            return _facts(tags, times[tag], source, fraction, offset)
    if not tags:
        raise ExifUnreadable("EXIF block is damaged")
    private = maker_block(block)
    shown = maker_time(private)
    if shown:
        return _facts(tags, shown, "maker")
    if times:
        raise ExifUnreadable("EXIF time is blank or impossible")
    raise ExifUnreadable(
        "no EXIF time, unless in the maker's own block" if private else "no EXIF time"
    )


def _facts(
    tags: dict[str, Any], shown: str, source: str, fraction: str = "", offset: str = ""
) -> tuple[dict[str, Any], bytes]:
    """What `read_exif` gives for a time."""
    flash = _number(tags, "EXIF Flash")
    iso = _number(tags, "EXIF ISOSpeedRatings")
    thumbnail = tags.get("JPEGThumbnail", b"")
    facts = {
        "shown": shown,
        "time_source": source,
        "fraction_us": _fraction_us(fraction),
        "offset_minutes": _offset_minutes(offset),
        "make": _text(tags, "Image Make"),
        "model": _text(tags, "Image Model"),
        "serial": _text(tags, "EXIF BodySerialNumber"),
        "flash": None if flash is None else bool(int(flash) & 1),
        "exposure_s": _number(tags, "EXIF ExposureTime"),
        "iso": None if iso is None else int(iso),
        # exifread has no names for these.
        "temperature_c": _number(tags, f"EXIF Tag 0x{TEMPERATURE:04X}", low=-100, high=100),
        "pressure_hpa": _number(tags, f"EXIF Tag 0x{PRESSURE:04X}", low=300, high=1200),
    }
    return facts, thumbnail if isinstance(thumbnail, bytes) else b""


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


def maker_time(block: bytes) -> str:
    """What the clock showed, ``YYYY-MM-DD HH:MM:SS``; ``""`` for a block that is not known."""
    for signature, place, layout, order in MAKER_LAYOUTS:
        if block.startswith(signature) and len(block) >= place + struct.calcsize(layout):
            numbers = struct.unpack_from(layout, block, place)
            parts = [str(number) for _, number in sorted(zip(order, numbers, strict=True))]
            shown = parse_shown(f"{':'.join(parts[:3])} {':'.join(parts[3:])}")
            if shown:
                return shown
    return ""


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


def _number(
    tags: dict[str, Any], name: str, *, low: float = 0.0, high: float = 2.0**31 - 1
) -> float | None:
    """A number that can be true, or None."""
    tag = tags.get(name)
    if tag is None or isinstance(tag.values, (str, bytes)) or not tag.values:
        return None
    value = tag.values[0]
    try:
        number = value.num / value.den if hasattr(value, "den") else float(value)
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return None
    return number if math.isfinite(number) and low <= number <= high else None


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
