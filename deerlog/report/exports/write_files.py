"""Puts exported files in their place, each wholly or not at all."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from deerlog.errors import OutputError
from deerlog.whole_file import unfinished, write_closed


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
