"""What is new since the last run of ingest, and what a run came to.

Besides the cards, the outcome hangs on the property's tables and the tag sheets. Their content is
hashed, not their times, so that the same inputs give the same photo log.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path

import deerlog
from deerlog.errors import Problem
from deerlog.ingest.cards.photo_file import FileTask
from deerlog.ingest.cards.walk import CARDS, CardWalk, shown_path
from deerlog.ingest.copies import folder_order
from deerlog.ingest.store.store import KnownFiles, is_csv, problem_from, problem_text
from deerlog.ingest.tags.tag_sources import stray_files
from deerlog.ingest.tags.tag_workbooks import workbook_files, workbook_state
from deerlog.ingest.tags.tags import TAGS
from deerlog.property.table_rows import NOT_CSV


@dataclass
class Changes:
    """What has to be read and marked.

    ``to_read``, ``csv_to_read``: new or changed files, in order of camera and path. ``gone``,
    ``back``: ``(camera, path)`` of files no longer there, and of gone ones that are there
    unchanged. ``known``: for each camera folder, how many files need not be opened.
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

    ``lists_anew``: whether CSVs are read again though they are unchanged.
    """
    changes = Changes()
    names = {shown_path(raw_name): raw_name for raw_name in walk.files}
    for camera, raw_name in sorted(names.items()):
        files = walk.files[raw_name]
        mine = known.get(camera, KnownFiles())
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


@dataclass(frozen=True)
class Outcome:
    """What a run came to.

    ``photos``, ``visits``: how many the log holds. ``problems``: those that hang on the log, the
    tables and the tag sheets only. ``to_tag``: visits nobody has looked at yet, by camera; cameras
    without one left out. ``date_order``: of the settings, by which the CSV photo logs were read.
    ``tags``: of `deerlog.ingest.tags.tag_sources.tags_remembered`. ``out_of_reach``: files below
    cards/ that could not be read this time. ``seen``: names of the cards, cameras, sheets and bucks
    there were.
    """

    photos: int
    visits: int
    problems: tuple[Problem, ...]
    to_tag: Mapping[str, int] = field(default_factory=dict)
    date_order: str = ""
    tags: Mapping[str, int] = field(default_factory=dict)
    out_of_reach: Sequence[str] = ()
    seen: Mapping[str, Sequence[str]] = field(default_factory=dict)

    def to_text(self) -> str:
        """As JSON."""
        problems = [problem_text(each) for each in self.problems]
        return json.dumps({**vars(self), "problems": problems})

    @classmethod
    def from_text(cls, text: str) -> Outcome | None:
        """What `to_text` wrote; None where there is none, or it is damaged: it is made anew."""
        try:
            values = json.loads(text)
            problems = tuple(problem_from(each) for each in values["problems"])
            return cls(**values | {"problems": problems})
        except (ValueError, TypeError, KeyError):
            return None


def hash_inputs(folder: Path) -> str:
    """A hash over a property's tables, settings, tag sheets and workbooks; ``""`` if unreadable."""
    total = hashlib.sha256(deerlog.__version__.encode())

    def add(*words: object, content: bytes = b"") -> None:
        line = f"\n{' '.join(map(str, words))}\n".encode("utf-8", "surrogateescape")
        total.update(line + content)

    names = [*folder.glob("*.csv"), *folder.glob("*.toml"), *(folder / TAGS).glob("*")]
    try:
        workbooks = workbook_files(folder)
        if workbooks:
            # Whether they can be read hangs on a package that may be installed later.
            total.update(f"\n{find_spec('openpyxl') is not None}".encode())
        for path in workbooks:
            add(path.name, content=workbook_state(path))
        not_csv = [path for path in folder.iterdir() if path.name.casefold().endswith(NOT_CSV)]
        for path in sorted({*not_csv, *stray_files(folder)}):
            add(path.relative_to(folder).as_posix(), path.stat().st_size)
        for path in sorted(names):
            content = path.read_bytes() if path.is_file() else b""
            add(path.relative_to(folder).as_posix(), len(content), content=content)
    except OSError:
        return ""
    return total.hexdigest()
