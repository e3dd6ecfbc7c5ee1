"""What an export came to, for the terminal.

Puts exported files in their place, each wholly or not at all.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from deerlog.errors import OutputError
from deerlog.property.whole_file import unfinished, write_closed
from deerlog.report.exports.camtrap_package import CamtrapPackage
from deerlog.report.exports.camtrap_tables import Rounding
from deerlog.report.terminal import wrapped

_SHOWN = 5


def camtrap_text(package: CamtrapPackage, rounding: Rounding, folder: Path) -> str:
    """Counts, and what a receiver should know."""
    lines = [
        f"{package.n_deployments:,} deployments, {package.n_media:,} media, "
        f"{package.n_observations:,} observations.",
    ]
    if package.n_outside:
        lines.append(
            f"{package.n_outside:,} photos are left out: their camera stood nowhere then, is not "
            "taken to have run (outages.csv), or showed an impossible time."
        )
    if package.n_timestamp_issues:
        lines.append(
            f"{package.n_timestamp_issues:,} deployments are marked timestampIssues: "
            "`deerlog check` says which clock looks wrong, and how to mend it."
        )
    if rounding.decimals is None:
        lines.append("Coordinates are exact; --round-coordinates hides them.")
    lines.append(f"Written to {folder}")
    return "\n".join(wrapped(line) for line in lines)


def photo_log_summary(n_photos: int, left_out: Sequence[str], unreadable: int, folder: Path) -> str:
    """Counts, what has no row, and what to do with the CSVs."""
    lines = [f"{n_photos:,} photos."]
    if unreadable:
        lines.append(f"{unreadable:,} files that could never be read have no row.")
    if left_out:
        named = ", ".join(left_out[:_SHOWN]) + (", ..." if len(left_out) > _SHOWN else "")
        lines.append(
            f"{len(left_out):,} photos have no row, since their name or time cannot stand in a "
            f"cell: {named}. Rename these files, run `deerlog ingest` and export again before you "
            "clear any picture."
        )
    lines.append(f"Written to {folder}")
    lines.append(
        "To clear pictures from the disk: copy these folders into cards/, run `deerlog ingest`, "
        "look that `deerlog residency` says the same, then delete the pictures."
    )
    return "\n".join(wrapped(line) for line in lines)


def write_files(folder: Path, texts: Mapping[str, str]) -> list[Path]:
    """Write text files below a folder, as UTF-8 with line ends as they are.

    All are written in full beside their places before the first takes its place. Other files of
    the folder are left alone.

    Parameters
    ----------
    folder
        Made with its parents where it is not there.
    texts
        By path below it, with ``/``.

    Raises
    ------
    OutputError
        Something could not be written.
    """
    partial: dict[Path, Path] = {}
    try:
        for name, text in texts.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            fresh = unfinished(path)
            partial[fresh] = path
            write_closed(fresh, text.encode("utf-8"))
        for fresh, path in partial.items():
            fresh.replace(path)
    except OSError as error:
        raise OutputError(
            f"The export could not be written: {error.strerror or error}.",
            where=str(error.filename or folder),
            how="Close any program that has a file of that folder open, see that the disk has room "
            "and the folder may be written, or name another with --to.",
        ) from error
    finally:
        for fresh in partial:
            with suppress(OSError):
                fresh.unlink(missing_ok=True)
    return list(partial.values())


def refuse_cards(target: Path, folder: Path) -> None:
    """Refuse to write an export below ``cards/``: what lies there is the user's, and only read.

    Raises
    ------
    OutputError
        ``target`` is ``folder/cards`` or below it.
    """
    cards = (folder / "cards").resolve()
    if target.resolve() == cards or cards in target.resolve().parents:
        raise OutputError(
            "an export is not written below cards/, where it could take the place of your own "
            "files.",
            where=str(target),
            how="Name another folder with --to, and copy from there what you want.",
        )
