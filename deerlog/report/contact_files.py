"""Contact sheets on the disk: ``tags/<camera>.html``, beside each tag sheet."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from deerlog.errors import Problem
from deerlog.ingest.to_tag import SheetToTag
from deerlog.property import Property
from deerlog.report.contact_sheet import KnownBuck, render_contact_sheet
from deerlog.whole_file import write_whole

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
    known = [
        KnownBuck(str(buck), str(notes))
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
