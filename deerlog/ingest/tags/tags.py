"""The tag sheets, read: what a person said is in the photos, and which photo each row means."""

from __future__ import annotations

import posixpath
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.errors import Problem, PropertyError
from deerlog.property.cell_values import CellError
from deerlog.property.day_and_time import parse_time
from deerlog.property.matching import fold_name
from deerlog.property.rows_lost import rows_in_text
from deerlog.property.table_reader import SheetTable, read_table_bytes

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
            table = read_table_bytes(
                raw, COLUMNS, required=("photo", "bucks"), file=f"{TAGS}/{path.name}"
            )
        except OSError as error:
            why = f"The tag sheet cannot be read ({error.strerror or type(error).__name__})."
            how = "Close it in other programs and check that you may read it."
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


def tag_paths(sheets: Iterable[TagSheet]) -> dict[str, frozenset[str]]:
    """For each camera, the paths below its folder that the rows of its tag sheets give."""
    paths: dict[str, frozenset[str]] = {}
    for sheet in sheets:
        if sheet.table is not None and "photo" in sheet.table.frame:
            given = sheet.table.frame["photo"].tolist()
            found = frozenset(plain_path(photo, sheet.camera) for photo in given)
            paths[sheet.camera] = paths.get(sheet.camera, frozenset()) | found
    return paths


class PhotoFinder:
    """Finds the photo a row of a tag sheet means, on one camera.

    By its path; where nothing lies (or ever lay) there, by path in other case or Unicode form;
    then by file name and time, the corrected or the shown one.
    """

    def __init__(self, photos: pd.DataFrame, camera: str) -> None:
        mine = photos[photos["camera"] == camera]
        self._camera = camera
        self._rows: list[int] = mine.index.tolist()
        self._paths: list[str] = mine["path"].tolist()
        self._local = np.asarray(mine["local"].dt.tz_localize(None), dtype="datetime64[us]")
        self._shown = np.asarray(mine["shown"], dtype="datetime64[us]")
        # A file before a row of a CSV, and what lies there now before what was overwritten.
        rank = (mine["listed_in"] != "").to_numpy() * 1_000_000 + mine["replaced"].to_numpy()
        self._rank = rank
        self._by_path: dict[str, list[int]] = {}
        for i, path in enumerate(self._paths):
            self._by_path.setdefault(path, []).append(i)
        self._by_folded: dict[str, list[int]] | None = None
        self._by_name: dict[str, list[int]] | None = None

    def find(self, photo: str, taken: str) -> int:
        """Index in ``photos`` of what a row means, or -1."""
        found = self._by_path.get(photo)
        if found is not None and len(found) == 1:
            return self._rows[found[0]]
        path = plain_path(photo, self._camera)
        found = self._by_path.get(path)
        if found is None and path:
            found = self._folded().get(_fold_path(path))
        if found is not None:
            if len(found) > 1:
                at_time = self._at_time(found, taken)
                found = at_time or found
            return self._rows[min(found, key=lambda i: (self._rank[i], i))]
        named = self._named().get(_fold_path(posixpath.basename(path)), [])
        at_time = self._at_time(named, taken)
        return self._rows[at_time[0]] if at_time else -1

    def at_path(self, photo: str) -> int:
        """Index in ``photos`` of what lies at a path exactly, or -1."""
        found = self._by_path.get(plain_path(photo, self._camera))
        return self._rows[found[0]] if found else -1

    def _folded(self) -> dict[str, list[int]]:
        if self._by_folded is None:
            self._by_folded = {}
            for i, path in enumerate(self._paths):
                self._by_folded.setdefault(_fold_path(path), []).append(i)
        return self._by_folded

    def _named(self) -> dict[str, list[int]]:
        if self._by_name is None:
            self._by_name = {}
            for i, path in enumerate(self._paths):
                name = _fold_path(posixpath.basename(path))
                self._by_name.setdefault(name, []).append(i)
        return self._by_name

    def _at_time(self, candidates: list[int], taken: str) -> list[int]:
        if not candidates:
            return []
        try:
            time = parse_time(taken)
        except CellError:
            return []
        # Spreadsheet programs drop the seconds of a time.
        unit = timedelta(minutes=1) if taken.count(":") == 1 else timedelta(seconds=1)
        return [
            i
            for i in candidates
            if _inside(self._local[i], time, unit) or _inside(self._shown[i], time, unit)
        ]


def _inside(instant: np.datetime64, start: datetime, unit: timedelta) -> bool:
    value: datetime = instant.astype(datetime)
    return start <= value < start + unit


def plain_path(photo: str, camera: str) -> str:
    """A ``photo`` cell as a path below the camera's folder."""
    path = photo.replace("\\", "/")
    while path.startswith("./"):
        path = path[2:]
    return path.removeprefix(f"cards/{camera}/")


def _fold_path(path: str) -> str:
    return unicodedata.normalize("NFC", path).casefold().strip()


@dataclass(frozen=True)
class TagRows:
    """Rows of all tag sheets, with the photo each means.

    Attributes
    ----------
    table
        One row a row: ``camera``, ``file``, ``row``, ``photo`` and ``taken`` as typed,
        ``photo_id`` (-1: not in the log), ``visit`` (-1: none), ``bucks``, ``others``.
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
        Of `deerlog.ingest.logged_photos.logged_photos`.
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
        ids = np.array(
            [
                finder.find(photo, taken)
                for photo, taken in zip(
                    column["photo"].tolist(), column["taken"].tolist(), strict=True
                )
            ],
            dtype=np.int64,
        )
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
                }
            )
        )
        for _, cells in sheet.table.set_aside:
            spoilt.update(int(visit[i]) for i in _photos_among(cells, finder))
    table = pd.concat(parts, ignore_index=True) if parts else _no_rows()
    has_row = {int(v) for v in table["visit"].unique()} | spoilt
    return TagRows(table=table, has_row=frozenset(has_row - {-1}))


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
        for name in ("camera", "file", "photo", "taken", "bucks", "others")
    }
    numbers = {name: pd.Series([], dtype="int64") for name in ("row", "photo_id", "visit")}
    return pd.DataFrame(text | numbers)
