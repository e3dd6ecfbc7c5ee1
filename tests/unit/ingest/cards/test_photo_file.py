"""One card file at a time: times, looks, and reasons."""

from __future__ import annotations

import struct
import time
from datetime import datetime
from pathlib import Path

import pytest
from invented.card_photos import avi, exif_block, mp4, photo, picture, with_exif

from deerlog.ingest.cards.photo_file import FileRecord, read_chunk

SHOWN = datetime(2024, 10, 5, 6, 7, 8)  # noqa: DTZ001


def read(folder: Path, content: bytes, name: str = "a.jpg") -> FileRecord:
    path = folder / name
    path.write_bytes(content)
    state = path.stat()
    (record,) = read_chunk([(str(path), "Seep", name, state.st_size, state.st_mtime_ns)]).records
    return record


def test_a_photo_with_all_a_camera_says(tmp_path: Path) -> None:
    record = read(
        tmp_path,
        photo(SHOWN, offset="-05:00", fraction="25", more={"flash": 1, "exposure": (1, 30)}),
    )
    assert record.kind == "photo"
    assert record.reason == ""
    assert record.shown == "2024-10-05 06:07:08"
    assert record.time_source == "original"
    assert record.fraction_us == 250_000
    assert record.offset_minutes == -300
    assert (record.make, record.model, record.serial) == ("Fernhollow", "FH-2", "A1B2C3")
    assert record.flash is True
    assert record.exposure_s == pytest.approx(1 / 30)
    assert record.iso == 200
    assert record.head is not None
    assert len(record.head) == 20


@pytest.mark.parametrize(
    ("degrees", "hectopascal", "temperature", "pressure"),
    [((-75, 10), (9871, 10), -7.5, 987.1), ((0, 0), (0, 1), None, None)],
)
def test_temperature_and_pressure_of_the_air_are_kept(
    tmp_path: Path,
    degrees: tuple[int, int],
    hectopascal: tuple[int, int],
    temperature: float | None,
    pressure: float | None,
) -> None:
    more = {"temperature": degrees, "pressure": hectopascal}
    record = read(tmp_path, photo(SHOWN, more=more))
    assert record.shown is not None
    assert (record.temperature_c, record.pressure_hpa) == (temperature, pressure)


# Blocks built by hand: what stands before the time, and the time as each layout packs it.
WORDS = (8, 7, 6, 10, 5, 2024)
MAKER_BLOCKS = {
    "words, month first": struct.pack("<H", 0xF101) + bytes(20) + struct.pack("<6H", *WORDS),
    "words turned round": struct.pack("<H", 0xF101) + bytes(20) + struct.pack(">6H", *WORDS),
    "packed": bytes.fromhex("5245434f4e5958554600").ljust(59, b"\1")
    + struct.pack("<5BH", 8, 7, 6, 5, 10, 2024),
    "words, day first": bytes.fromhex("5245434f4e5958483200").ljust(62, b"\1")
    + struct.pack("<6H", 8, 7, 6, 5, 10, 2024),
}


@pytest.mark.parametrize("name", MAKER_BLOCKS)
@pytest.mark.parametrize("big_endian", [False, True])
def test_a_time_only_in_a_makers_block_that_is_known(
    tmp_path: Path, name: str, big_endian: bool
) -> None:
    def made(block: bytes, original: str | None = None) -> FileRecord:
        exif = exif_block(more={"maker": block}, original=original, big_endian=big_endian)
        return read(tmp_path, with_exif(picture(0, grey=True), exif))

    block = MAKER_BLOCKS[name] + bytes(40)
    record = made(block)
    assert (record.kind, record.shown) == ("photo", "2024-10-05 06:07:08")
    assert record.time_source == "maker"
    assert made(block, original=" " * 19).time_source == "maker"
    # The standard's own tags go before it; a block cut short, of zeros or not known is no time.
    assert made(block, original="2024:10:06 01:02:03").time_source == "original"
    for other in (block[:24], block[:10] + bytes(90), b"other" + block):
        assert made(other).reason == "no EXIF time, unless in the maker's own block"


@pytest.mark.parametrize("thumbnail", [True, False])
@pytest.mark.parametrize(("night", "low", "high"), [(True, 0.0, 0.1), (False, 0.9, 1.0)])
def test_look_is_grey_by_night_and_coloured_by_day(
    tmp_path: Path, thumbnail: bool, night: bool, low: float, high: float
) -> None:
    look = read(tmp_path, photo(SHOWN, night=night, thumbnail=thumbnail)).look
    assert look is not None
    assert low <= look <= high


def test_a_broken_thumbnail_leaves_the_picture_to_tell(tmp_path: Path) -> None:
    block = exif_block(original="2024:10:05 06:07:08", thumbnail=b"\xff\xd8 no picture \xff\xd9")
    record = read(tmp_path, with_exif(picture(1, grey=False), block))
    assert record.look is not None
    assert record.look > 0.9


@pytest.mark.parametrize(
    ("times", "source", "shown"),
    [
        ({"original": "2024:10:05 06:07:08", "digitized": "2024:01:01 00:00:00"}, "original", "06"),
        (
            {"original": "    :  :     :  :  ", "digitized": "2024:10:05 07:00:00"},
            "digitized",
            "07",
        ),
        ({"original": "0000:00:00 00:00:00", "changed": "2024:10:05 08:00:00"}, "changed", "08"),
        ({"changed": "2024-10-05T09:00:00"}, "changed", "09"),
    ],
)
def test_which_time_is_taken(
    tmp_path: Path, times: dict[str, str], source: str, shown: str
) -> None:
    record = read(tmp_path, with_exif(picture(0, grey=True), exif_block(**times)))
    assert record.time_source == source
    assert record.shown is not None
    assert record.shown.startswith(f"2024-10-05 {shown}:")


BLANK = "EXIF time is blank or impossible"


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (b"", "zero bytes"),
        (bytes(500), "nothing but zeros"),
        (b"\x89PNG\r\n\x1a\n" + bytes(50), "a PNG picture"),
        (b"\x00\x00\x00\x18ftypheic" + bytes(50), "a HEIC picture"),
        (b"RIFF\x00\x00\x00\x00WEBP" + bytes(50), "a WebP picture"),
        (b"battery log, line 1\n", "not an image"),
        (picture(0, grey=True), "no EXIF block"),
        (with_exif(picture(0, grey=True), exif_block()), "no EXIF time"),
        (with_exif(picture(0, grey=True), exif_block(full=True)),
         "no EXIF time, unless in the maker's own block"),
        (with_exif(picture(0, grey=True), exif_block(original=" " * 19)), BLANK),
        (with_exif(picture(0, grey=True), exif_block(original="2024:13:45 99:00:00")),
         BLANK),
        (with_exif(picture(0, grey=True), exif_block(original="1931:01:01 00:00:00")),
         BLANK),
        (with_exif(picture(0, grey=True), b"II*\x00\xff\xff\xff\x7f"), "EXIF block is damaged"),
        (with_exif(picture(0, grey=True), b"XX*\x00\x08\x00\x00\x00"), "EXIF block is damaged"),
        (photo(SHOWN)[:40], "truncated"),
        (b"\xff\xd8\xff", "truncated"),
        (mp4(None), "a video without a time"),
        (avi(None), "a video without a time"),
    ],
)  # fmt: skip
def test_reasons(tmp_path: Path, content: bytes, reason: str) -> None:
    record = read(tmp_path, content)
    assert (record.kind, record.reason) == ("unreadable", reason)


def test_a_picture_cut_off_behind_its_exif_keeps_its_time(tmp_path: Path) -> None:
    whole = photo(SHOWN, body_bytes=90_000)
    for cut in (len(whole) - 1_500, len(whole) - 3, 5_000):
        record = read(tmp_path, whole[:cut])
        assert (record.kind, record.reason) == ("photo", "truncated")
        assert record.shown == "2024-10-05 06:07:08"
    zeroed = read(tmp_path, whole[:-9_000] + bytes(9_000))
    assert zeroed.reason == "truncated"
    padded = read(tmp_path, whole + bytes(2_000))
    assert padded.reason == ""


def test_an_exif_block_behind_a_large_segment_is_found(tmp_path: Path) -> None:
    jpeg = photo(SHOWN)
    big = b"\xff\xe2" + struct.pack(">H", 65_000) + bytes(64_998)
    record = read(tmp_path, jpeg[:2] + big + big + jpeg[2:])
    assert record.shown == "2024-10-05 06:07:08"


@pytest.mark.parametrize("moov_last", [False, True])
def test_mp4_time_is_what_the_camera_showed(tmp_path: Path, moov_last: bool) -> None:
    record = read(tmp_path, mp4(SHOWN, moov_last=moov_last), "clip.jpg")
    assert (record.kind, record.time_source) == ("video", "container")
    assert record.shown == "2024-10-05 06:07:08"


@pytest.mark.parametrize("text", ["Sat Oct  5 06:07:08 2024\n", "2024-10-05 06:07:08"])
def test_avi_time(tmp_path: Path, text: str) -> None:
    record = read(tmp_path, avi(text))
    assert (record.kind, record.time_source) == ("video", "digitized")
    assert record.shown == "2024-10-05 06:07:08"


def test_a_file_that_is_gone_is_out_of_reach_not_unreadable(tmp_path: Path) -> None:
    chunk = read_chunk([(str(tmp_path / "gone.jpg"), "Seep", "gone.jpg", 10, 0)])
    assert chunk.records == []
    ((camera, path, reason),) = chunk.out_of_reach
    assert (camera, path) == ("Seep", "gone.jpg") and reason.startswith("cannot be read (")


def test_a_block_made_to_be_slow_is_given_up(tmp_path: Path) -> None:
    """Thousands of tags that each ask for a thousand values from inside the block."""
    entry = struct.pack("<HHII", 0x9999, 3, 999, 8)
    block = b"II*\x00\x08\x00\x00\x00" + struct.pack("<H", 5_000) + entry * 5_000
    start = time.perf_counter()
    record = read(tmp_path, with_exif(picture(0, grey=True), block))
    assert record.reason == "EXIF block is damaged"
    assert time.perf_counter() - start < 2
