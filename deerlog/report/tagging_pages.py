"""What an ingest lays beside the tag sheets for a person to tag with."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from deerlog.errors import Problem
from deerlog.ingest.to_tag import SheetToTag
from deerlog.property import Property
from deerlog.report.contact_files import write_contact_sheets
from deerlog.report.tag_workbook import Progress, need_openpyxl, write_workbook


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
