"""A command on two properties at once, a process each, against one property alone."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from statistics import median

from benchmarks.one_process import run_deerlog
from benchmarks.table import Row, seconds
from benchmarks.workbench import Workbench

AIM_RATIO = 1.5
FEWEST_CORES = 2
"""On one core two at once take twice as long, whatever is done."""


def rows(bench: Workbench) -> Iterator[Row]:
    """One row."""
    first = bench.ingested(bench.sizes.seasons).folder
    second = bench.folder / "twin"
    shutil.copytree(first, second, ignore=shutil.ignore_patterns("reports", "exports"))
    command = bench.sizes.twice
    bench.tell(f"{command} on one property alone, and on two at once")
    alone, both = [], []
    for _ in range(bench.sizes.few):
        alone.append(_at_once(command, first))
        both.append(_at_once(command, first, second))
    ratio = median(both) / median(alone)
    cores = os.cpu_count() or 1
    yield Row(
        work=f"{command} on two properties at once, a process each, {cores} cores",
        measured=seconds(median(both)),
        floor=f"{seconds(median(alone))}: one alone",
        ratio=ratio,
        aim=f"{AIM_RATIO:g} times one alone",
        met=ratio <= AIM_RATIO if cores >= FEWEST_CORES else None,
    )


def _at_once(command: str, *folders: Path) -> float:
    """Wall time until the last of them is done."""
    start = time.perf_counter()
    with ThreadPoolExecutor(len(folders)) as pool:
        for _ in pool.map(lambda folder: run_deerlog(folder, command), folders):
            pass
    return time.perf_counter() - start
