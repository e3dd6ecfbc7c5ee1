"""How coloured a picture is: grey by infrared at night, coloured by day."""

from __future__ import annotations

import io
import math

import numpy as np
from PIL.JpegImagePlugin import JpegImageFile

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


def look_of(jpeg: bytes, most_pixels: int = 100_000_000) -> float | None:
    """Colour of a JPEG from 0 (grey) to 1 (coloured), or None if it cannot be decoded.

    Measured as the spread of colour that brightness does not explain: an infrared picture with a
    tint over all of it is grey still.

    Parameters
    ----------
    most_pixels
        A picture with more is not decoded, and gives None.
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
    strip = int(height * INFO_STRIP) * width * 3
    pixels = np.frombuffer(raw, np.uint8, len(raw) - 2 * strip, strip).reshape(-1, 3)
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
