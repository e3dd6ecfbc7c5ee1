"""Where the EXIF block of a JPEG lies, and whether its picture is complete."""

from __future__ import annotations

from dataclasses import dataclass

_EXIF = b"Exif\x00\x00"
_TIFF_STARTS = (b"II*\x00", b"MM\x00*")
_WITHOUT_LENGTH = frozenset({0x01, *range(0xD0, 0xD9)})
_APP1, _START_OF_SCAN, _END = 0xE1, 0xDA, 0xD9


@dataclass(frozen=True, slots=True)
class Segments:
    """What a walk over the first segments of a JPEG found.

    Attributes
    ----------
    exif
        The TIFF structure of the EXIF block, from its byte-order mark on; ``b""`` if none.
    wanted
        How many leading bytes would be needed to go on; 0 when the walk was complete.
    scan
        Where the picture's own data begins; 0 if it was not reached.
    """

    exif: bytes = b""
    wanted: int = 0
    scan: int = 0


def read_segments(head: bytes) -> Segments:
    """Walk the segments of a JPEG up to its EXIF block, or to the picture if it has none.

    Parameters
    ----------
    head
        The leading bytes of the file; it begins with ``FF D8``.
    """
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


def is_complete(tail: bytes) -> bool:
    """Whether the end-of-image mark stands in the last bytes of a JPEG.

    Some cameras fill the file up behind it, so it need not be the very end.
    """
    return tail.rfind(b"\xff\xd9") >= 0


def is_tiff(block: bytes) -> bool:
    """Whether a block begins as EXIF must, with a byte-order mark."""
    return block.startswith(_TIFF_STARTS)
