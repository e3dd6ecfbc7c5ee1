"""What an ingest lays beside the tag sheets for a person to tag with: contact sheets, a workbook.

A contact sheet, ``tags/<camera>.html``, shows the visits still to tag, picture by picture. The
pictures are not copied; the page points at the cards.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import cache
from itertools import groupby
from pathlib import Path
from urllib.parse import quote

from jinja2 import Environment

from deerlog.errors import Problem
from deerlog.ingest.to_tag import Picture, SheetToTag, VisitToTag
from deerlog.property import Property
from deerlog.property.whole_file import write_whole
from deerlog.report.page.tag_workbook import Progress, need_openpyxl, write_workbook
from deerlog.report.page.template_engine import Row, page_templates, records, style_sheet
from deerlog.report.words import words

PICTURES_OPEN = 12
"""Pictures of a visit that stand open, the rest being folded away below them."""
PICTURES_SHOWN = 240
"""Pictures of a visit that are shown at all; the rest are counted. A camera that a branch waved at
all day would make a page no phone can open (our choice)."""

VIDEOS_PLAYED = (".mp4", ".m4v", ".mov", ".webm")
"""Videos a browser may play in the page; others are linked."""


def render_contact_sheet(
    sheet: SheetToTag, *, property_name: str, bucks: Sequence[Row] = ()
) -> str:
    """The contact sheet of one tag sheet, as HTML text; ``bucks`` are rows of bucks.csv, as a
    reminder of what may be written. The same visits give the same bytes."""
    environment = _templates()
    days = groupby(sheet.visits, key=lambda visit: visit.taken.date())
    return environment.get_template("contact_sheet.html.j2").render(
        sheet=sheet,
        property_name=property_name,
        bucks=bucks,
        days=[(day, [_shown(visit) for visit in visits]) for day, visits in days],
        style=style_sheet(environment, "style.css", "contact_sheet.css"),
    )


@cache
def _templates() -> Environment:
    # Kept: a template is compiled anew by each environment, which takes longer than a page.
    environment = page_templates()
    environment.filters.update(count=words.count, weekday=words.weekday)
    return environment


def _shown(visit: VisitToTag) -> Row:
    """A visit as the template shows it."""
    pictures = [
        _picture(number, picture, visit)
        for number, picture in enumerate(visit.pictures[:PICTURES_SHOWN], start=1)
    ]
    n_videos = sum(picture.kind == "video" for picture in visit.pictures)
    n_photos = len(visit.pictures) - n_videos
    counts = [words.count(n, one) for n, one in ((n_photos, "photo"), (n_videos, "video")) if n]
    return {
        "visit": visit,
        "holds": words.listing(counts),
        "without_file": sum(picture.file is None for picture in visit.pictures),
        "open": [p for p in pictures[:PICTURES_OPEN] if p["address"]],
        "folded": [p for p in pictures[PICTURES_OPEN:] if p["address"]],
        "left_out": len(visit.pictures) - len(pictures),
    }


def _picture(number: int, picture: Picture, visit: VisitToTag) -> Row:
    plays = picture.file is not None and picture.file.lower().endswith(VIDEOS_PLAYED)
    kind = "Video" if picture.kind == "video" else "Photo"
    which = f"{number} of {len(visit.pictures)}, {picture.taken:%H:%M:%S}"
    by = "" if picture.camera == visit.camera else f", {picture.camera}"
    return {
        "address": None if picture.file is None else f"../{quote(picture.file)}",
        "kind": kind.lower(),
        "plays": plays,
        "words": f"{which}{by}",
        "alternative": f"{kind} {which}, {visit.site}",
    }


_OWN = b'<meta name="generator" content="deerlog contact sheet">'


def write_contact_sheets(place: Property, sheets: Sequence[SheetToTag]) -> list[Problem]:
    """Bring the contact sheets up to date with what waits to be tagged; gives what could not be
    written, and why.

    A camera of whose visits none waits gets no sheet; one that it has then says so. A sheet that
    would hold the same is not written. A file of that name that is none of these is left alone.
    """
    known = records(place.bucks[["buck", "notes"]])
    problems = []
    for sheet in sheets:
        path = (place.folder / sheet.sheet).with_suffix(".html")
        try:
            before = path.read_bytes() if path.exists() else None
            if before is None and not sheet.waiting:
                continue
            if before is None or _OWN in before[:1000]:
                page = render_contact_sheet(sheet, property_name=place.settings.name, bucks=known)
                text = page.encode("utf-8", "replace")
                if text != before:
                    write_whole(path, text)
                continue
            why = "A page of that name is there that is no contact sheet; it is left alone."
            how = "Give it another name, then run ingest again."
        except OSError as error:
            why = f"The contact sheet cannot be written ({error.strerror or error})."
            how = (
                "Close it in other programs, check the disk and the folder, then run ingest again."
            )
        file = path.relative_to(place.folder).as_posix()
        problems.append(Problem(kind="contact-sheet", file=file, why=why, how=how, must_mend=False))
    return problems


class TaggingPages:
    """Contact sheets and, where wanted, a workbook; `write` is what ingest calls.

    ``workbook_of`` is the day a workbook is to bear in its name; None: no workbook. An OutputError
    where one is wanted and cannot be written on this machine.
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
        """The workbook written and how many visits it holds; None if none was."""

    def write(self, sheets: Sequence[SheetToTag]) -> list[Problem]:
        """Write what there is to tag; gives what could not be written."""
        problems = write_contact_sheets(self._place, sheets)
        if self._workbook_of is not None:
            self.workbook = write_workbook(
                self._place, sheets, today=self._workbook_of, progress=self._progress
            )
        return problems
