"""What a person wrote in a ``bucks`` cell."""

from __future__ import annotations

import re
from dataclasses import dataclass

from deerlog.property.matching import BuckNames

_NOBODY = frozenset({"-", "–", "—", "\u2212", "‐", "‑"})  # spreadsheets lengthen a lone hyphen
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|sept|oct|nov|dec|mai|okt|dez)\.?"
_TURNED = re.compile(
    r"[+-]?[0-9]+(?:[.,][0-9]+)?(?:e[+-]?[0-9]+)?"  # a number
    rf"|[0-9]{{1,4}}[-. /]{_MONTH}(?:[-. /][0-9]{{2,4}})?|{_MONTH}[-. /][0-9]{{1,4}}"  # a date
    r"|[0-9]{1,4}[-./][0-9]{1,2}(?:[-./][0-9]{1,4})?(?: [0-9:]+)?"  # a date in figures
    r"|[0-9]{1,2}:[0-9]{2}(?::[0-9]{2})?(?: ?[ap]m)?"  # a time
    r"|#(?:name|ref|value|n/a|div/0|num|null)[?!]?|#+"  # a formula that failed
    r"|true|false",
    re.IGNORECASE,
)
_BETWEEN = re.compile(r"\s*(?:,|/|&|\+|\band\b)\s*", re.IGNORECASE)


@dataclass(frozen=True)
class TaggedName:
    """A name in a cell, as written, and whether a ``?`` made it unsure."""

    name: str
    unsure: bool


@dataclass(frozen=True)
class BucksCell:
    """A ``bucks`` cell, understood.

    Attributes
    ----------
    looked_at
        False for a blank cell.
    names
        Each name once, sure where it stands twice.
    turned
        Parts that a spreadsheet program has made into a date, number or error; no names.
    """

    looked_at: bool
    names: tuple[TaggedName, ...] = ()
    turned: tuple[str, ...] = ()


def read_bucks_cell(text: str, known: BuckNames) -> BucksCell:
    """Read a ``bucks`` cell: blank, ``-``, or names separated by ``;``, unsure ones with ``?``.

    Parameters
    ----------
    known
        The listed bucks: a name such as ``8-Oct`` is taken as one where it is listed.
    """
    if not text.strip():
        return BucksCell(looked_at=False)
    names: dict[str, TaggedName] = {}
    turned: list[str] = []
    for part in text.replace("\uff1b", ";").split(";"):
        written = " ".join(part.split())
        name = written.rstrip("?？ ")
        if not name or name in _NOBODY:
            continue
        unsure = name != written
        if known.listed(name) is None and is_turned(name):
            turned.append(name)
            continue
        earlier = names.get(name)
        names[name] = TaggedName(name, unsure and (earlier is None or earlier.unsure))
    return BucksCell(looked_at=True, names=tuple(names.values()), turned=tuple(turned))


def is_turned(name: str) -> bool:
    """Whether a name looks like what a spreadsheet program makes of one: a date, a number."""
    return _TURNED.fullmatch(name) is not None


def several_in_one(name: str, known: BuckNames) -> tuple[str, ...]:
    """The listed names inside a name that was separated by something other than ``;``."""
    parts = [part.rstrip("? ") for part in _BETWEEN.split(name)]
    if len(parts) > 1 and all(part and known.listed(part) for part in parts):
        return tuple(parts)
    return ()
