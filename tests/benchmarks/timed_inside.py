"""One work in a process of its own, timed there from after its imports to its end.

Start-up is left out here, which at small sizes would hide the work; `whole_commands` has it in.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

from benchmarks.one_process import Spent, run_module

TODAY = date(2040, 1, 1)
"""After every photo, however many are asked for."""


def time_inside(work: str, folder: Path) -> Spent:
    """Run one of `WORKS` on a property; its wall time is that of the work alone."""
    spent = run_module("timed_inside", work, str(folder))
    return replace(spent, wall_s=float(spent.output))


def exif_loop(folder: Path) -> Callable[[], object]:
    """Floor of a first ingest: exifread over the same files, without maker notes."""
    import exifread

    paths = list(_all_files(folder / "cards"))

    def read_plainly() -> None:
        for path in paths:
            with open(path, "rb") as file:  # noqa: PTH123
                exifread.process_file(file, details=False)

    return read_plainly


def walk(folder: Path) -> Callable[[], object]:
    """Floor of a second ingest: every file is found, and its size and time asked for."""
    return lambda: sum(os.stat(path).st_size for path in _all_files(folder / "cards"))  # noqa: PTH116


def ingest(folder: Path, processes: int | None = None) -> Callable[[], object]:
    """What ``deerlog ingest`` does, pages to tag from included."""
    from deerlog.ingest.run import ingest_cards
    from deerlog.property import open_property
    from deerlog.report.page.contact_sheet import TaggingPages

    place = open_property(folder)
    pages = TaggingPages(place, workbook_of=None, progress=None)
    return lambda: ingest_cards(place, today=TODAY, processes=processes, on_to_tag=pages.write)


def ingest_in_one_process(folder: Path) -> Callable[[], object]:
    """The same, without processes beside it."""
    return ingest(folder, processes=1)


WORKS: dict[str, Callable[[Path], Callable[[], object]]] = {
    "exif-loop": exif_loop,
    "walk": walk,
    "ingest": ingest,
    "ingest-in-one-process": ingest_in_one_process,
}


def _all_files(cards: Path) -> Iterator[str]:
    for folder, _, names in os.walk(cards):
        for name in names:
            yield os.path.join(folder, name)  # noqa: PTH118


if __name__ == "__main__":
    work = WORKS[sys.argv[1]](Path(sys.argv[2]))
    start = time.perf_counter()
    work()
    print(time.perf_counter() - start)
