"""First ingest of photos, against a plain loop of exifread over the same files."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

from benchmarks.card_files import fill_with_photos, forget_the_ingest, new_property
from benchmarks.one_process import Spent
from benchmarks.several_runs import in_turn
from benchmarks.table import Row, megabytes, seconds
from benchmarks.timed_inside import time_inside
from benchmarks.workbench import Workbench

from deerlog.ingest.cards.photo_file import FEWEST_FOR_PROCESSES

AIM_RATIO, AIM_MB = 1.3, 300.0
SPARE = 1.2
"""Free space that is asked for, in parts of what is to be written."""
TAGS = {True: "some 45 tags", False: "nine tags"}


def rows(bench: Workbench) -> Iterator[Row]:
    """Photos as cameras write them."""
    sizes = bench.sizes
    yield from _rows(bench, sizes.photos, sizes.body_bytes, full=True)


def lean_rows(bench: Workbench) -> Iterator[Row]:
    """Photos with so little EXIF that looking at the thumbnail is what takes time."""
    sizes = bench.sizes
    yield from _rows(bench, sizes.lean_photos, sizes.lean_body_bytes, full=False)


def _rows(bench: Workbench, count: int, body_bytes: int, *, full: bool) -> Iterator[Row]:
    need_space(bench.folder, count * body_bytes)
    bench.tell(f"writing {count:,} photos, {count * body_bytes / 1e9:.2f} GB in {bench.folder}")
    folder = new_property(bench.folder / f"cards-{'full' if full else 'lean'}")
    size = fill_with_photos(folder, count, body_bytes=body_bytes, full=full)
    bench.tell("reading them")
    works = [lambda: time_inside("exif-loop", folder), lambda: _afresh("ingest", folder)]
    names = ["one process"]
    if count >= FEWEST_FOR_PROCESSES:
        works.append(lambda: _afresh("ingest-in-one-process", folder))
        names = ["as it comes", "one process"]
    plain, *ours = in_turn(works, bench.sizes.few)
    shutil.rmtree(folder)
    work = f"first ingest of {count:,} photos, {size / count / 1e6:.2f} MB, {TAGS[full]}"
    floor = f"{seconds(plain.wall_s)}: plain loop of exifread"
    for name, spent in zip(names, ours, strict=True):
        ratio = spent.wall_s / plain.wall_s
        yield Row(
            work=f"{work}, {name}",
            measured=f"{seconds(spent.wall_s)}, {spent.wall_s / count * 1e6:.0f} us a photo",
            floor=floor,
            ratio=ratio,
            aim=f"{AIM_RATIO} times the floor",
            met=ratio <= AIM_RATIO,
        )
        peak = spent.peak_mb
        yield Row(
            work=f"memory of its largest process, {name}",
            measured=megabytes(peak),
            aim=f"{AIM_MB:.0f} MB",
            met=None if peak is None else peak <= AIM_MB,
        )


def need_space(folder: Path, wanted_bytes: int) -> None:
    """End with what to do where the disk has no room for the photos."""
    free = shutil.disk_usage(folder).free
    if free < wanted_bytes * SPARE:
        raise SystemExit(
            f"The photos need {wanted_bytes * SPARE / 1e9:.1f} GB in {folder}, and "
            f"{free / 1e9:.1f} GB are free. Take fewer with --photos N, or name a folder on a "
            "larger disk in the environment variable TMPDIR."
        )


def _afresh(work: str, folder: Path) -> Spent:
    forget_the_ingest(folder)
    return time_inside(work, folder)
