"""An EXIF block (Exif 2.32, little-endian TIFF) with an embedded thumbnail, from plain values.

Pillow writes the first two directories only; cameras also write a third, with the thumbnail.
"""

from __future__ import annotations

import struct

ASCII, SHORT, LONG, RATIONAL, UNDEFINED = 2, 3, 4, 5, 7
_SIZE = {ASCII: 1, SHORT: 2, LONG: 4, RATIONAL: 8, UNDEFINED: 1}

Value = str | int | bytes | tuple[int, int]
Entry = tuple[int, int, Value]
"""Tag, type, value; a rational is (numerator, denominator)."""


def exif_block(main: list[Entry], detail: list[Entry], thumbnail: bytes) -> bytes:
    """The payload of an APP1 segment, starting with ``Exif`` and two zero bytes.

    Parameters
    ----------
    main, detail
        Entries of the first directory and of the Exif directory; the pointers between them and to
        the thumbnail are added here.
    thumbnail
        A JPEG stream.
    """
    main_at = 8
    detail_at = main_at + _length([*main, (0x8769, LONG, 0)])
    third_at = detail_at + _length(detail)
    third: list[Entry] = [(0x0103, SHORT, 6), (0x0201, LONG, 0), (0x0202, LONG, len(thumbnail))]
    thumbnail_at = third_at + _length(third)
    third[1] = (0x0201, LONG, thumbnail_at)
    body = b"II*\0" + struct.pack("<L", main_at)
    body += _directory([*main, (0x8769, LONG, detail_at)], main_at, third_at)
    body += _directory(detail, detail_at, 0)
    body += _directory(third, third_at, 0)
    return b"Exif\0\0" + body + thumbnail


def _bytes_of(kind: int, value: Value) -> bytes:
    if isinstance(value, str):
        return value.encode("ascii") + b"\0"
    if isinstance(value, bytes):
        return value
    if isinstance(value, tuple):
        return struct.pack("<LL", *value)
    return struct.pack("<H" if kind == SHORT else "<L", value)


def _length(entries: list[Entry]) -> int:
    """Bytes of a directory with the values that do not fit in its entries."""
    extra = sum(
        _even(len(_bytes_of(kind, value)))
        for _, kind, value in entries
        if len(_bytes_of(kind, value)) > 4
    )
    return 2 + 12 * len(entries) + 4 + extra


def _directory(entries: list[Entry], at: int, following: int) -> bytes:
    entries = sorted(entries, key=lambda entry: entry[0])
    head = struct.pack("<H", len(entries))
    room = at + 2 + 12 * len(entries) + 4
    extra = b""
    for tag, kind, value in entries:
        data = _bytes_of(kind, value)
        count = len(data) // _SIZE[kind]
        if len(data) <= 4:
            head += struct.pack("<HHL", tag, kind, count) + data.ljust(4, b"\0")
        else:
            head += struct.pack("<HHLL", tag, kind, count, room + len(extra))
            extra += data.ljust(_even(len(data)), b"\0")
    return head + struct.pack("<L", following) + extra


def _even(n: int) -> int:
    return n + n % 2
