"""Puts a report folder in its place, whole or not at all."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Collection, Mapping
from pathlib import Path

from deerlog.errors import OutputError
from deerlog.property.whole_file import write_closed
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
    moment the old report stays whole; other files in the folder (a plan, someone's notes) are
    kept. Every file is flushed and closed before anything is renamed.

    Parameters
    ----------
    folder
        ``reports/<day>``; made with its parents where it is not there.
    files
        Text by file name, written as UTF-8 with line ends as they are.
    own
        The files that what is written may consist of: those of them found in the folder are
        replaced or, where there is no new one, gone.

    Returns
    -------
    Path
        ``folder``.

    Raises
    ------
    OutputError
        Something could not be written, or the old report could not be moved away (on Windows: a
        file of it is open in another program). The old report is left as it was.
    ValueError
        A name that is not in ``own``.
    """
    strange = sorted(set(files) - set(own))
    if strange:
        raise ValueError(f"not a file of the report: {', '.join(strange)}")
    # A name no person gives a folder: what stands under it is an earlier run's, and may go.
    retired = folder.with_name(f"{folder.name}.replaced-by-deerlog")
    fresh: Path | None = None
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        if retired.exists() and not folder.exists():
            # A run was killed between its two renames: what it had put aside is the report.
            retired.rename(folder)
        fresh = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
        for name, text in files.items():
            write_closed(fresh / name, text.encode("utf-8"))
        if folder.exists():
            _keep_others(folder, fresh, own)
        _swap(fresh, folder, retired)
    except OSError as error:
        raise OutputError(
            f"The report could not be written: {error.strerror or error}.",
            where=str(error.filename or folder),
            how="Close any program that has a file of that folder open, see that the disk has "
            "room and the folder may be written, and run the report again. "
            "The report that was there is unchanged.",
        ) from error
    finally:
        if fresh is not None:
            shutil.rmtree(fresh, ignore_errors=True)
    if retired.exists():
        _keep_late(retired, folder, own)
    # The new report stands; an old one that cannot be cleared away is no failure of this run.
    shutil.rmtree(retired, ignore_errors=True)
    return folder


def _keep_others(folder: Path, fresh: Path, own: Collection[str]) -> None:
    for entry in sorted(folder.iterdir()):
        if entry.name in own:
            continue
        if entry.is_dir():
            shutil.copytree(entry, fresh / entry.name)
        else:
            shutil.copy2(entry, fresh / entry.name)


def _keep_late(retired: Path, folder: Path, own: Collection[str]) -> None:
    """Carry over what a person saved in the old folder between the copy and the exchange."""
    for path in sorted(retired.rglob("*")):
        below = path.relative_to(retired)
        kept = folder / below
        if below.parts[0] in own or not path.is_file():
            continue
        if not kept.exists() or kept.read_bytes() != path.read_bytes():
            kept.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(path, kept)


def _swap(fresh: Path, folder: Path, retired: Path) -> None:
    # mkdtemp makes a folder only its owner can open; a report may be read by who reads its parent.
    fresh.chmod(folder.parent.stat().st_mode & 0o777)
    if not folder.exists():
        fresh.rename(folder)
        return
    shutil.rmtree(retired, ignore_errors=True)
    folder.rename(retired)
    try:
        fresh.rename(folder)
    except OSError:
        retired.rename(folder)
        raise
