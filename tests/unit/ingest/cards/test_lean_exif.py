"""Fewer tags, the same values."""

from __future__ import annotations

import io
import struct

import exifread
import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented.card_photos import exif_block, picture

from deerlog.ingest.cards.exif import lean_exif

NEEDED = (
    "Image Make",
    "Image Model",
    "Image DateTime",
    "EXIF DateTimeOriginal",
    "EXIF DateTimeDigitized",
    "EXIF OffsetTimeOriginal",
    "EXIF SubSecTimeOriginal",
    "EXIF Flash",
    "EXIF ExposureTime",
    "EXIF ISOSpeedRatings",
    "EXIF BodySerialNumber",
)
TIME = "2024:10:05 06:07:08"


@pytest.mark.parametrize("big_endian", [False, True])
@pytest.mark.parametrize("thumbnail", [b"", picture(1, grey=False)])
def test_the_needed_tags_read_the_same_as_from_the_whole_block(
    big_endian: bool, thumbnail: bytes
) -> None:
    block = exif_block(
        original=TIME,
        digitized=TIME,
        changed=TIME,
        offset="-05:00",
        fraction="123",
        thumbnail=thumbnail,
        full=True,
        big_endian=big_endian,
    )
    whole = exifread.process_file(io.BytesIO(block), details=False)
    lean = exifread.process_file(io.BytesIO(lean_exif(block)), details=False)
    assert len(lean) < len(whole) / 2
    for name, tag in lean.items():
        if name == "Image ExifOffset":
            continue
        assert str(tag) == str(whole[name]), name
    for needed in NEEDED:
        assert needed in lean
    assert lean.get("JPEGThumbnail", b"") == thumbnail


@given(st.binary(min_size=4, max_size=200), st.sampled_from([b"II*\x00", b"MM\x00*"]))
def test_any_block_gives_a_block_of_bounded_work(rest: bytes, start: bytes) -> None:
    try:
        lean = lean_exif(start + rest)
    except struct.error:
        return
    # At most six, twelve and two entries: what follows is short.
    assert len(lean) <= len(start + rest) + 3 * 6 + 20 * 12
