"""Names as people type them: which are the same, and which are probably a slip."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from deerlog.property.wording import agree, listing

SHORT_NAME = 4
"""Names up to this length may differ by one letter, longer ones by two (our choice)."""


def fold_name(name: str) -> str:
    """A name as it is compared: without capitals, spaces, or differences of Unicode form."""
    return "".join(unicodedata.normalize("NFKC", name).casefold().split())


def letters_off(a: str, b: str) -> int:
    """Letters added, dropped, exchanged or swapped with a neighbour, to make one of the other.

    The restricted Damerau-Levenshtein distance (optimal string alignment): no letter is touched
    twice.
    """
    before: list[int] = []
    last = list(range(len(b) + 1))
    for i, letter in enumerate(a, start=1):
        row = [i]
        for j, other in enumerate(b, start=1):
            cost = min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (letter != other))
            if i > 1 and j > 1 and letter == b[j - 2] and a[i - 2] == other:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        before, last = last, row
    return last[-1]


@dataclass(frozen=True, kw_only=True)
class NearName:
    """A known name that a written one is probably meant to be."""

    name: str
    """What it resolves to (for a buck: his name in ``bucks.csv``)."""
    written_like: str
    """The name or alias it resembles."""
    letters_off: int
    """0 where only capitals or spaces differ."""
    others: tuple[str, ...] = ()
    """Further names just as near."""

    @property
    def why(self) -> str:
        """How the two differ, in words that follow a name: ``one letter off Comet``."""
        off = {0: "other capitals or spaces than", 1: "one letter off"}.get(
            self.letters_off, "two letters off"
        )
        like = "" if self.written_like == self.name else f" (an alias of {self.name})"
        return f"{off} {self.written_like}{like}"


def nearest_name(name: str, known: Iterable[tuple[str, str]]) -> NearName | None:
    """The known name nearest to a written one, or None if none is near.

    ``known`` are pairs of a name or alias, and what it resolves to. At most two letters off, at
    most one where either name has `SHORT_NAME` letters or fewer, none where either has two or fewer
    (nearly all such names are one letter apart). Names whose digits differ are never near:
    ``Ridge 1`` is not a slip for ``Ridge 2``.
    """
    folded = fold_name(name)
    hits: list[tuple[int, str, str]] = []
    for written, resolved in known:
        if written == name:
            return None
        target = fold_name(written)
        shorter = min(len(folded), len(target))
        allowed = 0 if shorter <= 2 else 1 if shorter <= SHORT_NAME else 2
        if abs(len(folded) - len(target)) > allowed or _other_digits(folded, target):
            continue
        off = letters_off(folded, target)
        if off <= allowed:
            hits.append((off, resolved, written))
    if not hits:
        return None
    off, resolved, written = min(hits, key=lambda hit: (hit[0], hit[1] != hit[2], hit[1], hit[2]))
    others = sorted({hit[1] for hit in hits if hit[0] == off} - {resolved})
    return NearName(name=resolved, written_like=written, letters_off=off, others=tuple(others))


def _other_digits(a: str, b: str) -> bool:
    first, second = re.findall(r"\d", a), re.findall(r"\d", b)
    return bool(first and second and first != second)


class NameList:
    """Known names (of cameras, sites or stands), found in any case and spacing."""

    def __init__(
        self, names: Iterable[str], left_out: Mapping[str, Sequence[int]] | None = None
    ) -> None:
        """Take the names; ``left_out`` has the rows of others that could not be used."""
        self._by_fold: dict[str, str] = {}
        for name in names:
            self._by_fold.setdefault(fold_name(name), name)
        self._left_out = {fold_name(name): rows for name, rows in (left_out or {}).items()}

    def rows_left_out(self, name: str) -> str:
        """``row 2``, ``rows 2 and 5``: those of a name that could not be used; ``""`` for none."""
        rows = [str(row) for row in self._left_out.get(fold_name(name), ())]
        return f"{agree(len(rows), 'row', 'rows')} {listing(rows)}" if rows else ""

    def find(self, name: str) -> str | None:
        """The known name, or None."""
        return self._by_fold.get(fold_name(name))

    def near(self, name: str) -> NearName | None:
        """The name it is probably a slip for."""
        return nearest_name(name, ((known, known) for known in self._by_fold.values()))

    def advice(self, name: str, listed_in: str) -> str:
        """What to do about a name that is not known, as a sentence."""
        rows = self.rows_left_out(name)
        if rows:
            return f"Mend {rows} of {listed_in}; `deerlog check` says what is wrong there."
        near = self.near(name)
        if near:
            return f"Write {near.name}, if that is meant, or add {name} to {listed_in}."
        return f"Correct the name, or add {name} to {listed_in}."


def name_list(names: Iterable[str] | NameList) -> NameList:
    """Names as a list of known names, where they are not one already."""
    return names if isinstance(names, NameList) else NameList(names)


class BuckNames:
    """The names and aliases of ``bucks.csv``, and which buck each stands for."""

    def __init__(self, bucks: pd.DataFrame) -> None:
        self._known: list[tuple[str, str]] = []
        for buck, aliases in zip(bucks["buck"], bucks["aliases"], strict=True):
            self._known.append((buck, buck))
            self._known.extend((alias, buck) for alias in aliases)
        self._by_fold: dict[str, str] = {}
        for written, buck in self._known:
            self._by_fold.setdefault(fold_name(written), buck)

    def listed(self, name: str) -> str | None:
        """The buck a name or alias stands for, in any case and spacing; None if not listed."""
        return self._by_fold.get(fold_name(name))

    def canonical(self, name: str) -> str:
        """The buck a name stands for, or the name itself (single-spaced) if it is not listed."""
        return self.listed(name) or " ".join(name.split())

    def near(self, name: str) -> NearName | None:
        """The buck a name is probably a slip for; None if it is written just as listed."""
        return nearest_name(name, self._known)
