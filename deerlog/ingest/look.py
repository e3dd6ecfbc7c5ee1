"""How coloured a picture is: grey by infrared at night, coloured by day."""

from __future__ import annotations

import io
import math

import numpy as np
from PIL.JpegImagePlugin import JpegImageFile

SMALL = (40, 30)
"""Pixels that are enough to tell grey from colour."""
MOST_PIXELS = 2_000_000
"""Beyond this a picture, though decoded at an eighth of its size, is not worth the time."""
FULL_COLOUR = 6.0
"""Spread of colour (YCbCr units, root mean square) from which a picture counts as fully coloured.

Our choice: JPEG noise on a grey picture stays below one unit, grass and sky give ten and more, an
overcast wood in snow about three."""
INFO_STRIP = 0.1
"""Share of the height left out at the top and the bottom, where cameras print a coloured strip with
date and mark into grey pictures too; our choice."""


def look_of(jpeg: bytes) -> float | None:
    """Colour of a JPEG from 0 (grey) to 1 (coloured), or None if it cannot be decoded.

    Measured as the spread of colour that brightness does not explain: an infrared picture with a
    tint over all of it is grey still.
    """
    try:
        # Not Image.open, which first tries what kind of picture it may be.
        with JpegImageFile(io.BytesIO(jpeg)) as picture:
            if picture.mode == "L":
                return 0.0
            picture.draft("YCbCr", SMALL)
            if picture.mode != "YCbCr":
                return None
            width, height = picture.size
            if width * height > MOST_PIXELS:
                return None
            raw = picture.tobytes()
    # Pillow meets arbitrary bytes here, and raises nearly anything on them.
    except Exception:
        return None
    rows = np.frombuffer(raw, dtype=np.uint8).reshape(height, width * 3)
    strip = int(height * INFO_STRIP)
    pixels = rows[strip : height - strip].reshape(-1, 3).astype(np.float32)
    pixels -= pixels.sum(axis=0) / len(pixels)
    # Sums of squares and products of brightness y and the two colours.
    products = pixels.T @ pixels
    yy, yb, yr, bb, rr = (float(products[at]) for at in ((0, 0), (0, 1), (0, 2), (1, 1), (2, 2)))
    spread = bb + rr - (yb * yb + yr * yr) / yy if yy > 0 else bb + rr
    return round(min(math.sqrt(max(spread, 0.0) / len(pixels)) / FULL_COLOUR, 1.0), 3)
