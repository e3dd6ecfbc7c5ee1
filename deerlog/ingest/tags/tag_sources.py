"""Tags that do not count: files that hold some and are not read, and sheets that hold fewer now."""

from __future__ import annotations

import posixpath
import stat
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from deerlog.errors import Problem, PropertyError
from deerlog.ingest.tags.tag_workbooks import READ, Unreadable, read_workbook, workbook_files
from deerlog.ingest.tags.tags import COLUMNS, TAGS, TagRows, is_tag_sheet
from deerlog.property.matching import fold_name
from deerlog.property.table_reader import read_table_bytes
from deerlog.property.whole_file import UNFINISHED
from deerlog.property.wording import agree, count

_TEXT = (".csv", ".txt", ".tsv", ".bak", ".old", ".orig")
_MOST_BYTES = 20_000_000
_HEAD_BYTES = 4_096


def stray_files(folder: Path) -> list[Path]:
    """Files that a person may have put tags into and that are not read, in order of name.

    Those deeper below ``tags/`` than its sheets and workbooks, or there under another ending or a
    leading dot; those of a folder whose name is ``tags`` but for capitals; and tables and workbooks
    in the property folder itself.
    """
    read = {path for path in (folder / TAGS).glob("*") if is_tag_sheet(path)}
    read.update(path for path in workbook_files(folder) if path.suffix.casefold() not in _TEXT)
    found = [path for path in folder.glob("*") if path.suffix.casefold() in (*_TEXT, *READ)]
    for below in folder.glob("*"):
        if fold_name(below.name) == TAGS and below.is_dir():
            found += below.rglob("*")
    skipped = ("~$", ".~lock.", UNFINISHED)
    return sorted(
        path
        for path in found
        if path not in read and not path.name.startswith(skipped) and _is_regular(path)
    )


def _is_regular(path: Path) -> bool:
    try:
        state = path.stat()
    except OSError:
        return False
    return stat.S_ISREG(state.st_mode) and state.st_size <= _MOST_BYTES


def stray_tags(folder: Path, tags: TagRows) -> Iterator[Problem]:
    """Each file that is not read and holds tags that stand nowhere else."""
    named = tags.table[tags.table["bucks"] != ""]
    columns = (named[name].tolist() for name in ("camera", "photo", "bucks"))
    counted = {
        (camera, posixpath.basename(photo), text)
        for camera, photo, text in zip(*columns, strict=True)
    }
    cameras = {fold_name(sheet.camera): sheet.camera for sheet in tags.sheets}
    told = {sheet.file for sheet in tags.sheets if sheet.problem}
    for path in stray_files(folder):
        file, name = path.relative_to(folder).as_posix(), fold_name(path.name.lstrip("."))
        own = cameras.get(max((c for c in cameras if name.startswith(c)), default=""), "")
        held = [tag for tag in _tags_in(path, own) if tag not in counted]
        if held and file not in told:
            yield Problem(
                kind="tags-not-read",
                file=file,
                why=f"{count(len(held), 'tag')} in this file "
                f"{agree(len(held), 'does', 'do')} not count: tags are read from "
                f"{TAGS}/*.csv and {TAGS}/workbooks/*.xlsx only.",
                how=_how(path, folder),
                harm=float(len(held)),
            )


def _how(path: Path, folder: Path) -> str:
    if path.suffix.casefold() in READ:
        return f"Move it into {TAGS}/workbooks/, if they are meant to count; else out of here."
    name = path.name.lstrip(".")
    for ending in (*_TEXT, *_TEXT):  # Seep.csv.txt
        name = name.removesuffix(ending)
    if (folder / TAGS / f"{name}.csv").exists():
        return f"Move what is new in it into {TAGS}/{name}.csv, then take it out of here."
    return f"Save it as {TAGS}/{name}.csv, if they are meant to count; else take it out of here."


def _tags_in(path: Path, own: str) -> list[tuple[str, str, str]]:
    """Camera, file name of the photo and ``bucks`` cell of each row that is filled in."""
    try:
        if path.suffix.casefold() in READ:
            rows: Iterable[Mapping[str, str]] = []
            if _mentions_bucks(path):
                rows = (cells for _, cells in read_workbook(path, path.stem).rows)
        else:
            raw = path.read_bytes()
            if b"bucks" not in raw[:_HEAD_BYTES].replace(b"\0", b"").lower():
                return []
            frame = read_table_bytes(raw, COLUMNS, required=("photo", "bucks"), file=path.name)
            rows = frame.frame.to_dict("records")  # type: ignore[assignment]
    except (OSError, PropertyError, Unreadable):
        return []
    return [
        (row.get("camera", "") or own, posixpath.basename(row["photo"]), row["bucks"])
        for row in rows
        if row["bucks"]
    ]


def _mentions_bucks(path: Path) -> bool:
    """Whether a workbook has the word at all: cheaper than reading it."""
    try:
        with zipfile.ZipFile(path) as book:
            parts = [name for name in book.namelist() if name.startswith("xl/")]
            return any(b"bucks" in book.read(name).lower() for name in parts if ".xml" in name)
    except Exception:  # a damaged archive makes the reader raise nearly anything
        return False


def tags_held(tags: TagRows) -> dict[str, int]:
    """How many cells of each sheet and workbook are filled in."""
    filled = tags.table.loc[tags.table["bucks"] != "", "file"].value_counts()
    return {str(file): int(n) for file, n in filled.sort_index().items()}


def tags_remembered(held: Mapping[str, int], before: Mapping[str, int]) -> dict[str, int]:
    """What to hold the next run against: what was lost is remembered until as much is there."""
    if sum(held.values()) >= sum(before.values()):
        return dict(held)
    return dict(held) | {file: max(n, held.get(file, 0)) for file, n in before.items()}


def lost_tags(tags: TagRows, before: Mapping[str, int]) -> Iterator[Problem]:
    """Sheets and workbooks that hold fewer tags than an earlier ingest found in them.

    Nothing where as many are there in all: then they were moved. ``before`` is of
    `tags_remembered`, as the last ingest kept it.
    """
    held = tags_held(tags)
    if sum(held.values()) >= sum(before.values()):
        return
    there = {sheet.file for sheet in tags.sheets}
    unreadable = {sheet.file for sheet in tags.sheets if sheet.table is None}
    for file, number in before.items():
        lost, gone = number - held.get(file, 0), file not in there
        if lost > 0 and file not in unreadable:
            missing = (
                f"it is gone: {agree(lost, 'this one counts', 'these count')} no more."
                if gone
                else f"now {lost:,} {agree(lost, 'is', 'are')} missing."
            )
            yield Problem(
                kind="tags-gone",
                file=file,
                why=f"An earlier ingest found {count(number, 'tag')} in it, and {missing}",
                how="Put it back from a copy, if that was not meant; if it was, tag on: this is "
                "said until there are as many tags again.",
                must_mend=gone,
                harm=float(lost),
            )
