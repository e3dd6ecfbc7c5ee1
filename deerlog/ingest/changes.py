"""What is new on the cards since the log last met them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from deerlog.ingest.cards.read_many import FileTask
from deerlog.ingest.cards.walk import CARDS, CardWalk, shown_path
from deerlog.ingest.same_picture import folder_order
from deerlog.ingest.store.store import KnownFiles, is_csv


@dataclass
class Changes:
    """What has to be read and marked.

    Attributes
    ----------
    to_read, csv_to_read
        New or changed files, in order of camera and path.
    gone, back
        ``(camera, path)`` of files no longer there, and of gone ones that are there unchanged.
    known
        For each camera folder, how many files need not be opened.
    """

    to_read: list[FileTask] = field(default_factory=list)
    csv_to_read: list[FileTask] = field(default_factory=list)
    gone: list[tuple[str, str]] = field(default_factory=list)
    back: list[tuple[str, str]] = field(default_factory=list)
    known: dict[str, int] = field(default_factory=dict)

    @property
    def any(self) -> bool:
        """Whether there is anything to read or mark."""
        return bool(self.to_read or self.csv_to_read or self.gone or self.back)


def find_changes(
    folder: Path, walk: CardWalk, known: Mapping[str, KnownFiles], *, lists_anew: bool = False
) -> Changes:
    """Hold what lies on the cards against what the log knows, by size and modification time.

    Parameters
    ----------
    folder
        The property folder.
    walk, known
        What was found, and what is known.
    lists_anew
        Whether CSVs are read again though they are unchanged.
    """
    changes = Changes()
    nothing = KnownFiles()
    names = {}
    for raw_name in walk.files:
        names[shown_path(raw_name)] = raw_name
    for camera in sorted(names):
        raw_name = names[camera]
        files = walk.files[raw_name]
        mine = known.get(camera, nothing)
        changes.known[camera] = len(files)
        if files == mine.there and not (lists_anew and any(is_csv(path) for path in mine.there)):
            continue
        raw_paths = {shown_path(path): path for path in files}
        below = (folder / CARDS / raw_name).as_posix()
        for path in sorted(raw_paths, key=folder_order):
            raw = raw_paths[path]
            state = files[raw]
            if mine.there.get(path) == state and not (lists_anew and is_csv(path)):
                continue
            if mine.gone.get(path) == state and not is_csv(path):
                changes.back.append((camera, path))
                continue
            changes.known[camera] -= 1
            task = (f"{below}/{raw}", camera, path, *state)
            (changes.csv_to_read if is_csv(path) else changes.to_read).append(task)
        changes.gone.extend(
            (camera, path)
            for path in sorted(mine.there.keys() - raw_paths.keys())
            if not _out_of_sight(walk, raw_name, path)
        )
    if ("", "") not in walk.closed_folders:
        for camera in sorted(known.keys() - names.keys()):
            changes.gone.extend((camera, path) for path in sorted(known[camera].there))
    return changes


def _out_of_sight(walk: CardWalk, camera: str, path: str) -> bool:
    """Whether a missing file lies where the walk could not look, or could not be asked about."""
    return any(
        name == camera and path.startswith(shown_path(below)) for name, below in walk.closed_folders
    ) or any(shown_path(raw) == path for raw, _ in walk.unreadable.get(camera, ()))
