"""How fast deerlog is: builds its own data (seeded), prints one table.

    python tests/benchmarks/speed.py [--only ROW ...] [--photos N] [--known N] [--seasons N]
                                     [--slow] [--tiny]

Ratios are measured within one run, since machines differ. Times are medians, memory is the system's
own account. The photos of the first ingest take 10 GB of the temporary folder (TMPDIR names it),
and are deleted; --photos N takes fewer, 0.5 MB each.
"""

from __future__ import annotations

import argparse
import importlib
import sys
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parents[2]))

from benchmarks.sizes import FULL, TINY
from benchmarks.table import head

if TYPE_CHECKING:
    from benchmarks.table import Row
    from benchmarks.workbench import Workbench

ROWS = {
    "start-up": "start_up.rows",
    "first-ingest": "first_ingest.rows",
    "lean-ingest": "first_ingest.lean_rows",
    "second-ingest": "second_ingest.rows",
    "scoring": "scoring_alone.rows",
    "tagging-page": "tagging_page.rows",
    "commands": "whole_commands.rows",
    "report-floor": "report_floor.rows",
    "growth": "growth.rows",
    "two-at-once": "two_at_once.rows",
}
"""Where each part of the table comes from; loaded when it is wanted, so that a wrong option is told
at once."""


def main() -> None:
    """Print the table, each row as soon as it is there."""
    wanted = _arguments()
    given = {name: getattr(wanted, name) for name in ("photos", "known", "seasons")}
    sizes = replace(
        TINY if wanted.tiny else FULL, **{name: n for name, n in given.items() if n is not None}
    )
    print(head(), flush=True)
    from benchmarks.workbench import Workbench

    with tempfile.TemporaryDirectory(prefix="deerlog-speed-") as folder:
        bench = Workbench(folder=Path(folder), sizes=sizes, slow=wanted.slow)
        for name in wanted.only or ROWS:
            for row in _rows_of(name)(bench):
                print(row.line(), flush=True)


def _rows_of(name: str) -> Callable[[Workbench], Iterator[Row]]:
    module, function = ROWS[name].split(".")
    rows: Callable[[Workbench], Iterator[Row]] = getattr(
        importlib.import_module(f"benchmarks.{module}"), function
    )
    return rows


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", nargs="+", choices=ROWS, metavar="ROW", help=", ".join(ROWS))
    parser.add_argument("--photos", type=_number, help="photos of the first ingest (20,000)")
    parser.add_argument("--known", type=_number, help="photos of the second ingest (100,000)")
    parser.add_argument("--seasons", type=_number, help="of the large property (5)")
    parser.add_argument("--slow", action="store_true", help="measure the backtest too: minutes")
    parser.add_argument("--tiny", action="store_true", help="all rows, small: shows that they work")
    return parser.parse_args()


def _number(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError("a number of 1 or more")
    return number


if __name__ == "__main__":
    main()
