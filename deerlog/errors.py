"""What can go wrong, as exceptions (dead ends) and as values (things to mend).

    DeerlogError
      PropertyError   the property folder or one of its tables cannot be used
      StoreError      the photo log cannot be opened, locked or is from a newer version
      OutputError     something deerlog writes could not be written

A dead end is raised. Anything the rest can go on without is a `Problem`, returned beside the
good part: a reader gives ``(good, problems)``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial
from typing import Any


class DeerlogError(Exception):
    """A dead end, told in one paragraph: what, where, and what to do about it."""

    def __init__(self, what: str, *, where: str = "", how: str = "") -> None:
        super().__init__(what, where, how)
        self.what = what
        self.where = where
        self.how = how

    def __reduce__(self) -> tuple[Any, ...]:
        # Exceptions with keyword-only arguments do not pickle by themselves, and these cross
        # the border of a worker process.
        return partial(type(self), where=self.where, how=self.how), (self.what,)

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        mend = f" {self.how}" if self.how else ""
        return f"{place}{self.what}{mend}"


class PropertyError(DeerlogError):
    """The property folder, its settings or a needed table cannot be used."""


class StoreError(DeerlogError):
    """The photo log cannot be opened, is locked, damaged, or from a newer version."""


class OutputError(DeerlogError):
    """A file that deerlog writes could not be written."""


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One thing a person should mend, or know. The rest of the work went on without it."""

    kind: str
    """A stable slug for scripts, such as ``"tag-typo"`` or ``"clock-light"``."""
    file: str
    """Path from the property folder, with ``/``."""
    why: str
    how: str
    """What is wrong, and what to do; each a sentence or two."""
    row: int | None = None
    """Line number in that file as a spreadsheet shows it (the header is row 1), or None."""
    column: str | None = None
    value: str | None = None
    """The cell, where there is one."""
    must_mend: bool = True
    """True when a figure is wrong or missing until it is mended (``check`` then exits with 1);
    False for something worth knowing only."""
    harm: float = 0.0
    """How many visits it touches, or keeps from being counted; orders the list of ``check``."""
    harm_in: str = "visit"
    """What ``harm`` counts: ``visit``, or ``row`` where a table that has none of visits loses rows.
    """
    bucks: tuple[str, ...] = ()
    """Bucks whose figures it touches."""
    camera: str | None = None
    """The camera whose clock or card it speaks of, where it speaks of one."""
    first_day: date | None = None
    last_day: date | None = None
    """The days it touches by what the camera showed, both included; None where nothing bounds it.
    """
    paste: str = ""
    """The row to add to the table that ``how`` names, with which ``how`` ends; what only a person
    can know stands in ``<>``. ``""`` where there is none."""
    lately: bool = False
    """Whether a camera, card or clock went wrong in the last days of the record, or is wrong still:
    told before anything else, since it costs more every day."""

    def place(self) -> str:
        """The file, row and column in words: ``tags/Seep.csv row 14, column bucks``."""
        text = self.file
        if self.row is not None:
            text += f" row {self.row}"
        if self.column is not None:
            text += f", column {self.column}"
        return text


def worst_first(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Problems in the order in which a person should mend them; what is only worth knowing last.

    What went wrong lately comes first.
    """

    def rank(p: Problem) -> tuple[object, ...]:
        return not p.lately, not p.must_mend, -p.harm, p.file, p.row or 0, p.kind

    return tuple(sorted(problems, key=rank))


LATELY_DAYS = 14
"""How far back from the last of the record something happened lately. Our choice: cards are read
every week or two."""


def is_lately(end: datetime, last: datetime) -> bool:
    """Whether what ended at a time happened lately, ``last`` being the end of the record."""
    return end >= last - timedelta(days=LATELY_DAYS)
