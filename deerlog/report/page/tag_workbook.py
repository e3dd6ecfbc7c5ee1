"""Writes a workbook of visits to tag: their pictures in the rows, buck names to choose from."""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from itertools import chain, count
from pathlib import Path
from typing import TYPE_CHECKING

from deerlog.errors import OutputError
from deerlog.ingest.tags.tag_workbooks import INSTALL, WORKBOOK_COLUMNS, WORKBOOKS
from deerlog.ingest.to_tag import Picture, SheetToTag, VisitToTag
from deerlog.property import Property
from deerlog.property.whole_file import write_whole
from deerlog.report.page.visit_pictures import small_faces, small_jpeg

if TYPE_CHECKING:
    from openpyxl.cell import Cell
    from openpyxl.worksheet.worksheet import Worksheet


MOST_VISITS = 300
"""Visits of one workbook, the newest: with their pictures some ten megabytes (our choice)."""
PICTURES = 3
"""Pictures in a row: the first, one in the middle and the last of the visit (our choice)."""
PICTURE_PX = (320, 240)
"""Largest width and height of a picture: antlers can be told, and a hundred fit a mail."""

_WIDTHS = {"camera": 12, "photo": 22, "taken": 19, "photos": 8, "bucks": 24, "others": 16,
           "notes": 24}  # fmt: skip
_PX_A_CHARACTER = 7  # width of a column is counted in digits of the usual font
_POINTS_A_PX = 0.75
_EMU_A_PX = 9525

HOW_TO = (
    "Choose a name in the column bucks, or write it.",
    "Several names: a semicolon between.",
    "Not sure: a question mark after the name.",
    "No buck you know: a hyphen.",
    "Save, and run deerlog ingest or report: what you wrote counts like the sheets in tags/.",
    "deerlog never writes to this file again. Sort and filter as you like.",
)

Progress = Callable[[str, int, int], None]


def need_openpyxl() -> None:
    """See that workbooks can be written: an OutputError where openpyxl is not installed."""
    try:
        import openpyxl  # noqa: F401
    except ImportError:
        raise OutputError(
            "a workbook needs the package openpyxl, which is not installed.",
            how=f"Install it with `{INSTALL}`, or do without: the sheets in tags/ and the pages "
            "beside them are the same.",
        ) from None


def write_workbook(
    place: Property, sheets: Sequence[SheetToTag], *, today: date, progress: Progress | None = None
) -> tuple[Path, int] | None:
    """Write the visits to tag that no workbook holds yet into a new one; gives it, and how many
    visits it holds. None where there is none to write; an OutputError where it cannot be written.

    ``today`` names the file; a second one of the day gets ``-2``. One that is there is never
    touched. ``progress`` is told how far it is.
    """
    waiting = [
        v
        for sheet in sheets
        for v in sheet.visits
        if not v.in_workbook and _writable(v.photo + v.camera)
    ]
    newest = sorted(waiting, key=lambda v: v.taken)[-MOST_VISITS:]
    visits = sorted(newest, key=lambda v: (v.camera, v.taken))
    if not visits:
        return None
    names = [str(name) for name in place.bucks["buck"] if _writable(str(name))]
    folder = place.folder / "tags" / WORKBOOKS
    try:
        folder.mkdir(parents=True, exist_ok=True)
        names_free = (folder / f"{today}{n}.xlsx" for n in chain([""], map("-{}".format, count(2))))
        path = next(free for free in names_free if not free.exists())
        faces = small_faces(place.folder, sheets, PICTURE_PX)
        known = {name: faces[name] for name in names if faces.get(name)}
        tell = progress or (lambda what, done, n: None)
        content = _workbook(place.folder, visits, names, known, tell)
        write_whole(path, content)
    except OSError as error:
        raise OutputError(
            f"the workbook could not be written ({error.strerror or error}).",
            where=str(error.filename or folder),
            how="Check the disk and the folder, then run ingest --workbook again.",
        ) from error
    return path, len(visits)


def _writable(text: str) -> bool:
    """Whether a cell can hold a text: control characters have no place in one."""
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    return not ILLEGAL_CHARACTERS_RE.search(text)


def _workbook(
    folder: Path,
    visits: Sequence[VisitToTag],
    names: Sequence[str],
    faces: Mapping[str, Sequence[bytes]],
    progress: Progress,
) -> bytes:
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "To tag"
    _names_sheet(book.create_sheet("Names"), names)
    if faces:
        _faces_sheet(book.create_sheet("Faces"), faces)
    header = (*WORKBOOK_COLUMNS, *(f"picture {n + 1}" for n in range(PICTURES)))
    for column, name in enumerate(header, start=1):
        _put_text(sheet.cell(1, column), name)
        sheet.cell(1, column).font = Font(bold=True)
        width = _WIDTHS.get(name, PICTURE_PX[0] / _PX_A_CHARACTER + 1)
        sheet.column_dimensions[get_column_letter(column)].width = width
    for row, visit in enumerate(visits, start=2):
        progress("Putting pictures into the workbook", row - 2, len(visits))
        texts = {
            "camera": visit.camera,
            "photo": visit.photo,
            "taken": f"{visit.taken:%Y-%m-%d %H:%M:%S}",
        }
        for column, name in enumerate(WORKBOOK_COLUMNS, start=1):
            cell = sheet.cell(row, column)
            if name == "photos":
                cell.value = len(visit.pictures)
            else:
                _put_text(cell, texts.get(name, ""))
            cell.alignment = Alignment(wrap_text=name not in ("taken", "photos"), vertical="top")
        sheet.row_dimensions[row].height = (PICTURE_PX[1] + 6) * _POINTS_A_PX
        for place, picture in enumerate(_spread(visit.pictures)):
            _put_picture(sheet, row, len(WORKBOOK_COLUMNS) + 1 + place, folder, picture)
    bucks = get_column_letter(WORKBOOK_COLUMNS.index("bucks") + 1)
    choice = DataValidation(
        type="list",
        formula1=f"Names!$A$2:$A${len(names) + 2}",
        allow_blank=True,
        # More than one name, or one with a question mark, is not in the list and right.
        showErrorMessage=False,
    )
    choice.add(f"{bucks}2:{bucks}{len(visits) + 1}")
    sheet.add_data_validation(choice)
    sheet.freeze_panes = sheet.cell(2, 1)
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(WORKBOOK_COLUMNS))}{len(visits) + 1}"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _names_sheet(sheet: Worksheet, names: Sequence[str]) -> None:
    for row, name in enumerate(("bucks", "-", *names), start=1):
        _put_text(sheet.cell(row, 1), name)
    for row, line in enumerate(HOW_TO, start=1):
        _put_text(sheet.cell(row, 3), line)
    sheet.column_dimensions["A"].width = 24
    sheet.column_dimensions["C"].width = 90


def _faces_sheet(sheet: Worksheet, faces: Mapping[str, Sequence[bytes]]) -> None:
    """Pictures to know the bucks by, a buck a row."""
    sheet.column_dimensions["A"].width = 24
    for row, (name, pictures) in enumerate(faces.items(), start=1):
        _put_text(sheet.cell(row, 1), name)
        sheet.row_dimensions[row].height = (PICTURE_PX[1] + 6) * _POINTS_A_PX
        for column, content in enumerate(pictures, start=2):
            letter = sheet.cell(row, column).column_letter
            sheet.column_dimensions[letter].width = PICTURE_PX[0] / _PX_A_CHARACTER + 1
            _put_image(sheet, row, column, content)


def _put_text(cell: Cell, text: str) -> None:
    """Text as text: never run as a formula, never turned into a date or a number."""
    cell.value = text or None
    if text:
        cell.data_type = "s"
    cell.number_format = "@"


def _spread(pictures: Sequence[Picture]) -> list[Picture]:
    """Some pictures of a visit, evenly spread over those that are there."""
    there = [p for p in pictures if p.file is not None and p.kind == "photo"]
    if len(there) <= PICTURES:
        return there
    return [there[round(n * (len(there) - 1) / (PICTURES - 1))] for n in range(PICTURES)]


def _put_picture(sheet: Worksheet, row: int, column: int, folder: Path, picture: Picture) -> None:
    assert picture.file is not None
    small = small_jpeg(folder / picture.file, PICTURE_PX)
    if small is None:
        _put_text(sheet.cell(row, column), "This picture cannot be shown.")
        return
    _put_image(sheet, row, column, small[0])


def _put_image(sheet: Worksheet, row: int, column: int, jpeg: bytes) -> None:
    from openpyxl.drawing.image import Image as SheetImage
    from openpyxl.drawing.spreadsheet_drawing import AnchorMarker, TwoCellAnchor

    image = SheetImage(io.BytesIO(jpeg))
    width, height = image.width, image.height
    # Tied to its cell, so that it moves with its row when the sheet is sorted or filtered.
    edges = (3, 3), (3 + width, 3 + height)
    corners = [
        AnchorMarker(col=column - 1, colOff=x * _EMU_A_PX, row=row - 1, rowOff=y * _EMU_A_PX)
        for x, y in edges
    ]
    image.anchor = TwoCellAnchor(editAs="twoCell", _from=corners[0], to=corners[1])
    sheet.add_image(image)
