"""What an EXIF block says about a photo, read through exifread and never trusted."""

from __future__ import annotations

import io
import logging
import math
import re
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import exifread

from deerlog.ingest.cards.lean_exif import has_maker_block, lean_exif

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


@dataclass(frozen=True, slots=True)
class ExifFacts:
    """What a block says.

    Attributes
    ----------
    shown
        What the camera's clock showed, ``YYYY-MM-DD HH:MM:SS``.
    time_source
        ``original``, ``digitized`` or ``changed``: which tag it is from.
    fraction_us
        Microseconds beyond ``shown``.
    offset_minutes
        Minutes east of UTC as the camera stated them beside this time, or None.
    make, model, serial
        As written, ``""`` if absent.
    flash
        Whether the flash (infrared as well) fired; None if not said.
    exposure_s, iso
        Exposure in seconds, sensitivity; None if not said.
    thumbnail
        The embedded small JPEG, ``b""`` if none.
    """

    shown: str
    time_source: str
    fraction_us: int
    offset_minutes: int | None
    make: str
    model: str
    serial: str
    flash: bool | None
    exposure_s: float | None
    iso: int | None
    thumbnail: bytes


def read_exif(block: bytes) -> ExifFacts:
    """Read the EXIF block of a picture.

    Parameters
    ----------
    block
        The TIFF structure, from its byte-order mark on.

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
        return ExifFacts(
            shown=shown,
            time_source=source,
            fraction_us=_fraction_us(_text(tags, fraction_tag)),
            offset_minutes=_offset_minutes(_text(tags, offset_tag)),
            make=_text(tags, "Image Make"),
            model=_text(tags, "Image Model"),
            serial=_text(tags, "EXIF BodySerialNumber"),
            flash=None if flash is None else bool(int(flash) & 1),
            exposure_s=_number(tags, "EXIF ExposureTime"),
            iso=None if iso is None else int(iso),
            thumbnail=thumbnail if isinstance(thumbnail, bytes) else b"",
        )
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
