"""The files that lie below ``cards/``, found without opening any."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from deerlog.errors import Problem
from deerlog.property.wording import count

CARDS = "cards"

# What systems leave on cards and no camera writes. Counted, never read.
_LITTER_FILES = frozenset({"thumbs.db", "ehthumbs.db", "desktop.ini", ".ds_store"})
_LITTER_FOLDERS = frozenset({".spotlight-v100", ".trashes", ".fseventsd", ".temporaryitems"}) | {
    "system volume information",
    "$recycle.bin",
    "@eadir",
}
_LITTER_STARTS = ("._", "~$", ".~lock.")

FileState = tuple[int, int]
"""Size in bytes and modification time in nanoseconds."""


@dataclass
class CardWalk:
    """What was found below ``cards/``, by camera folder."""

    files: dict[str, dict[str, FileState]] = field(default_factory=dict)
    """Each file's path below the folder (with ``/``) and its state. Unordered: sorting a hundred
    thousand names that are all known would cost more than it gives."""
    ignored: Counter[str] = field(default_factory=Counter)
    """How many files and folders of the system's own were passed over."""
    unreadable: dict[str, list[tuple[str, str]]] = field(default_factory=dict)
    """``(path, reason)`` of files whose state could not be had."""
    closed_folders: list[tuple[str, str]] = field(default_factory=list)
    """``(camera, path below it)`` of folders that could not be listed: what the log knows below
    them is not gone, only out of sight."""
    problems: list[Problem] = field(default_factory=list)


def walk_cards(folder: Path) -> CardWalk:
    """Find every file below ``cards/<camera>/`` of a property folder; none where that is missing.

    Folders are never entered twice, so links that lead in a circle end.
    """
    found = CardWalk()
    cards = folder / CARDS
    try:
        with os.scandir(cards) as entries:
            top = sorted(entries, key=lambda entry: entry.name)
    except FileNotFoundError:
        return found
    except OSError as error:
        found.problems.append(_closed(CARDS, error))
        found.closed_folders.append(("", ""))
        return found
    loose = []
    for entry in top:
        if _is_folder(entry):
            if entry.name.casefold() not in _LITTER_FOLDERS:
                found.files[entry.name] = {}
                _walk_camera(entry.name, entry.path, found)
                found.problems.extend(_empty_cards(entry.name, entry.path, found))
        elif not _is_litter(entry.name):
            loose.append(entry.name)
    if loose:
        it, they, its = ("it", "it is", "its") if len(loose) == 1 else ("them", "they are", "their")
        found.problems.append(
            Problem(
                kind="loose-files",
                file=f"{CARDS}/{shown_path(loose[0])}",
                why=f"{count(len(loose), 'file lies', 'files lie')} in {CARDS}/ itself, so no "
                f"camera is known for {it}; {they} not read.",
                how=f"Move {it} into a folder named after {its} camera, below {CARDS}/.",
                harm=float(len(loose)),
            )
        )
    return found


def shown_path(path: str) -> str:
    """A path that can be stored and printed: bytes that are no text become ``\\xff``."""
    if path.isascii():
        return path
    return path.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")


def _place(camera: str, below: str) -> str:
    return f"{CARDS}/{shown_path(camera)}/{shown_path(below)}".rstrip("/")


def _walk_camera(camera: str, root: str, found: CardWalk) -> None:
    files = found.files[camera]
    seen: dict[object, str] = {}
    waiting = [(root, "")]
    while waiting:
        place, below = waiting.pop()
        try:
            identity = _identity(place)
            if identity in seen:
                found.problems.append(_linked_again(camera, below, seen[identity]))
                continue
            seen[identity] = below
            with os.scandir(place) as entries:
                folders = []
                for entry in entries:
                    name = entry.name
                    path = below + name
                    folder = _is_folder(entry)
                    if _is_litter(name) or (folder and name.casefold() in _LITTER_FOLDERS):
                        found.ignored[camera] += 1
                    elif folder:
                        folders.append((entry.is_symlink(), name, entry.path, path + "/"))
                    else:
                        try:
                            state = entry.stat()
                        except OSError as error:
                            reason = f"cannot be read ({_words(error)})"
                            found.unreadable.setdefault(camera, []).append((path, reason))
                            continue
                        files[path] = (state.st_size, state.st_mtime_ns)
        except OSError as error:
            found.closed_folders.append((camera, below))
            found.problems.append(_closed(_place(camera, below), error))
            continue
        # Taken from the end, so that real folders come before links to them, in order of name.
        folders.sort(reverse=True)
        waiting.extend((where, path) for _, _, where, path in folders)


def _empty_cards(camera: str, root: str, found: CardWalk) -> Iterator[Problem]:
    """Folders of a camera without any file; the last one to be put there is news."""
    files = [*found.files[camera], *(path for path, _ in found.unreadable.get(camera, ()))]
    closed = {below.partition("/")[0] for folder, below in found.closed_folders if folder == camera}
    if "" in closed:
        return
    with os.scandir(root) as entries:
        folders = [e for e in entries if e.is_dir(follow_symlinks=False) and not _is_litter(e.name)]
    dumps = {entry.name: entry.stat().st_mtime_ns for entry in folders}
    full = {path.partition("/")[0] for path in files if "/" in path} | closed
    empty = sorted(
        name for name in dumps if name not in full and name.casefold() not in _LITTER_FOLDERS
    )
    for name in empty if dumps else [] if files else [""]:
        yield Problem(
            kind="card-empty",
            file=_place(camera, name),
            why="No photo came from here: there is no file in this folder.",
            how="Look at the camera and its card. Copy the card again if there are photos on it; "
            "if not, remove this folder.",
            must_mend=False,
            camera=shown_path(camera),
            lately=not name or dumps[name] == max(dumps.values()),
        )


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:
        return False


def _is_litter(name: str) -> bool:
    return name.startswith(_LITTER_STARTS) or name.casefold() in _LITTER_FILES


def _identity(place: str) -> object:
    """What is the same for one folder, however it was reached."""
    state = os.stat(place)  # noqa: PTH116  (a Path for each folder costs more than its stat)
    # Some file systems have no such numbers.
    return (state.st_dev, state.st_ino) if state.st_ino else os.path.realpath(place)


def _words(error: OSError) -> str:
    return error.strerror or type(error).__name__


def _closed(where: str, error: OSError) -> Problem:
    return Problem(
        kind="folder-unreadable",
        file=where,
        why=f"The folder cannot be listed ({_words(error)}); what lies below it is not read.",
        how="Check that the card or disk is still there and that you may read it; then run "
        "ingest again.",
        harm=1.0,
    )


def _linked_again(camera: str, below: str, first: str) -> Problem:
    return Problem(
        kind="folder-twice",
        file=_place(camera, below),
        why=f"This is a link to a folder that was read already ({shown_path(first) or camera}); "
        "it is not read again.",
        how="Nothing to do; remove the link if it is not wanted.",
        must_mend=False,
    )
