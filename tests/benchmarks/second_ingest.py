"""Second ingest with nothing new, against finding every file and asking for its size and time."""

from __future__ import annotations

import shutil
from collections.abc import Iterator

from benchmarks.card_files import fill_with_photos, new_property
from benchmarks.several_runs import in_turn
from benchmarks.table import Row, seconds
from benchmarks.timed_inside import time_inside
from benchmarks.workbench import Workbench

AIM_RATIO = 3.0


def rows(bench: Workbench) -> Iterator[Row]:
    """One row."""
    known = bench.sizes.known
    bench.tell(f"writing {known:,} small photos and ingesting them")
    folder = new_property(bench.folder / "cards-known")
    fill_with_photos(folder, known, body_bytes=0, full=False)
    time_inside("ingest", folder)
    bench.tell("looking through them again")
    walk, ours = in_turn(
        [lambda: time_inside("walk", folder), lambda: time_inside("ingest", folder)],
        bench.sizes.many,
    )
    shutil.rmtree(folder)
    ratio = ours.wall_s / walk.wall_s
    yield Row(
        work=f"second ingest, {known:,} photos known, nothing new",
        measured=seconds(ours.wall_s),
        floor=f"{seconds(walk.wall_s)}: os.walk and os.stat",
        ratio=ratio,
        aim=f"{AIM_RATIO:g} times the floor",
        met=ratio <= AIM_RATIO,
    )
