"""One file of a card to one record: its time and look, or the reason why not."""

from __future__ import annotations

import hashlib
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO, NamedTuple

from deerlog.ingest.cards.exif import ExifUnreadable, read_exif
from deerlog.ingest.cards.file_kind import AVI, JPEG, MP4, kind_of
from deerlog.ingest.cards.jpeg_segments import is_complete, is_tiff, read_segments
from deerlog.ingest.cards.look import look_of
from deerlog.ingest.cards.video_time import avi_time, mp4_time

LEADING_BYTES = 16_384
"""How much of a file is read at first, and hashed: mostly the EXIF block with its thumbnail and
some of the picture. Two pictures of one size and second that agree in it are one; our choice."""
MOST_LEADING_BYTES = 524_288
"""Where an EXIF block that has not been met by then is given up."""
TAIL_BYTES = 4_096
"""How far from the end the end-of-image mark is looked for."""
WHOLE_BYTES = 131_072
EVERY_PIXELS = 100_000
ANY_PIXELS = 100_000_000
ONE_IN = 4
"""A picture without thumbnail is decoded itself for its look if its file has no more than
`WHOLE_BYTES`; beyond `EVERY_PIXELS` only one in four is, told by its hash. Our choice: decoding
takes several times as long as reading the EXIF, and a clock is judged by hundreds of looks."""


class FileRecord(NamedTuple):
    """What is kept of a file, one value a column of the photo log.

    ``kind`` is ``photo``, ``video`` or ``unreadable`` (then ``reason`` says why). A photo whose
    picture is cut off keeps its time and has ``reason`` ``truncated``: that the camera fired then
    is known. ``head`` is a hash of the leading bytes. For the others see `ExifFacts`. A row of a
    CSV photo log may say itself when its picture was read (else this run did) and that it is gone.
    """

    camera: str
    path: str
    size: int
    mtime_ns: int
    kind: str
    reason: str = ""
    shown: str | None = None
    time_source: str | None = None
    fraction_us: int = 0
    offset_minutes: int | None = None
    head: bytes | None = None
    look: float | None = None
    flash: bool | None = None
    exposure_s: float | None = None
    iso: int | None = None
    make: str = ""
    model: str = ""
    serial: str = ""
    read_on: str | None = None
    gone: bool = False


class FileOutOfReach(Exception):
    """A file that could not be opened or read this time; to be tried again next time."""


class HalfRead(NamedTuple):
    """A file whose time is read and whose look is still to be told.

    ``jpeg`` is what tells it, the embedded thumbnail or else the picture itself; ``b""`` for none.
    """

    record: FileRecord
    jpeg: bytes = b""


def read_photo_file(
    place: Path | str, camera: str, path: str, size: int, mtime_ns: int
) -> FileRecord:
    """Read one file.

    Parameters
    ----------
    place
        Where it lies on disk.
    camera, path
        How the photo log calls it.
    size, mtime_ns
        Its state when it was found.

    Raises
    ------
    FileOutOfReach
        The operating system refused; the text is the reason.
    """
    return with_look(place, begin_photo_file(place, camera, path, size, mtime_ns))


def begin_photo_file(
    place: Path | str, camera: str, path: str, size: int, mtime_ns: int
) -> HalfRead:
    """Read one file but for its look: the first half of `read_photo_file`.

    Many files are read faster if all of them go through one half before the other.
    """
    unreadable = FileRecord(camera, path, size, mtime_ns, "unreadable")
    if size == 0:
        return HalfRead(unreadable._replace(reason="zero bytes"))
    try:
        with open(place, "rb", buffering=0) as file:  # noqa: PTH123  (Path.open is slower)
            head = _read_on(file, min(LEADING_BYTES, size))
            if not head:
                return HalfRead(unreadable._replace(reason="zero bytes"))
            kind = kind_of(head)
            if kind == JPEG:
                return _read_jpeg(file, head, unreadable)
            if kind in (MP4, AVI):
                return HalfRead(_read_video(file, head, kind, unreadable))
    except OSError as error:
        words = error.strerror or type(error).__name__
        raise FileOutOfReach(f"cannot be read ({words})") from error
    return HalfRead(unreadable._replace(reason=kind))


def with_look(place: Path | str, half: HalfRead) -> FileRecord:
    """The record of a file with its look: the second half of `read_photo_file`."""
    record, jpeg = half
    if not jpeg:
        return record
    look = look_of(jpeg, _most_pixels(record))
    if look is None and len(jpeg) < record.size <= WHOLE_BYTES and not record.reason:
        # The thumbnail is damaged.
        with suppress(OSError), open(place, "rb") as file:  # noqa: PTH123
            look = look_of(file.read(WHOLE_BYTES), _most_pixels(record))
    return record._replace(look=look)


def _most_pixels(record: FileRecord) -> int:
    told = record.head is None or record.head[0] % ONE_IN == 0
    return ANY_PIXELS if told else EVERY_PIXELS


def _read_jpeg(file: BinaryIO, head: bytes, unreadable: FileRecord) -> HalfRead:
    size = unreadable.size
    leading = head
    segments = read_segments(head)
    most = min(size, MOST_LEADING_BYTES)
    while segments.wanted > len(leading) and len(leading) < most:
        more = _read_on(file, segments.wanted - len(leading))
        if not more:
            break
        leading += more
        segments = read_segments(leading)
    cut = segments.wanted > len(leading) == size
    if not segments.exif:
        return HalfRead(unreadable._replace(reason="truncated" if cut else "no EXIF block"))
    try:
        if not is_tiff(segments.exif):
            raise ExifUnreadable("EXIF block is damaged")
        facts = read_exif(segments.exif)
    except ExifUnreadable as error:
        return HalfRead(unreadable._replace(reason="truncated" if cut else str(error)))
    whole = len(leading) >= size
    tail = leading[segments.scan :] if whole else _read_tail(file, size)
    complete = segments.scan > 0 and is_complete(tail)
    jpeg = facts.thumbnail
    if not jpeg and size <= WHOLE_BYTES and complete:
        jpeg = leading if whole else _read_whole(file)
    record = FileRecord(
        unreadable.camera,
        unreadable.path,
        size,
        unreadable.mtime_ns,
        "photo",
        "" if complete else "truncated",
        facts.shown,
        facts.time_source,
        facts.fraction_us,
        facts.offset_minutes,
        _hash(head),
        None,
        facts.flash,
        facts.exposure_s,
        facts.iso,
        facts.make,
        facts.model,
        facts.serial,
    )
    return HalfRead(record, jpeg)


def _read_video(file: BinaryIO, head: bytes, kind: str, unreadable: FileRecord) -> FileRecord:
    shown = avi_time(head) if kind == AVI else mp4_time(file, unreadable.size)
    if not shown:
        return unreadable._replace(reason="a video without a time")
    # An AVI says when it was digitized, by the camera's clock; of an MP4 see `mp4_time`.
    source = "digitized" if kind == AVI else "container"
    return unreadable._replace(kind="video", shown=shown, time_source=source, head=_hash(head))


def _read_on(file: BinaryIO, wanted: int) -> bytes:
    """The next bytes of an unbuffered file, which may come in pieces."""
    pieces = []
    while wanted > 0:
        piece = file.read(wanted)
        if not piece:
            break
        pieces.append(piece)
        wanted -= len(piece)
    return b"".join(pieces)


def _read_tail(file: BinaryIO, size: int) -> bytes:
    file.seek(max(size - TAIL_BYTES, 0))
    return _read_on(file, TAIL_BYTES)


def _read_whole(file: BinaryIO) -> bytes:
    file.seek(0)
    return _read_on(file, WHOLE_BYTES)


def _hash(head: bytes) -> bytes:
    # Tells files apart, guards nothing; this one is the fastest of the library's on most machines.
    return hashlib.sha1(head, usedforsecurity=False).digest()
