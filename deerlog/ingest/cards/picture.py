"""What the bytes of a file say: what it is, where a JPEG's parts lie, how coloured its picture is.

Grey is taken by infrared at night, coloured by day. The name of a file is never asked.
"""

from __future__ import annotations

import io
import math
from typing import NamedTuple

import numpy as np
from PIL.JpegImagePlugin import JpegImageFile

JPEG = "jpeg"
MP4 = "mp4"
AVI = "avi"

# First bytes, and what to call the file when saying that it cannot be read.
_OTHERS = (
    (b"\x89PNG\r\n\x1a\n", "a PNG picture"),
    (b"GIF8", "a GIF picture"),
    (b"BM", "a BMP picture"),
    (b"II*\x00", "a TIFF or raw picture"),
    (b"MM\x00*", "a TIFF or raw picture"),
    (b"\x00\x00\x00\x0cJXL ", "a JPEG XL picture"),
    (b"\x00\x00\x01\xba", "an MPEG video without a time"),
    (b"\x00\x00\x01\xb3", "an MPEG video without a time"),
    (b"\x1aE\xdf\xa3", "a Matroska video without a time"),
    (b"0&\xb2u\x8ef\xcf\x11", "an ASF video without a time"),
    (b"PK\x03\x04", "a zip archive"),
    (b"%PDF", "a PDF"),
    (b"SQLite format 3", "a database"),
)
_STILL_BRANDS = frozenset({b"heic", b"heix", b"heim", b"heis", b"mif1", b"msf1", b"hevc"})
_FIRST_BOXES = frozenset({b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot"})


def kind_of(head: bytes) -> str:
    """``JPEG``, ``MP4`` (also QuickTime) or ``AVI``; else words such as ``a PNG picture``.

    The first 16 bytes of a file that is not empty are enough.
    """
    if head.startswith(b"\xff\xd8"):
        return JPEG
    if head[:4] == b"RIFF":
        form = head[8:12]
        if form == b"AVI ":
            return AVI
        return {b"WEBP": "a WebP picture", b"WAVE": "a sound"}.get(form, "not an image")
    if head[4:8] == b"ftyp":
        brand = head[8:12]
        if brand in _STILL_BRANDS:
            return "a HEIC picture"
        return "an AVIF picture" if brand in (b"avif", b"avis") else MP4
    if head[4:8] in _FIRST_BOXES:
        return MP4
    for start, words in _OTHERS:
        if head.startswith(start):
            return words
    if not head.strip(b"\x00"):
        return "nothing but zeros"
    return "not an image"


_EXIF = b"Exif\x00\x00"
_WITHOUT_LENGTH = frozenset({0x01, *range(0xD0, 0xD9)})
_APP1, _START_OF_SCAN, _END = 0xE1, 0xDA, 0xD9
_BASELINE = (0xC0, 0xC1)


class Segments(NamedTuple):
    """What a walk over the first segments of a JPEG found."""

    exif: bytes = b""
    """The TIFF structure of the EXIF block, from its byte-order mark on; ``b""`` if none."""
    wanted: int = 0
    """How many leading bytes would be needed to go on; 0 when the walk was complete."""
    scan: int = 0
    """Where the picture's own data begins; 0 if it was not reached."""


def read_segments(head: bytes) -> Segments:
    """Walk the leading bytes of a JPEG up to its EXIF block, or to the picture if it has none."""
    place, size = 2, len(head)
    while True:
        # Any number of FF may fill the space before a marker.
        while place + 1 < size and head[place] == 0xFF and head[place + 1] == 0xFF:
            place += 1
        if place + 4 > size:
            return Segments(wanted=place + 65_536)
        if head[place] != 0xFF:
            return Segments()  # no segments any more: what follows cannot be understood
        marker = head[place + 1]
        if marker in _WITHOUT_LENGTH:
            place += 2
            continue
        if marker in (_START_OF_SCAN, _END):
            return Segments(scan=place)
        length = (head[place + 2] << 8) + head[place + 3]
        if length < 2:
            return Segments()
        after = place + 2 + length
        if marker == _APP1 and head.startswith(_EXIF, place + 4):
            block = head[place + 10 : after]
            if after > size:
                return Segments(exif=block, wanted=after)
            return Segments(exif=block, scan=after)
        place = after


SMALL = (20, 15)
"""Pixels that are enough to tell grey from colour."""
MOST_DECODED = 2_000_000
"""Pixels, once made small, beyond which a picture is not worth the time."""
FULL_COLOUR = 6.0
"""Spread of colour (YCbCr units, root mean square) from which a picture counts as fully coloured.

Our choice: JPEG noise on a grey picture stays below one unit, grass and sky give ten and more, an
overcast wood in snow about three."""
INFO_STRIP = 0.1
"""Share of the height left out at the top and the bottom, where cameras print a coloured strip with
date and mark into grey pictures too; our choice."""


def look_of(
    jpeg: bytes,
    most_pixels: int = 100_000_000,
    *,
    strips: tuple[float, float] = (INFO_STRIP, INFO_STRIP),
) -> float | None:
    """Colour of a JPEG from 0 (grey) to 1 (coloured), or None if it cannot be decoded.

    Measured as the spread of colour that brightness does not explain: an infrared picture with a
    tint over all of it is grey still. One with more than ``most_pixels`` is not decoded;
    ``strips`` are the shares of its height left out at the top and the bottom.
    """
    try:
        # Not Image.open, which first tries what kind of picture it may be.
        picture = JpegImageFile(io.BytesIO(jpeg))
        if picture.mode == "L":
            return 0.0
        if picture.width * picture.height > most_pixels:
            return None
        picture.draft("YCbCr", SMALL)
        if picture.mode != "YCbCr" or picture.width * picture.height > MOST_DECODED:
            return None
        raw = picture.tobytes()
        width, height = picture.size
    # Pillow meets arbitrary bytes here, and raises nearly anything on them.
    except Exception:
        return None
    top, bottom = (int(height * share) * width * 3 for share in strips)
    pixels = np.frombuffer(raw, np.uint8, len(raw) - top - bottom, top).reshape(-1, 3)
    n = len(pixels)
    # Brightness y, the two colours b and r, and ones: one product gives all sums, and all sums of
    # products. For so few pixels plain figures are faster from there than arrays.
    values = np.ones((n, 4), dtype=np.float64)
    values[:, :3] = pixels
    (yy, yb, yr, y), (_, bb, _, b), (_, _, rr, r), _ = (values.T @ values).tolist()
    yy, yb, yr = yy - y * y / n, yb - y * b / n, yr - y * r / n
    colour = bb - b * b / n + rr - r * r / n
    if yy > 0:
        colour -= (yb * yb + yr * yr) / yy
    spread: float = math.sqrt(max(colour, 0.0) / n)
    return round(min(spread / FULL_COLOUR, 1.0), 3)


def look_of_upper_half(jpeg: bytes) -> float | None:
    """`look_of` by the upper half of a picture, which takes half the time.

    One whose picture comes in several passes over all of it is decoded whole.
    """
    place = 2
    while place + 9 < len(jpeg) and jpeg[place] == 0xFF:
        marker, length = jpeg[place + 1], int.from_bytes(jpeg[place + 2 : place + 4], "big")
        # Whole blocks of the usual 16 lines.
        lines = int.from_bytes(jpeg[place + 5 : place + 7], "big") // 32 * 16
        if marker in _BASELINE and lines:
            half = jpeg[: place + 5] + lines.to_bytes(2, "big") + jpeg[place + 7 :]
            return look_of(half, strips=(2 * INFO_STRIP, 0.0))
        if marker in (*_BASELINE, _START_OF_SCAN) or length < 2:
            break
        place += 2 + length
    return look_of(jpeg)
