"""Many card files to records, by several processes where there are enough of them."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from concurrent.futures import BrokenExecutor, ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import connection, get_context, parent_process
from threading import Thread

from deerlog.ingest.cards.photo_file import FileOutOfReach, FileRecord, begin_photo_file, with_look

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

FileTask = tuple[str, str, str, int, int]
"""Place on disk, camera and path as the log calls it, size, modification time in nanoseconds."""


@dataclass(frozen=True)
class ReadChunk:
    """Records of a run of files, and ``(camera, path, reason)`` of those out of reach."""

    records: list[FileRecord]
    out_of_reach: list[tuple[str, str, str]]


def read_chunk(tasks: Sequence[FileTask]) -> ReadChunk:
    """Read files one after the other."""
    done = ReadChunk(records=[], out_of_reach=[])
    for start in range(0, len(tasks), AT_ONCE):
        halves = []
        for task in tasks[start : start + AT_ONCE]:
            place, camera, path, size, mtime_ns = task
            try:
                half = begin_photo_file(place, camera, path, size, mtime_ns)
            except FileOutOfReach as error:
                done.out_of_reach.append((camera, path, str(error)))
            else:
                halves.append((place, half))
        done.records.extend(with_look(place, half) for place, half in halves)
    return done


def read_files(tasks: Sequence[FileTask], processes: int | None = None) -> Iterator[ReadChunk]:
    """Read files in chunks, in order.

    Parameters
    ----------
    processes
        How many to use; default by the number of files and of processors. Where processes cannot
        be started, or one dies, the rest is read in this one.
    """
    chunks = [tasks[i : i + CHUNK] for i in range(0, len(tasks), CHUNK)]
    if processes is None:
        processes = min(os.cpu_count() or 1, MOST_PROCESSES)
        if len(tasks) < FEWEST_FOR_PROCESSES:
            processes = 1
    done = 0
    if processes > 1:
        try:
            # Started afresh everywhere, as on Windows and macOS, so that all systems behave alike.
            pool = ProcessPoolExecutor(
                processes, mp_context=get_context("spawn"), initializer=_end_with_parent
            )
            try:
                for chunk in pool.map(read_chunk, chunks):
                    yield chunk
                    done += 1
            finally:
                pool.shutdown(cancel_futures=True)
        except (BrokenExecutor, OSError, ImportError):
            pass
    for tasks_left in chunks[done:]:
        yield read_chunk(tasks_left)


def _end_with_parent() -> None:
    """Let a worker end when the process that started it was killed; it would wait for ever."""
    parent = parent_process()
    if parent is not None:
        Thread(target=_wait_and_end, args=(parent.sentinel,), daemon=True).start()


def _wait_and_end(sentinel: int) -> None:
    connection.wait([sentinel])
    os._exit(1)
