"""Files of cards to records: their time and look, or the reason why not.

Many are read by several processes.
"""

from __future__ import annotations

import hashlib
import os
import re
import signal
from collections.abc import Generator, Iterator, Sequence
from concurrent.futures import BrokenExecutor, ProcessPoolExecutor
from contextlib import contextmanager, suppress
from datetime import datetime, timedelta
from multiprocessing import active_children, connection, get_context, parent_process
from threading import Thread
from typing import BinaryIO, NamedTuple

from deerlog.ingest.cards.exif import ExifUnreadable, parse_shown, read_exif
from deerlog.ingest.cards.picture import AVI, JPEG, MP4, kind_of, look_of, read_segments

_MOST_BOXES = 1_000
_EPOCH = datetime(1904, 1, 1)  # noqa: DTZ001  (ISO/IEC 14496-12: seconds since then, see below)
_MONTHS = " jan feb mar apr may jun jul aug sep oct nov dec "
_NAMED = re.compile(r"[a-z]{3},? +([a-z]{3}) +(\d{1,2}) +(\d{1,2}:\d{2}:\d{2}) +(\d{4})", re.I)


def mp4_time(file: BinaryIO, size: int) -> str:
    """Creation time of an MP4 or QuickTime file as ``YYYY-MM-DD HH:MM:SS``, or ``""``.

    The standard (ISO/IEC 14496-12) says the time is UTC. Trail cameras know no zone and write
    what their clock shows (common practice, no published source), so it is taken as that: like
    the time of a photo. Only the headers of the file's boxes are read.
    """
    moov = _find_box(file, b"moov", 0, size)
    mvhd = moov and _find_box(file, b"mvhd", *moov)
    if not mvhd:
        return ""
    file.seek(mvhd[0])
    body = file.read(12)
    width = 8 if body[:1] == b"\x01" else 4
    seconds = int.from_bytes(body[4 : 4 + width], "big")
    if len(body) < 4 + width or seconds == 0:
        return ""
    with suppress(OverflowError):
        return parse_shown((_EPOCH + timedelta(seconds=seconds)).isoformat(sep=" "))
    return ""


def avi_time(head: bytes) -> str:
    """Time of an AVI's ``IDIT`` chunk (in its leading bytes) as in `mp4_time`."""
    place = head.find(b"IDIT")
    if place < 0:
        return ""
    length = int.from_bytes(head[place + 4 : place + 8], "little")
    text = head[place + 8 : place + 8 + min(length, 64)].decode("latin-1").strip("\x00\r\n ")
    named = _NAMED.match(text)
    if named:
        month = _MONTHS.find(f" {named[1].casefold()} ") // 4 + 1  # 0 for none
        text = f"{named[4]}:{month}:{named[2]} {named[3]}"
    return parse_shown(text)


def _find_box(file: BinaryIO, name: bytes, start: int, end: int) -> tuple[int, int] | None:
    """Where the content of the first box of a name begins and ends, between two places."""
    place = start
    for _ in range(_MOST_BOXES):
        if place + 8 > end:
            return None
        file.seek(place)
        header = file.read(16)
        if len(header) < 8:
            return None
        length, content = int.from_bytes(header[:4], "big"), place + 8
        if length == 1:
            length, content = int.from_bytes(header[8:16], "big"), place + 16
        elif length == 0:
            length = end - place
        if length < content - place:
            return None
        if header[4:8] == name:
            return content, min(place + length, end)
        place += length
    return None


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
    """What is kept of a file: columns of the photo log, where each is described
    (`deerlog.ingest.store.stored_files`).

    A photo whose picture is cut off keeps its time: that the camera fired then is known. The time
    of a photo is ``original``, ``digitized`` or ``changed``, by its tag, or ``maker``, from the
    maker's private block; of a video ``container`` or ``digitized``. Any flash counts, infrared as
    well. A row of a CSV may say itself when its picture was read (else this run did), and that it
    is gone.
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
    temperature_c: float | None = None
    pressure_hpa: float | None = None
    read_on: str | None = None
    gone: bool = False


FileTask = tuple[str, str, str, int, int]
"""Place on disk; camera and path as the log calls it; size, and modification time in nanoseconds,
when it was found."""


def begin_photo_file(task: FileTask) -> tuple[FileRecord, bytes]:
    """Read one file but for its look: the record, and the picture that tells its look.

    That is the embedded thumbnail or else the picture itself; ``b""`` for none. Many files are read
    faster if all of them go through this half before `with_look`. `OSError`: it could not be opened
    or read this time.
    """
    place, camera, path, size, mtime_ns = task
    unreadable = FileRecord(camera, path, size, mtime_ns, "unreadable")
    if size == 0:
        return unreadable._replace(reason="zero bytes"), b""
    with open(place, "rb", buffering=0) as file:  # noqa: PTH123  (Path.open is slower)
        head = _read_on(file, min(LEADING_BYTES, size))
        kind = kind_of(head) if head else "zero bytes"
        if kind == JPEG:
            return _read_jpeg(file, head, unreadable)
        if kind in (MP4, AVI):
            return _read_video(file, head, kind, unreadable), b""
    return unreadable._replace(reason=kind), b""


def with_look(place: str, record: FileRecord, jpeg: bytes) -> FileRecord:
    """The record of a file with its look, from what `begin_photo_file` gave."""
    if not jpeg:
        return record
    told = record.head is None or record.head[0] % ONE_IN == 0
    most_pixels = ANY_PIXELS if told else EVERY_PIXELS
    look = look_of(jpeg, most_pixels)
    if look is None and len(jpeg) < record.size <= WHOLE_BYTES and not record.reason:
        # The thumbnail is damaged.
        with suppress(OSError), open(place, "rb") as file:  # noqa: PTH123
            look = look_of(file.read(WHOLE_BYTES), most_pixels)
    return record._replace(look=look)


def _read_jpeg(file: BinaryIO, head: bytes, unreadable: FileRecord) -> tuple[FileRecord, bytes]:
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
    try:
        if not segments.exif:
            raise ExifUnreadable("no EXIF block")
        if not segments.exif.startswith((b"II*\x00", b"MM\x00*")):  # marks of the byte order
            raise ExifUnreadable("EXIF block is damaged")
        facts, jpeg = read_exif(segments.exif)
    except ExifUnreadable as error:
        return unreadable._replace(reason="truncated" if cut else str(error)), b""
    whole = len(leading) >= size
    tail = leading[segments.scan :] if whole else _read_on(file, TAIL_BYTES, size - TAIL_BYTES)
    # Some cameras fill the file up behind the end-of-image mark, so it need not be the very end.
    complete = segments.scan > 0 and b"\xff\xd9" in tail
    if not jpeg and size <= WHOLE_BYTES and complete:
        jpeg = leading if whole else _read_on(file, WHOLE_BYTES, 0)
    reason = "" if complete else "truncated"
    return unreadable._replace(kind="photo", reason=reason, head=_hash(head), **facts), jpeg


def _read_video(file: BinaryIO, head: bytes, kind: str, unreadable: FileRecord) -> FileRecord:
    shown = avi_time(head) if kind == AVI else mp4_time(file, unreadable.size)
    if not shown:
        return unreadable._replace(reason="a video without a time")
    # An AVI says when it was digitized, by the camera's clock; of an MP4 see `mp4_time`.
    source = "digitized" if kind == AVI else "container"
    return unreadable._replace(kind="video", shown=shown, time_source=source, head=_hash(head))


def _read_on(file: BinaryIO, wanted: int, place: int | None = None) -> bytes:
    """Bytes of an unbuffered file, the next or from a place on, which may come in pieces."""
    if place is not None:
        file.seek(max(place, 0))
    pieces = []
    while wanted > 0:
        piece = file.read(wanted)
        if not piece:
            break
        pieces.append(piece)
        wanted -= len(piece)
    return b"".join(pieces)


def _hash(head: bytes) -> bytes:
    # Tells files apart, guards nothing; this one is the fastest of the library's on most machines.
    return hashlib.sha1(head, usedforsecurity=False).digest()


FEWEST_FOR_PROCESSES = 10_000
"""Below this one process is used. Our choice: starting others takes about a second on a busy
machine, in which this one reads some two thousand photos."""
CHUNK = 250
"""Files a process reads at a time, and rows of one transaction: what a killed run has to read
again is at most this many for each process."""
AT_ONCE = 50
"""Files that go through EXIF before their thumbnails are decoded. Our choice, measured: turning
from one library to the other at each file takes a fifth longer."""
MOST_PROCESSES = 8
"""Beyond this a card reader or a disk is what limits, and memory grows (our choice)."""


class ReadChunk(NamedTuple):
    """Records of a run of files, and ``(camera, path, reason)`` of those out of reach."""

    records: list[FileRecord]
    out_of_reach: list[tuple[str, str, str]]


def read_chunk(tasks: Sequence[FileTask]) -> ReadChunk:
    """Read files one after the other."""
    done = ReadChunk([], [])
    for start in range(0, len(tasks), AT_ONCE):
        halves = []
        for task in tasks[start : start + AT_ONCE]:
            try:
                halves.append((task[0], *begin_photo_file(task)))
            except OSError as error:
                reason = f"cannot be read ({error.strerror or type(error).__name__})"
                done.out_of_reach.append((task[1], task[2], reason))
        done.records.extend(with_look(*half) for half in halves)
    return done


def read_files(tasks: Sequence[FileTask], processes: int | None = None) -> Generator[ReadChunk]:
    """Read files in chunks, in order, in several processes where that pays.

    To be closed where it is not used up (``contextlib.closing``): its processes end with it. Where
    processes cannot be started, or one dies, the rest is read in this one.
    """
    chunks = [tasks[i : i + CHUNK] for i in range(0, len(tasks), CHUNK)]
    if processes is None:
        many = len(tasks) >= FEWEST_FOR_PROCESSES
        processes = min(os.cpu_count() or 1, MOST_PROCESSES) if many else 1
    done = 0
    if processes > 1:
        others = set(active_children())
        try:
            # Started afresh everywhere, as on Windows and macOS, so that all systems behave alike.
            pool = ProcessPoolExecutor(
                processes, mp_context=get_context("spawn"), initializer=_begin_worker
            )
            try:
                with _interrupts_held():
                    results = pool.map(read_chunk, chunks)  # starts all of them
                for chunk in results:
                    yield chunk
                    done += 1
            finally:
                if done < len(chunks):
                    # One that waits for its records to be taken would never end by itself.
                    for worker in set(active_children()) - others:
                        worker.terminate()
                pool.shutdown(cancel_futures=True)
        except (BrokenExecutor, OSError, ImportError):
            pass
    for tasks_left in chunks[done:]:
        yield read_chunk(tasks_left)


@contextmanager
def _interrupts_held() -> Iterator[None]:
    """Keeps Ctrl-C back for a moment; processes started in it never get one, where signals can be
    held at all (`_begin_worker` is for where they cannot)."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _begin_worker() -> None:
    """Ctrl-C is for the process that started it; when that was killed it ends, or would wait on."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    if parent is not None:
        Thread(target=_wait_and_end, args=(parent.sentinel,), daemon=True).start()


def _wait_and_end(sentinel: int) -> None:
    connection.wait([sentinel])
    os._exit(1)
