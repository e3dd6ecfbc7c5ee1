"""An EXIF block without the tags that are not needed, so that a reader of it has little to do.

A camera writes some forty-five tags, deerlog uses a third of them, and reading takes time by the
tag. It also bounds what a damaged block can ask for: each tag once, no nested directories.
"""

from __future__ import annotations

import struct
from contextlib import suppress

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


def lean_exif(block: bytes) -> bytes:
    """The same block with directories of the needed tags only, put behind it.

    Values stay where they are, so that no offset changes.

    Parameters
    ----------
    block
        A TIFF structure, from its byte-order mark on, of at least eight bytes.

    Raises
    ------
    struct.error
        A directory lies outside the block.
    """
    order = "<" if block[:2] == b"II" else ">"
    (first_at,) = struct.unpack_from(order + "I", block, 4)
    first, second_at = _directory(block, order, first_at, _FIRST)
    exif: dict[int, tuple[int, int, bytes]] = {}
    if EXIF_DIRECTORY in first:
        (exif_at,) = struct.unpack(order + "I", first[EXIF_DIRECTORY][2])
        exif, _ = _directory(block, order, exif_at, _EXIF)
    thumbnail: dict[int, tuple[int, int, bytes]] = {}
    if second_at:
        with suppress(struct.error):  # the thumbnail is lost then, the rest is not
            thumbnail, _ = _directory(block, order, second_at, _THUMBNAIL)
    at = len(block)
    first_size, exif_size = _size(first), _size(exif)
    if exif:
        place = struct.pack(order + "I", at + first_size)
        first[EXIF_DIRECTORY] = (_LONG, 1, place)
    else:
        first.pop(EXIF_DIRECTORY, None)
        first_size, exif_size = _size(first), 0
    following = at + first_size + exif_size if thumbnail else 0
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


def _directory(
    block: bytes, order: str, at: int, wanted: frozenset[int]
) -> tuple[dict[int, tuple[int, int, bytes]], int]:
    """Wanted entries of a directory (tag: type, count, value or its place), and what follows it."""
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


def _size(entries: dict[int, tuple[int, int, bytes]]) -> int:
    return 2 + 12 * len(entries) + 4


def _packed(entries: dict[int, tuple[int, int, bytes]], order: str, following: int) -> bytes:
    rows = [struct.pack(order + "HHI4s", tag, *entry) for tag, entry in entries.items()]
    return b"".join(
        (struct.pack(order + "H", len(rows)), *rows, struct.pack(order + "I", following))
    )
