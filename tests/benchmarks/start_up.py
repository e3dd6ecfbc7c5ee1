"""What starting takes: help against a bare Python, and the commands on the sample property."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from benchmarks.floor import IMPORTS, PANDAS
from benchmarks.one_process import run_deerlog, run_process
from benchmarks.several_runs import in_turn
from benchmarks.table import Row, seconds
from benchmarks.workbench import Workbench

from deerlog.study.sample import unpack_sample

AIM_HELP = 6.0
AIMS = {"residency": (2.0, PANDAS), "report": (15.0, IMPORTS)}
"""Seconds on the sample property, and what the floor imports."""


def rows(bench: Workbench) -> Iterator[Row]:
    """Help, residency and report."""
    bench.tell("starting up")
    bare, told = in_turn(
        [
            lambda: run_process([sys.executable, "-c", "pass"]),
            lambda: run_process([sys.executable, "-m", "deerlog", "--help"]),
        ],
        bench.sizes.many,
    )
    ratio = told.wall_s / bare.wall_s
    yield Row(
        work="deerlog --help",
        measured=seconds(told.wall_s),
        floor=f"{seconds(bare.wall_s)}: python -c pass",
        ratio=ratio,
        aim=f"{AIM_HELP:g} times the floor",
        met=ratio <= AIM_HELP,
    )
    folder = _sample(bench) if bench.sizes.sample else None
    for command, (aim, imports) in AIMS.items():
        load = partial(run_process, [sys.executable, "-c", imports])
        if folder is None:
            (floor,) = in_turn([load], bench.sizes.few)
            spent = bench.all_commands()[command]
        else:
            run = partial(run_deerlog, folder, command)
            floor, spent = in_turn([load, run], bench.sizes.few)
        yield Row(
            work=f"{command} on the {'tiny' if folder is None else 'sample'} property",
            measured=seconds(spent.wall_s),
            floor=f"{seconds(floor.wall_s)}: {imports.replace('.figure', '')}",
            ratio=spent.wall_s / floor.wall_s,
            aim=f"{aim:g} s",
            met=spent.wall_s <= aim,
        )


def _sample(bench: Workbench) -> Path:
    bench.tell("ingesting the sample property")
    folder = bench.folder / "sample"
    unpack_sample(folder)
    run_deerlog(folder, "ingest")
    return folder
