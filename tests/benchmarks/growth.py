"""How the time of each command grows with the seasons on record."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from benchmarks.one_process import run_deerlog
from benchmarks.several_runs import in_turn
from benchmarks.table import Row, seconds
from benchmarks.whole_commands import BACKTEST, time_commands
from benchmarks.workbench import Workbench

NOTHING_YET = 2
"""How a command ends that finds no record to work on."""


def rows(bench: Workbench) -> Iterator[Row]:
    """A row a command: time of all seasons to that of one, held against the rows read."""
    sizes = bench.sizes
    seasons = sizes.seasons
    small, large = bench.large(1), bench.large(seasons)
    grown = (large.photos + large.tag_rows) / (small.photos + small.tag_rows)
    after = bench.all_commands()
    # One season has but one last season to replay: there is nothing that could grow.
    wanted = (sizes.grown or after.keys()) - {BACKTEST}
    before = time_commands(small, sizes.few, only=wanted, slow=False, tell=bench.tell)
    started = _start_up(bench)
    for name, spent in before.items():
        short, long = spent.wall_s, after[name].wall_s
        # A command as quick as starting it has nothing to grow beyond that.
        beyond = (long - started) / (short - started) if short > started * 1.2 else None
        told = "" if beyond is None else f" ({beyond:.2f} beyond {seconds(started)} of start-up)"
        yield Row(
            work=f"growth from 1 to {seasons} seasons: {name}",
            measured=f"{seconds(short)} to {seconds(long)}",
            floor=f"rows grew {grown:.2f} times{told}",
            ratio=long / short,
            aim=f"no more than {seasons}",
            met=long / short <= seasons,
        )


def _start_up(bench: Workbench) -> float:
    """Seconds of a command that imports all and finds no photo."""
    folder = bench.folder / "nothing-yet"
    if not folder.exists():
        folder.mkdir()
        full = bench.large(1).folder
        for name in ("property.toml", "cameras.csv"):
            (folder / name).write_bytes((full / name).read_bytes())
    run = partial(run_deerlog, folder, "residency", may_end_with=(0, 1, NOTHING_YET))
    (spent,) = in_turn([run], bench.sizes.few)
    return spent.wall_s
