"""One cell of text to a value, or a plain reason why not; rows and days in words."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Callable, Mapping, Sequence
from datetime import date

import pandas as pd

from deerlog.errors import PropertyError
from deerlog.property.wording import agree, listing


class CellError(PropertyError):
    """A cell that cannot be read: ``what`` is why, ``how`` is what to write instead."""


_YES = frozenset({"yes", "y", "true", "1", "x"})
_NO = frozenset({"no", "n", "false", "0"})


def parse_yes_no(text: str) -> bool:
    """Read yes or no (also y/n, true/false, 1/0, and x for yes); blank is neither."""
    word = text.strip().casefold()
    if word in _YES:
        return True
    if word in _NO:
        return False
    raise CellError(f"{text!r} is neither yes nor no.", how="Write yes or no.")


_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")


def parse_number(
    text: str, *, low: float = -math.inf, high: float = math.inf, decimal_comma: bool = False
) -> float:
    """Read a number between ``low`` and ``high``, both allowed.

    With ``decimal_comma`` ``45,3`` is one too (tables separated by ``;``).
    """
    plain = text.strip().replace("\u2212", "-")
    if decimal_comma:
        plain = decimal_point(plain)
    if not _NUMBER.fullmatch(plain):
        raise CellError(
            f"{text!r} is not a number.",
            how="Write digits, with a point for decimals and no unit: 45.3.",
        )
    number = float(plain)
    if not low <= number <= high:
        raise CellError(f"{text} is outside {low:g} to {high:g}.", how="Check the figure.")
    return number


def decimal_point(text: str) -> str:
    """``45,3`` as ``45.3``; text that is not such a number is left alone."""
    return text.replace(",", ".") if re.fullmatch(r"[+-]?[0-9]*,[0-9]+", text) else text


def parse_whole_number(text: str, *, low: int, high: int) -> int:
    """Read a whole number; ``3.0``, as spreadsheets may write it, counts as 3."""
    number = parse_number(text, low=low, high=high)
    if number != int(number):
        raise CellError(f"{text!r} is not a whole number.", how="Write a whole number.")
    return int(number)


def one_of(choices: Sequence[str], also: Mapping[str, str] | None = None) -> Callable[[str], str]:
    """Make a parser for one of a few words, in any case.

    ``also`` has other words accepted (in lower case), and which choice each means.
    """
    more = f" ({', '.join(also)} are understood too)" if also else ""
    words = {choice.casefold(): choice for choice in choices} | dict(also or {})

    def parse(text: str) -> str:
        word = " ".join(text.casefold().split())
        if word not in words:
            what = f"{text!r} is not one of: {', '.join(choices)}."
            raise CellError(what, how=f"Write one of these words{more}.")
        return words[word]

    return parse


def parse_list(text: str) -> tuple[str, ...]:
    """Split names separated by ``;``, without blanks and repeats, in the order written."""
    names = (" ".join(part.split()) for part in text.split(";"))
    return tuple(dict.fromkeys(name for name in names if name))


def parse_name(text: str) -> str:
    """Read a name: runs of spaces count as one."""
    return " ".join(text.split())


# What some system refuses in a file name; cards/<camera>/ and tags/<camera>.csv carry the name.
_FORBIDDEN = '<>:"/\\|?*'
_RESERVED = frozenset(
    {"con", "prn", "aux", "nul"} | {f"{p}{i}" for p in ("com", "lpt") for i in range(1, 10)}
)


def parse_folder_name(text: str) -> str:
    """Read a name that can be a folder's on Windows, macOS and Linux alike."""
    name = parse_name(text)
    bad = [c for c in name if c in _FORBIDDEN or ord(c) < 32]
    if bad:
        raise CellError(
            f"{text!r} cannot name a folder: it holds {bad[0]!r}.",
            how="Use letters, digits, spaces, - and _.",
        )
    if name.endswith(".") or name.split(".")[0].casefold() in _RESERVED or len(name) > 100:
        raise CellError(
            f"{text!r} cannot name a folder on every computer.", how="Choose another name."
        )
    return name


_NAMED = 8
"""Rows named one by one before the rest is only counted (our choice)."""


def rows_in_words(rows: Sequence[int]) -> str:
    """``row 4``; ``rows 4, 9 and 12``; ``rows 4, 9, ... and 31 more``."""
    named = [str(row) for row in rows[:_NAMED]]
    if len(rows) > _NAMED:
        named.append(f"{len(rows) - _NAMED:,} more")
    return f"{agree(len(rows), 'row', 'rows')} {listing(named)}"


def and_rows(rows: Sequence[int]) -> str:
    """`rows_in_words` in brackets for several rows; nothing for one, which the place names."""
    return f" ({rows_in_words(rows)})" if len(rows) > 1 else ""


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
