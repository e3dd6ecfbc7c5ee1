"""Each command as a process of its own, start-up included, on the large property."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from benchmarks.large_property import Written
from benchmarks.one_process import Spent, run_deerlog
from benchmarks.several_runs import in_turn
from benchmarks.table import NOT_MEASURED, Row, megabytes, seconds

if TYPE_CHECKING:
    from benchmarks.workbench import Workbench

FIRST_INGEST, AGAIN = "ingest, first", "ingest, nothing new"
REPORT, BACKTEST = "report", "backtest"
AIM_SECONDS, AIM_MB = 20.0, 1024.0
"""Of the report."""


def time_commands(
    written: Written,
    times: int,
    *,
    only: Collection[str] | None = None,
    slow: bool,
    tell: Callable[[str], None],
) -> dict[str, Spent]:
    """Median of each command's runs on a property, by the command's name here."""
    spent = {}
    for name, arguments in commands_of(written, slow=slow).items():
        if only is not None and name not in only:
            continue
        tell(f"{name}, {written.photos:,} photos")
        run = partial(run_deerlog, written.folder, *arguments)
        if name == FIRST_INGEST:
            run = partial(_ingest_first, written.folder)
        (spent[name],) = in_turn([run], 1 if name == BACKTEST else times)
    return spent


def _ingest_first(folder: Path) -> Spent:
    """An ingest that finds no photo log, whatever was run before."""
    for path in folder.glob("deerlog.sqlite*"):
        path.unlink()
    return run_deerlog(folder, "ingest")


def commands_of(written: Written, *, slow: bool) -> dict[str, tuple[str, ...]]:
    """The commands in the order they must be run, by the name they have in the table."""
    # The record ends with a deer year, in spring; the plan that people ask for is that of the rut.
    last_fall = written.as_of.year - 1
    commands: dict[str, tuple[str, ...]] = {
        FIRST_INGEST: ("ingest",),
        AGAIN: ("ingest",),
        "check": ("check",),
        "residency": ("residency",),
        "plan": ("plan", "--from", f"{date(last_fall, 11, 10)}"),
        REPORT: ("report",),
        "export camtrap-dp": ("export", "camtrap-dp"),
        "export geojson": ("export", "geojson"),
        "export photo-log": ("export", "photo-log"),
    }
    if slow:
        commands[BACKTEST] = ("backtest", "--from", f"{date(last_fall, 10, 1)}")
    return commands


def rows(bench: Workbench) -> Iterator[Row]:
    """A row a command, and one for the memory of the report."""
    sizes = bench.sizes
    written = bench.large(sizes.seasons)
    size = (
        f"{written.photos:,} photos, {written.tagged_visits:,} tagged visits, "
        f"{sizes.seasons} seasons"
    )
    for name, spent in bench.all_commands().items():
        timed = name == REPORT
        yield Row(
            work=f"{name} ({size})" if name == FIRST_INGEST else name,
            measured=_all_of(spent),
            aim=f"{AIM_SECONDS:.0f} s" if timed else "",
            met=spent.wall_s <= AIM_SECONDS if timed else None,
        )
        if timed:
            peak = spent.peak_mb
            yield Row(
                work="report, memory",
                measured=megabytes(peak),
                aim=f"{AIM_MB:.0f} MB",
                met=None if peak is None else peak <= AIM_MB,
            )
    if not bench.slow:
        yield Row(work=BACKTEST, measured="left out; --slow measures it")


def _all_of(spent: Spent) -> str:
    if spent.processor_s is None:
        return f"{seconds(spent.wall_s)}; memory {NOT_MEASURED}"
    return (
        f"{seconds(spent.wall_s)}, {seconds(spent.processor_s)} processor, "
        f"{megabytes(spent.peak_mb)}"
    )
