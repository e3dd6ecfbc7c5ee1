"""``deerlog overview``."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import BrokenExecutor, ProcessPoolExecutor, as_completed
from datetime import date
from multiprocessing import get_context
from pathlib import Path
from threading import Lock
from typing import Any

import click

from deerlog.cli.group import DONE, MUST_MEND, say
from deerlog.cli.options import as_json, today
from deerlog.cli.progress import progress_line
from deerlog.errors import DeerlogError, PropertyError

SETTINGS = "property.toml"
OWN_TABLES = ("*.csv", SETTINGS, "deerlog.sqlite", "tags/*.csv", "tags/workbooks/*.xlsx")
"""What a report is made of: one older than any of these is written anew."""
Row = dict[str, Any]
"""Of `deerlog.report.overview.overview_row`, with ``folder``; or ``folder`` and ``error``."""
CLUSTER_ANSWERS_SECONDS = 30
PROPERTIES_A_PROCESS = 10
"""After so many a process is replaced, so that memory stays flat (our choice)."""
_ONE_AT_A_TIME = Lock()
"""Charts are drawn with what a process has only once: a cluster's worker may have many threads."""


@click.command("overview")
@click.argument("folder", metavar="FOLDER",
                type=click.Path(path_type=Path, exists=True, file_okay=False))  # fmt: skip
@click.option("--cluster", metavar="ADDRESS",
              help="Send the work to a dask.distributed scheduler (tcp://host:8786) whose workers "
                   "see FOLDER by the same name.")  # fmt: skip
@as_json
@click.pass_context
def command(ctx: click.Context, folder: Path, cluster: str | None, json_wanted: bool) -> None:
    """Every property below FOLDER on one page, first what needs a person.

    Reads new cards, writes the reports that are missing or old, and overview.html and overview.csv
    into FOLDER.
    """
    from deerlog.report.exports.write_files import write_files
    from deerlog.report.overview import PAGE, overview_files
    from deerlog.report.terminal import json_text

    folder = folder.absolute()
    found = list(properties_below(folder))
    if not found:
        raise PropertyError(
            "there is no property below this folder.",
            where=str(folder),
            how=f"Name a folder with property folders in it: each holds a {SETTINGS}.",
        )
    day = today()
    with progress_line() as tell:
        rows = gathered(found, day, lambda done: tell("Properties", done, len(found)), cluster)
        write_files(folder, overview_files(rows, folder, day))
    failed = [row for row in rows if "error" in row]
    to_mend = sum(row.get("to_mend", 0) for row in rows)
    if json_wanted:
        click.echo(json_text({"page": str(folder / PAGE), "properties": rows}))
    else:
        for row in failed:
            say(f"{row['folder']}: {row['error']}")
        say(f"{len(rows)} properties, {len(failed)} failed, {to_mend} to mend: {folder / PAGE}")
    ctx.exit(MUST_MEND if failed or to_mend else DONE)


def properties_below(folder: Path) -> Iterator[Path]:
    """Property folders, in order; none is looked for inside another, nor behind a link."""
    for place, below, files in os.walk(folder):
        if SETTINGS in files:
            yield Path(place)
            below.clear()
        below[:] = sorted(name for name in below if not name.startswith("."))


def gathered(
    folders: list[Path], today: date, done: Callable[[int], None], cluster: str | None = None
) -> list[Row]:
    """A row for each property, in any order; one that fails, or kills its process, is a row too."""
    if cluster is not None:
        return _on_cluster(cluster, folders, today, done)
    rows: list[Row] = []
    unfinished: list[Path] = []

    def done_of_part(n: int) -> None:
        done(len(rows) + n)

    # New processes for every part: in some versions of Python a pool that replaces its processes by
    # itself stands still for ever.
    size = PROPERTIES_A_PROCESS * (os.cpu_count() or 1)
    for start in range(0, len(folders), size):
        made, lost = _in_processes(folders[start : start + size], today, done_of_part)
        rows += made
        unfinished += lost
    for folder in unfinished:
        # A process that dies takes the work of its neighbours along: each gets one of its own.
        alone, _ = _in_processes([folder], today, lambda done: None)
        died = "its process was ended from outside, or ran out of memory."
        rows += alone or [{"folder": str(folder), "error": died}]
        done(len(rows))
    return rows


def _in_processes(
    folders: Sequence[Path], today: date, done: Callable[[int], None]
) -> tuple[list[Row], list[Path]]:
    """Rows, and the properties that had none when a process died."""
    rows, unfinished = [], []
    n_processes = min(os.cpu_count() or 1, len(folders))
    with ProcessPoolExecutor(n_processes, get_context("spawn")) as pool:
        work = {pool.submit(property_row, folder, today): folder for folder in folders}
        for each in as_completed(work):
            try:
                rows.append(each.result())
            except BrokenExecutor:
                unfinished.append(work[each])
            done(len(rows))
    return rows, unfinished


def _on_cluster(
    address: str, folders: list[Path], today: date, done: Callable[[int], None]
) -> list[Row]:
    """A row for each property, made by the workers of a cluster that is there already."""
    try:
        from dask import distributed
    except ImportError:
        raise DeerlogError(
            "a cluster needs dask.distributed, which is not installed.",
            where=f"--cluster {address}",
            how='Install it with: pip install "deerlog[cluster]"',
        ) from None
    try:
        client = distributed.Client(address, timeout=CLUSTER_ANSWERS_SECONDS)
    except (OSError, ValueError) as error:
        raise DeerlogError(
            f"no cluster answers ({error}).",
            where=f"--cluster {address}",
            how="Start its scheduler, or give the address that it prints, as tcp://host:8786.",
        ) from error
    rows: list[Row] = []
    with client:
        work = {client.submit(property_row, each, today, pure=False): each for each in folders}
        for each in distributed.as_completed(list(work)):
            try:
                rows.append(each.result())
            except Exception as error:  # a worker that died, or has another version
                said = f"the cluster could not do it ({error!r:.200})."
                rows.append({"folder": str(work[each]), "error": said})
            done(len(rows))
    return rows


def property_row(folder: Path, today: date) -> Row:
    """Read the cards of one property, write its report where it is missing, and sum it up."""
    from deerlog.ingest.run import ingest_cards
    from deerlog.property import open_property
    from deerlog.report.overview import overview_row
    from deerlog.report.page.contact_sheet import TaggingPages
    from deerlog.report.report_files import write_study_report
    from deerlog.study import open_study

    try:
        with _ONE_AT_A_TIME:
            place = open_property(folder)
            ingest_cards(place, today=today, on_to_tag=TaggingPages(place).write)
            study = open_study(folder)
            page = folder / "reports" / study.last_day.date().isoformat() / "report.html"
            if not page.is_file() or page.stat().st_mtime < _changed(folder):
                write_study_report(study)
            return {"folder": str(folder), **overview_row(study, page)}
    except DeerlogError as error:
        return {"folder": str(folder), "error": str(error)}
    except Exception as error:
        return {"folder": str(folder), "error": f"a fault of deerlog ({error!r:.200})."}


def _changed(folder: Path) -> float:
    """When anything was changed that a report is made of, seconds since the epoch."""
    found = (path for pattern in OWN_TABLES for path in folder.glob(pattern))
    return max((path.stat().st_mtime for path in found), default=0.0)
