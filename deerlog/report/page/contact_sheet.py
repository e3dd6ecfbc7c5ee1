"""Pages to tag on, ``tags/<camera>.html``: the visits still to tag, and who is in them.

The pictures are not copied; the page, which lies in ``tags/``, points at the cards. What a person
answers is kept in the browser, and leaves it as a CSV that ingest reads like the sheet.
"""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any
from urllib.parse import quote

from jinja2 import Environment
from markupsafe import Markup

from deerlog.errors import Problem
from deerlog.ingest.tags.tag_workbooks import WORKBOOK_COLUMNS
from deerlog.ingest.to_tag import Picture, SheetToTag, VisitToTag
from deerlog.property import Property
from deerlog.property.whole_file import write_whole
from deerlog.report.page.tag_workbook import Progress, need_openpyxl, write_workbook
from deerlog.report.page.template_engine import page_templates, style_sheet
from deerlog.report.page.visit_pictures import picture_address, small_faces
from deerlog.report.words import words

PICTURES_SHOWN = 240
"""Pictures of a visit that are shown at all; the rest are counted. A camera that a branch waved at
all day would make a page no phone can open (our choice)."""

FACE_PX = (240, 180)
"""Largest width and height of a picture to know a buck by, of which a page carries up to four a
buck: some 7 kB each (our choice)."""

VIDEOS_PLAYED = (".mp4", ".m4v", ".mov", ".webm")
"""Videos a browser may play in the page; others are linked."""


@dataclass(frozen=True)
class KnownBuck:
    """A name of bucks.csv, with small pictures of him as addresses that hold them."""

    name: str
    notes: str = ""
    faces: tuple[str, ...] = ()


def render_contact_sheet(
    sheet: SheetToTag, *, property_name: str, bucks: Sequence[KnownBuck] = ()
) -> str:
    """The page of one tag sheet, as HTML text. The same visits give the same bytes."""
    environment = _templates()
    script = style_sheet(environment, "tagging_page.js")
    data = {
        "property": property_name,
        "camera": sheet.camera,
        "columns": WORKBOOK_COLUMNS,
        "cells": {str(row): text for row, text in sheet.cells.items()},
        "names": [[buck.name, buck.notes, buck.faces] for buck in bucks],
        "visits": [_shown(visit) for visit in sheet.visits],
    }
    # In a script element only "<" can end it, or begin a comment.
    text = json.dumps(data, separators=(",", ":")).replace("<", "\\u003c")
    context: dict[str, Any] = {
        "sheet": sheet,
        "property_name": property_name,
        "data": Markup(text),
        "script": script,
        "script_hash": b64encode(sha256(script.encode()).digest()).decode(),
        "style": style_sheet(environment, "style.css", "tagging_page.css"),
    }
    return environment.get_template("contact_sheet.html.j2").render(context)


@cache
def _templates() -> Environment:
    # Kept: a template is compiled anew by each environment, which takes longer than a page.
    environment = page_templates()
    environment.filters.update(count=words.count)
    return environment


def _shown(visit: VisitToTag) -> Mapping[str, Any]:
    """A visit as the script reads it."""
    pictures = visit.pictures[:PICTURES_SHOWN]
    n_videos = sum(picture.kind == "video" for picture in visit.pictures)
    n_photos = len(visit.pictures) - n_videos
    counts = [words.count(n, one) for n, one in ((n_photos, "photo"), (n_videos, "video")) if n]
    without, total = sum(p.file is None for p in visit.pictures), len(visit.pictures)
    lacking = []
    if without == total:
        which = "There is no picture" if total == 1 else "There are no pictures"
        lacking.append(f"{which} of it on the disk: not kept by the camera, or cleared away since.")
    elif without:
        lacking.append(f"{without} of {total} are not on the disk any more.")
    if total > len(pictures):
        lacking.append(f"{words.count(total - len(pictures), 'later picture')} not shown.")
    return {
        "row": visit.row,
        "photo": visit.photo,
        "taken": f"{visit.photo_taken or visit.taken:%Y-%m-%d %H:%M:%S}",
        "photos": total,
        "title": f"{words.weekday(visit.taken.date())}, {visit.taken:%H:%M:%S}",
        "about": f"{visit.site}, {words.listing(counts)}",
        "lacking": " ".join(lacking),
        "frames": [
            _frame(number, picture, visit)
            for number, picture in enumerate(pictures, start=1)
            if picture.file is not None
        ],
    }


def _frame(number: int, picture: Picture, visit: VisitToTag) -> tuple[str, str, str]:
    """Address, kind and words of one picture."""
    assert picture.file is not None
    plays = picture.file.lower().endswith(VIDEOS_PLAYED)
    kind = "photo" if picture.kind != "video" else "video" if plays else "link"
    by = "" if picture.camera == visit.camera else f", {picture.camera}"
    called = "Video" if picture.kind == "video" else "Photo"
    said = f"{called} {number} of {len(visit.pictures)}, {picture.taken:%H:%M:%S}{by}"
    return f"../{quote(picture.file)}", kind, said


_OWN = b'<meta name="generator" content="deerlog contact sheet">'


def write_contact_sheets(place: Property, sheets: Sequence[SheetToTag]) -> list[Problem]:
    """Bring the contact sheets up to date with what waits to be tagged.

    A camera of whose visits none waits gets no sheet; one that it has then says so. A sheet that
    would hold the same is not written. A file of that name that is none of these is left alone.

    Returns
    -------
    list of Problem
        What could not be written, and why.
    """
    faces = small_faces(place.folder, sheets, FACE_PX)
    known = [
        KnownBuck(str(buck), str(notes), tuple(map(picture_address, faces.get(str(buck), ()))))
        for buck, notes in zip(place.bucks["buck"], place.bucks["notes"], strict=True)
    ]
    problems = []
    for sheet in sheets:
        path = (place.folder / sheet.sheet).with_suffix(".html")
        before = b""
        try:
            if path.exists():
                before = path.read_bytes()
                if _OWN not in before[:1000]:
                    raise _NotOurs
            elif not sheet.waiting:
                continue
            text = render_contact_sheet(
                sheet, property_name=place.settings.name, bucks=known
            ).encode("utf-8", "replace")
            if text != before:
                write_whole(path, text)
        except _NotOurs:
            problems.append(
                _problem(
                    place,
                    path,
                    "A page of that name is there that is no contact sheet; it is left alone.",
                    "Give it another name, then run ingest again.",
                )
            )
        except OSError as error:
            problems.append(
                _problem(
                    place,
                    path,
                    f"The contact sheet cannot be written ({error.strerror or error}).",
                    "Close it in other programs, check the disk and the folder, then run ingest "
                    "again.",
                )
            )
    return problems


class _NotOurs(Exception):
    pass


def _problem(place: Property, path: Path, why: str, how: str) -> Problem:
    file = path.relative_to(place.folder).as_posix()
    return Problem(kind="contact-sheet", file=file, why=why, how=how, must_mend=False)


class TaggingPages:
    """Contact sheets and, where wanted, a workbook; `write` is what ingest calls.

    Parameters
    ----------
    workbook_of
        The day a workbook is to bear in its name; None: no workbook.

    Attributes
    ----------
    workbook
        The workbook written and how many visits it holds; None if none was.

    Raises
    ------
    OutputError
        A workbook is wanted and cannot be written on this machine.
    """

    def __init__(
        self, place: Property, *, workbook_of: date | None = None, progress: Progress | None = None
    ) -> None:
        if workbook_of is not None:
            need_openpyxl()
        self._place = place
        self._workbook_of = workbook_of
        self._progress = progress
        self.workbook: tuple[Path, int] | None = None

    def write(self, sheets: Sequence[SheetToTag]) -> list[Problem]:
        """Write what there is to tag; gives what could not be written."""
        problems = write_contact_sheets(self._place, sheets)
        if self._workbook_of is not None:
            self.workbook = write_workbook(
                self._place, sheets, today=self._workbook_of, progress=self._progress
            )
        return problems
