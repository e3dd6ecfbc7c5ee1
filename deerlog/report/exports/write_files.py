"""Exported files put in their place, over nothing of a person's; what an export came to."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from deerlog.errors import OutputError
from deerlog.property.whole_file import unfinished, write_closed
from deerlog.report.terminal import wrapped

_SHOWN = 5


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


WRITTEN = ".deerlog-export.json"
"""What exports wrote into a folder: by path the fingerprint of the last, and of the one before."""
OWN_FOLDERS = ("cards", "tags", "reports")
"""Folders of a property that hold what a person or deerlog itself keeps there."""


def write_files(folder: Path, texts: Mapping[str, str]) -> list[Path]:
    """Write text files, by path with ``/``, below a folder: UTF-8 with line ends as they are.

    All are written in full beside their places before the first takes its place. Only what an
    earlier export wrote, and nobody changed since, is written over. An OutputError where something
    could not be written, or lies in the way.
    """
    _refuse_own_folders(folder)
    contents = {name: text.encode("utf-8") for name, text in texts.items()}
    partial: dict[Path, Path] = {}
    try:
        written = _written(folder)
        for name in contents:
            _refuse_strange(folder / name, written.get(name, []))
        prints = written | {
            name: [_fingerprint(content), *written.get(name, [])[:1]]
            for name, content in contents.items()
        }
        # First said to be ours, then put there: a run killed in between may be given again.
        contents = {WRITTEN: json.dumps(prints, indent=1).encode()} | contents
        for name, content in contents.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            fresh = unfinished(path)
            partial[fresh] = path
            write_closed(fresh, content)
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
    return [folder / name for name in texts]


def _fingerprint(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _written(folder: Path) -> dict[str, list[str]]:
    """What earlier exports wrote into a folder; nothing where that cannot be told."""
    try:
        found = json.loads((folder / WRITTEN).read_text(encoding="utf-8"))
    except (FileNotFoundError, NotADirectoryError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def _refuse_strange(path: Path, written: list[str]) -> None:
    """Refuse to write over what no export wrote, or what was changed since."""
    if not os.path.lexists(path):
        return
    if path.is_file() and not path.is_symlink() and _fingerprint(path.read_bytes()) in written:
        return
    since = "was changed since an export wrote it" if written else "was not written by an export"
    raise OutputError(
        f"it {since}, so it is left as it is, and nothing was exported.",
        where=str(path),
        how="Move it away, or name another folder with --to.",
    )


def _refuse_own_folders(target: Path) -> None:
    """Refuse to write into a property itself, or into or below one of `OWN_FOLDERS` in it."""
    real = target.resolve()
    for folder in (real, *real.parents):
        below = real.relative_to(folder).parts
        kept = not below or below[0].casefold() in OWN_FOLDERS
        if kept and (folder / "property.toml").is_file():
            raise OutputError(
                f"an export is not written into {f'{below[0]}/ of ' if below else ''}a property, "
                "where it could take the place of your own files.",
                where=str(target),
                how="Name another folder with --to, and copy from there what you want.",
            )
