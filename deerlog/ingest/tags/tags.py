"""What a person wrote in a ``bucks`` cell.

The tag sheets, read: what a person said is in the photos, and which photo each row means.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.errors import Problem, PropertyError
from deerlog.ingest.tags.photo_finder import FoundPhoto, PhotoFinder, astray, plain_path
from deerlog.property.matching import BuckNames, fold_name
from deerlog.property.table_reader import SheetTable, read_table_bytes
from deerlog.property.table_rows import rows_in_text

_NOBODY = frozenset({"-", "–", "—", "\u2212", "‐", "‑"})  # spreadsheets lengthen a lone hyphen
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|sept|oct|nov|dec|mai|okt|dez)\.?"
_TURNED = re.compile(
    r"[+-]?[0-9]+(?:[.,][0-9]+)?(?:e[+-]?[0-9]+)?"  # a number
    rf"|[0-9]{{1,4}}[-. /]{_MONTH}(?:[-. /][0-9]{{2,4}})?|{_MONTH}[-. /][0-9]{{1,4}}"  # a date
    r"|[0-9]{1,4}[-./][0-9]{1,2}(?:[-./][0-9]{1,4})?(?: [0-9:]+)?"  # a date in figures
    r"|[0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?(?: ?[ap]m)?"  # a time
    r"|#(?:name|ref|value|n/a|div/0|num|null)[?!]?|#+"  # a formula that failed
    r"|true|false",
    re.IGNORECASE,
)
_BETWEEN = re.compile(r"\s*(?:,|/|&|\+|\band\b)\s*", re.IGNORECASE)


@dataclass(frozen=True)
class TaggedName:
    """A name in a cell, as written, and whether a ``?`` made it unsure."""

    name: str
    unsure: bool


@dataclass(frozen=True)
class BucksCell:
    """A ``bucks`` cell, understood.

    Attributes
    ----------
    looked_at
        False for a blank cell.
    names
        Each name once, sure where it stands twice.
    turned
        Parts that a spreadsheet program has made into a date, number or error; no names.
    """

    looked_at: bool
    names: tuple[TaggedName, ...] = ()
    turned: tuple[str, ...] = ()


def read_bucks_cell(text: str, known: BuckNames) -> BucksCell:
    """Read a ``bucks`` cell: blank, ``-``, or names separated by ``;``, unsure ones with ``?``.

    Parameters
    ----------
    known
        The listed bucks: a name such as ``8-Oct`` is taken as one where it is listed.
    """
    if not text.strip():
        return BucksCell(looked_at=False)
    names: dict[str, TaggedName] = {}
    turned: list[str] = []
    for part in text.replace("\uff1b", ";").split(";"):
        written = " ".join(part.split())
        name = written.rstrip("?？ ")
        if not name or name in _NOBODY:
            continue
        unsure = name != written
        if known.listed(name) is None and is_turned(name):
            turned.append(name)
            continue
        earlier = names.get(name)
        names[name] = TaggedName(name, unsure and (earlier is None or earlier.unsure))
    return BucksCell(looked_at=True, names=tuple(names.values()), turned=tuple(turned))


def is_turned(name: str) -> bool:
    """Whether a name looks like what a spreadsheet program makes of one: a date, a number."""
    return _TURNED.fullmatch(name) is not None


def several_in_one(name: str, known: BuckNames) -> tuple[str, ...]:
    """The listed names inside a name that was separated by something other than ``;``."""
    parts = [part.rstrip("? ") for part in _BETWEEN.split(name)]
    if len(parts) > 1 and all(part and known.listed(part) for part in parts):
        return tuple(parts)
    return ()


TAGS = "tags"
COLUMNS = ("photo", "taken", "photos", "bucks", "others", "notes")


@dataclass(frozen=True)
class TagSheet:
    """The tag sheet of one camera as it lies on disk.

    Attributes
    ----------
    camera
        The camera, as in cameras.csv where it is there.
    path
        Where the sheet is.
    raw
        Its bytes when it was read.
    table
        What they say; None where they cannot be read as a table (``problem`` says why).
    """

    camera: str
    path: Path
    raw: bytes
    table: SheetTable | None
    problem: Problem | None = None

    @property
    def file(self) -> str:
        """How problems call it."""
        return f"{TAGS}/{self.path.name}"


def read_tag_sheets(folder: Path, cameras: Iterable[str]) -> list[TagSheet]:
    """Read every ``tags/*.csv`` of a property folder, in order of name.

    Parameters
    ----------
    cameras
        Known cameras; a sheet whose name differs in case or spaces only is theirs.
    """
    known = {fold_name(camera): camera for camera in cameras}
    sheets = []
    for path in sorted((folder / TAGS).glob("*.[cC][sS][vV]")):
        if path.name.startswith(("~$", ".")):
            continue
        camera = known.get(fold_name(path.stem), path.stem)
        raw = b""
        try:
            raw = path.read_bytes()
            original = "" if camera in known.values() else known.get(_copied(path.stem), "")
            if original:
                raise _Copy(original)
            table = read_table_bytes(
                raw, COLUMNS, required=("photo", "bucks"), file=f"{TAGS}/{path.name}"
            )
        except OSError as error:
            why = f"The tag sheet cannot be read ({error.strerror or type(error).__name__})."
            how = "Close it in other programs and check that you may read it."
        except _Copy as copy:
            why = f"This looks like a copy of {copy}.csv; what is in it does not count."
            how = f"Move what is new in it to {copy}.csv, then delete it."
            if not (folder / TAGS / f"{copy}.csv").exists():
                how = f"Rename it to {copy}.csv."
        except PropertyError as error:
            why, how = f"The tag sheet is left out: {error.what}", error.how
        else:
            sheets.append(TagSheet(camera, path, raw, table))
            continue
        problem = Problem(
            kind="tag-sheet",
            file=f"{TAGS}/{path.name}",
            why=why,
            how=how,
            harm=float(rows_in_text(raw)),
        )
        sheets.append(TagSheet(camera, path, raw, None, problem))
    return sheets


class _Copy(Exception):
    """A sheet that is named like a copy of a camera's; says the camera."""


_COPY = re.compile(r"copyof(?P<of>.+)|(?P<name>.+?)(?:\([0-9]+\)|[-_]?copy(?:\(?[0-9]+\)?)?)")


def _copied(stem: str) -> str:
    """The name, folded, that a file is a copy of by the name the system gave it; or ``""``."""
    match = _COPY.fullmatch(fold_name(stem))
    return (match["of"] or match["name"]) if match else ""


def tag_paths(sheets: Iterable[TagSheet]) -> dict[str, frozenset[str]]:
    """For each camera, the paths below its folder that the rows of its tag sheets give."""
    paths: dict[str, frozenset[str]] = {}
    for sheet in sheets:
        if sheet.table is not None and "photo" in sheet.table.frame:
            given = sheet.table.frame["photo"].tolist()
            found = frozenset(plain_path(photo, sheet.camera) for photo in given)
            paths[sheet.camera] = paths.get(sheet.camera, frozenset()) | found
    return paths


@dataclass(frozen=True)
class TagRows:
    """Rows of all tag sheets, with the photo each means.

    Attributes
    ----------
    table
        One row a row: ``camera``, ``file``, ``row``, ``photo`` and ``taken`` as typed,
        ``photo_id`` (-1: not in the log), ``visit`` (-1: none), ``bucks``, ``others``; and
        ``times_there``: where ``taken`` is the time of no photo of the path (so that nobody can
        tell which is meant, and ``photo_id`` is -1) the times of those there are, else ``""``.
    has_row
        Visits that some row belongs to, also one too damaged to be read.
    """

    table: pd.DataFrame
    has_row: frozenset[int]


def find_photos(sheets: Iterable[TagSheet], photos: pd.DataFrame) -> TagRows:
    """Tie each row of the tag sheets to its photo and visit.

    Parameters
    ----------
    photos
        Of `deerlog.ingest.field_log.logged_photos`.
    """
    parts = []
    spoilt: set[int] = set()
    visit = photos["visit"].to_numpy()
    for sheet in sheets:
        if sheet.table is None:
            continue
        finder = PhotoFinder(photos, sheet.camera)
        frame = sheet.table.frame
        blank = pd.Series([""] * len(frame), dtype="str")
        column = {name: frame.get(name, blank) for name in COLUMNS}
        given = column["photo"].tolist()
        found = [
            finder.find(photo, taken)
            for photo, taken in zip(given, column["taken"].tolist(), strict=True)
        ]
        lost = _astray(found, photos)
        ids = np.array(
            [-1 if odd else each.place for each, odd in zip(found, lost, strict=True)],
            dtype=np.int64,
        )
        times_there = [
            ", ".join(str(time) for time in finder.times_at(photo)) if odd else ""
            for photo, odd in zip(given, lost, strict=True)
        ]
        parts.append(
            pd.DataFrame(
                {
                    "camera": pd.Series([sheet.camera] * len(frame), dtype="str"),
                    "file": pd.Series([sheet.file] * len(frame), dtype="str"),
                    "row": frame["row"],
                    "photo": column["photo"],
                    "taken": column["taken"],
                    "photo_id": ids,
                    "visit": _at(visit, ids),
                    "bucks": column["bucks"],
                    "others": column["others"],
                    "times_there": pd.Series(times_there, dtype="str"),
                }
            )
        )
        for _, cells in sheet.table.set_aside:
            spoilt.update(int(visit[i]) for i in _photos_among(cells, finder))
    table = pd.concat(parts, ignore_index=True) if parts else _no_rows()
    has_row = {int(v) for v in table["visit"].unique()} | spoilt
    return TagRows(table=table, has_row=frozenset(has_row - {-1}))


def _astray(found: list[FoundPhoto], photos: pd.DataFrame) -> list[bool]:
    if all(each.fits for each in found):
        return [False] * len(found)
    return astray(found, photos["time"].take([each.place for each in found]).tolist())


def _photos_among(cells: Iterable[str], finder: PhotoFinder) -> Iterator[int]:
    for cell in cells:
        found = finder.at_path(cell.strip().strip('"'))
        if found >= 0:
            yield found


def _at(values: npt.NDArray[np.int64], ids: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Values of photos, -1 for none."""
    return np.append(values, -1)[ids]


def _no_rows() -> pd.DataFrame:
    text = {
        name: pd.Series([], dtype="str")
        for name in ("camera", "file", "photo", "taken", "bucks", "others", "times_there")
    }
    numbers = {name: pd.Series([], dtype="int64") for name in ("row", "photo_id", "visit")}
    return pd.DataFrame(text | numbers)
