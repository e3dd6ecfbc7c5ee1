"""Rows and days in the words of a problem."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import date

import pandas as pd

_NAMED = 8
"""Rows named one by one before the rest is only counted (our choice)."""


def rows_in_words(rows: Sequence[int]) -> str:
    """``row 4``; ``rows 4, 9 and 12``; ``rows 4, 9, ... and 31 more``."""
    named = [str(row) for row in rows[:_NAMED]]
    if len(rows) == 1:
        return f"row {named[0]}"
    if len(rows) > _NAMED:
        return f"rows {', '.join(named)} and {len(rows) - _NAMED:,} more"
    return f"rows {', '.join(named[:-1])} and {named[-1]}"


def and_rows(rows: Sequence[int]) -> str:
    """`rows_in_words` in brackets for several rows; nothing for one, which the place names."""
    return f" ({rows_in_words(rows)})" if len(rows) > 1 else ""


def counted(number: int, one: str, many: str) -> str:
    """``1 photo``, ``1,204 photos``."""
    return f"{number:,} {one if number == 1 else many}"


def names_in_words(names: Sequence[str]) -> str:
    """``a``; ``a and b``; ``a, b and c``."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"


def days_in_words(times: pd.Series) -> str:
    """The days a run of times covers: ``2024-11-03``, ``2024-11-03 to 2024-11-20``."""
    first: date = times.min().date()
    last: date = times.max().date()
    return f"{first}" if first == last else f"{first} to {last}"


def csv_line(*cells: str) -> str:
    """Cells as a line of CSV, quoted where they need it."""
    line = io.StringIO()
    csv.writer(line, lineterminator="").writerow(cells)
    return line.getvalue()
