"""Puts a report folder in its place, whole or not at all."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Collection, Mapping
from contextlib import suppress
from itertools import count
from pathlib import Path

from deerlog.errors import OutputError
from deerlog.property.whole_file import UNFINISHED, unfinished, write_closed
from deerlog.report.tables import TABLE_COLUMNS

PLAN_FILES = frozenset({"plan.csv", "plan.ics"})
"""What a plan may write."""

REPORT_FILES = frozenset({"report.html", "share.html", *TABLE_COLUMNS}) - PLAN_FILES
"""What a report may write. Anything else found in its folder is not its own and is kept."""


def write_report(
    folder: Path, files: Mapping[str, str], *, own: Collection[str] = REPORT_FILES
) -> Path:
    """Write the files of one report into ``folder``, in place of an older report there.

    All are written to a temporary folder beside it first, which then takes its name. Until that
    moment the old report stays whole; whatever else is in the folder (a plan, someone's notes) is
    moved into the new one. Every file is flushed and closed before anything is renamed.

    ``files`` are texts by file name, written as UTF-8 with line ends as they are. ``own`` are the
    files that what is written may consist of: those of them found in the folder are replaced or,
    where there is no new one, gone. An OutputError where something could not be written, or the old
    report could not be moved away (on Windows: a file of it is open in another program); the old
    report is left as it was.
    """
    strange = sorted(set(files) - set(own))
    if strange:
        raise ValueError(f"not a file of the report: {', '.join(strange)}")
    real = folder.resolve() if folder.is_symlink() else folder
    fresh, retired = unfinished(real), real.with_name(real.name + RETIRED)
    try:
        real.parent.mkdir(parents=True, exist_ok=True)
        _clear_left_over(real, fresh, retired, own)
        fresh.mkdir()
        for name, text in files.items():
            write_closed(fresh / name, text.encode("utf-8"))
        _swap(fresh, real, retired)
    except OSError as error:
        raise OutputError(
            f"The report could not be written: {error.strerror or error}.",
            where=str(error.filename or folder),
            how="Close any program that has a file of that folder open, see that the disk has "
            "room and the folder may be written, and run the report again. "
            "The report that was there is unchanged.",
        ) from error
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    # The new report stands; what cannot be carried over now is when the next is written.
    with suppress(OSError):
        _carry_over(retired, real, own)
    return folder


RETIRED = ".replaced-by-deerlog"
"""How the name of a folder ends that was put aside for a new report; no person gives one such."""
LEFT_OVER_SECONDS = 60.0
"""A report being written for so long was killed: it takes a second (our choice)."""


def _clear_left_over(folder: Path, fresh: Path, retired: Path, own: Collection[str]) -> None:
    """Undo or finish what killed runs began, of this day and of others."""
    if retired.exists() and not folder.exists():
        retired.rename(folder)  # killed between its two renames: what was put aside is the report
    _carry_over(retired, folder, own)
    for other in folder.parent.glob(f"{UNFINISHED}*"):
        if other == fresh or time.time() - other.stat().st_mtime > LEFT_OVER_SECONDS:
            shutil.rmtree(other)


def _carry_over(retired: Path, folder: Path, own: Collection[str]) -> None:
    """Move what a person put into an old report's folder into the new one, and drop the old one.

    Moved, not copied: a link stays a link, and what no program can read is kept as it is.
    """
    if not retired.exists():
        return
    for entry in sorted(retired.iterdir()):
        if entry.name not in own:
            entry.rename(_free(folder / entry.name))
    shutil.rmtree(retired)


def _free(path: Path) -> Path:
    """A name that nothing has yet: this one, or one with a number."""
    names = (path.with_name(f"{path.stem} {n}{path.suffix}") for n in count(2))
    return path if not os.path.lexists(path) else next(p for p in names if not os.path.lexists(p))


def _swap(fresh: Path, folder: Path, retired: Path) -> None:
    if not folder.exists():
        fresh.rename(folder)
        return
    folder.rename(retired)
    try:
        fresh.rename(folder)
    except OSError:
        retired.rename(folder)
        raise
