"""The tag sheets, read: what a person said is in the photos, and which photo each row means."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from deerlog.errors import Problem, PropertyError
from deerlog.ingest.tags.bucks_cell import BucksCell, read_cells
from deerlog.ingest.tags.photo_finder import PhotoFinder, astray, plain_path
from deerlog.property.matching import BuckNames, fold_name
from deerlog.property.table_reader import SheetTable, read_table_bytes
from deerlog.property.table_rows import rows_in_text

TAGS = "tags"
COLUMNS = ("photo", "taken", "photos", "bucks", "others", "notes")


@dataclass(frozen=True)
class TagSheet:
    """A tag sheet as it lies on disk, or the rows of one camera in a workbook or saved page.

    ``camera``: as in cameras.csv where it is there. ``file``: how problems call it. ``raw``: bytes
    of a CSV when it was read. ``table``: what it says; None where it cannot be read as a table
    (``problem`` says why).
    """

    camera: str
    file: str
    path: Path
    raw: bytes = b""
    table: SheetTable | None = None
    problem: Problem | None = None
    saved_page: bool = False

    @property
    def by_time(self) -> bool:
        """Whether the sheet has lost its ``photo`` column, so that its rows go by ``taken``."""
        return self.table is not None and "photo" not in self.table.frame

    @property
    def in_workbook(self) -> bool:
        """Whether this is a workbook or a saved page: nothing is ever appended to it."""
        return self.saved_page or self.path.suffix.casefold() != ".csv"


def read_tag_sheets(folder: Path, cameras: Iterable[str]) -> list[TagSheet]:
    """Read every ``tags/*.csv`` of a property folder: tag sheets, then saved pages, by name.

    A sheet whose name differs from a camera's in case or spaces only is its own.
    """
    known = {fold_name(camera): camera for camera in cameras}
    sheets: list[TagSheet] = []
    saved: list[TagSheet] = []
    for path in sorted(path for path in (folder / TAGS).glob("*") if is_tag_sheet(path)):
        file = f"{TAGS}/{path.name}"
        camera = known.get(fold_name(path.stem), path.stem)
        raw = b""
        try:
            if path.exists() and not path.is_file():
                raise OSError(0, "it is no file")
            raw = path.read_bytes()
            of_page = [] if camera in known.values() else _saved_page(raw, file, path, known)
            if of_page:
                saved += of_page
                continue
            original = "" if camera in known.values() else _copied(path.stem, known)
            if original:
                there = (folder / TAGS / f"{original}.csv").exists()
                why = f"This looks like a copy of {original}.csv; what is in it does not count."
                how = f"Move what is new in it to {original}.csv, then delete it."
                how = how if there else f"Rename it to {original}.csv."
            else:
                table = read_table_bytes(raw, COLUMNS, required=("bucks",), file=file)
                if "photo" not in table.frame and "taken" not in table.frame:
                    read_table_bytes(raw, COLUMNS, required=("photo", "bucks"), file=file)
                sheets.append(TagSheet(camera, file, path, raw, table))
                continue
        except OSError as error:
            why = f"The tag sheet cannot be read ({error.strerror or type(error).__name__})."
            how = "Close it in other programs and check that you may read it."
            if path.is_symlink() and not path.exists():
                why = f"The tag sheet is a link to {path.readlink()}, which is not there."
                how = "Put that file back, or remove the link; ingest then makes a sheet anew."
        except PropertyError as error:
            why, how = f"The tag sheet is left out: {error.what}", error.how
        rows = float(rows_in_text(raw))
        problem = Problem(kind="tag-sheet", file=file, why=why, how=how, harm=rows)
        sheets.append(TagSheet(camera, file, path, raw, None, problem))
    return sheets + saved


def _saved_page(raw: bytes, file: str, path: Path, known: Mapping[str, str]) -> list[TagSheet]:
    """What a page to tag on has saved, one a camera; nothing where a CSV is no such thing.

    Its column ``camera`` tells it from a tag sheet.
    """
    table = read_table_bytes(raw, ("camera", *COLUMNS), file=file)
    if not {"camera", "photo", "bucks"} <= set(table.frame):
        return []
    named = table.frame["camera"].map(lambda name: known.get(fold_name(name), name or path.stem))
    parts = list(table.frame.drop(columns="camera").groupby(named.to_numpy()))
    return [
        TagSheet(
            camera=str(camera),
            file=file,
            path=path,
            table=replace(
                table,
                frame=rows.reset_index(drop=True),
                problems=() if place else table.problems,  # said once
            ),
            saved_page=True,
        )
        for place, (camera, rows) in enumerate(parts)
    ]


def is_tag_sheet(path: Path) -> bool:
    """Whether a file in ``tags/`` is read as a tag sheet, by its name."""
    return path.suffix.casefold() == ".csv" and not path.name.startswith(("~$", "."))


_COPY = re.compile(r"copy(?: \([0-9]+\))? of (.+)", re.IGNORECASE)


def _copied(stem: str, known: Mapping[str, str]) -> str:
    """The camera whose sheet a file is a copy of by its name, which goes on after it; or ``""``.

    ``Seep (1)``, ``Seep - Copy``, ``Seep 2``, ``Seep edited``, ``Seep.csv``, ``Copy of Seep``.
    """
    copy_of = _COPY.fullmatch(stem.strip())
    if copy_of:
        return known.get(fold_name(copy_of[1]), "")
    ends = [i for i in range(len(stem), 0, -1) if not stem[i - 1 : i + 1].isalnum()]
    return next((known[name] for i in ends if (name := fold_name(stem[:i])) in known), "")


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
    """What the tag sheets and workbooks say, tied to photos and bucks.

    ``sheets``: the sheets, then the workbooks. ``table``: one row a row of theirs, in this order:
    ``camera``, ``file``, ``in_workbook``, ``row``, ``photo`` and ``taken`` as typed, ``photo_id``
    (-1: not in the log), ``visit`` (-1: none), ``bucks``, ``others``; and ``times_there``: where
    ``taken`` is the time of no photo of the path (so that nobody can tell which is meant, and
    ``photo_id`` is -1) the times of those there are, else ``""``.

    ``has_row``: visits that some row of a sheet belongs to, also one too damaged to be read. A
    workbook gives no visit a row: one row too few in the sheets would be a visit lost when it is
    deleted. ``cells``: every different ``bucks`` cell, understood. ``known``: the listed bucks.
    ``left_out``: names that are not listed, and so many that they cannot be bucks.
    """

    sheets: Sequence[TagSheet]
    table: pd.DataFrame
    has_row: frozenset[int]
    cells: Mapping[str, BucksCell]
    known: BuckNames
    left_out: frozenset[str] = frozenset()

    def bucks(self, rows: pd.DataFrame) -> tuple[str, ...]:
        """The bucks tagged in some rows, in order of name."""
        names = {each.name for text in rows["bucks"].unique() for each in self.cells[text].names}
        return tuple(sorted({self.known.canonical(name) for name in names}))

    def looked_at(self, rows: pd.DataFrame) -> pd.Series:
        """Which of some rows somebody has looked at."""
        return rows["bucks"].map(lambda text: self.cells[text].looked_at).astype(bool)


_ROWS = {
    **dict.fromkeys(("camera", "file", "photo", "taken", "bucks", "others", "times_there"), "str"),
    **dict.fromkeys(("row", "photo_id", "visit"), "int64"),
    "in_workbook": "bool",
}


def find_photos(
    sheets: Sequence[TagSheet], photos: pd.DataFrame, known: BuckNames, no_names: Sequence[str] = ()
) -> TagRows:
    """Tie each row of the tag sheets and workbooks to its photo and visit.

    ``photos`` are of `deerlog.ingest.field_log.logged_photos`; ``no_names``, words that are no
    names, of the settings.
    """
    parts = [pd.DataFrame(columns=list(_ROWS)).astype(_ROWS)]
    visit = np.append(photos["visit"].to_numpy(), -1)
    has_row: set[int] = set()
    for sheet in sheets:
        if sheet.table is None:
            continue
        finder = PhotoFinder(photos, sheet.camera)
        rows = _rows_of(sheet, sheet.table.frame, finder, photos)
        rows["visit"] = visit[rows["photo_id"].to_numpy()]
        if not sheet.in_workbook:
            set_aside = (cell for _, cells in sheet.table.set_aside for cell in cells)
            spoilt = [finder.at_path(cell.strip().strip('"')) for cell in set_aside]
            has_row |= {*rows["visit"].tolist(), *(int(visit[i]) for i in spoilt)}
        parts.append(rows.astype(_ROWS))
    table = pd.concat(parts, ignore_index=True)
    cells, left_out = read_cells(table, known, no_names)
    return TagRows(sheets, table, frozenset(has_row - {-1}), cells, known, left_out)


def _rows_of(
    sheet: TagSheet, frame: pd.DataFrame, finder: PhotoFinder, photos: pd.DataFrame
) -> pd.DataFrame:
    """The rows of one sheet, each with the photo it means."""
    wanted = ["row", *COLUMNS[:2], "bucks", "others"]
    cells = frame.assign(**{name: "" for name in wanted if name not in frame})[wanted]
    find = (lambda _, taken: finder.at_time(taken)) if sheet.by_time else finder.find
    paths = cells["photo"].tolist()
    found = [find(*each) for each in zip(paths, cells["taken"].tolist(), strict=True)]
    lost = [False] * len(found)
    if not all(each.fits for each in found):
        lost = astray(found, photos["time"].take([each.place for each in found]).tolist())
    there = [finder.times_at(path) if odd else [] for path, odd in zip(paths, lost, strict=True)]
    return cells.assign(
        camera=sheet.camera,
        file=sheet.file,
        in_workbook=sheet.in_workbook,
        photo_id=np.where(lost, -1, np.array([each.place for each in found], dtype=np.int64)),
        times_there=[", ".join(map(str, times)) for times in there],
    )
