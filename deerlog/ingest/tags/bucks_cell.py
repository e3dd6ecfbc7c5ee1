"""What a person wrote in the ``bucks`` cells: names, nobody, and what is neither."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from deerlog.property.matching import BuckNames, fold_name

MOST_NAMES = 200
"""Names that are not listed, beyond which the least used are left out of every figure: so many
bucks no property has, and each costs memory (our choice)."""
_SHORTEST_RUN = 3
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
_BETWEEN = re.compile(r"\s*(?:,|/|&|\+|\||\band\b)\s*", re.IGNORECASE)


NO_NAMES = {
    "Write - where there was no buck you know by name.": (
        "none", "no", "nope", "nobody", "no one", "nothing", "nil", "empty", "no buck", "no bucks",
        "no deer", "not a buck", "false trigger",
    ),
    "Write - in bucks, and this in others.": (
        "doe", "does", "fawn", "fawns", "doe and fawn", "doe with fawn", "coyote", "raccoon",
        "turkey", "squirrel", "me", "myself", "us", "hunter", "person",
        "people", "human", "neighbor", "neighbour",
    ),
    "Write the name again, or - if there was nobody.": (
        "same", "same as above", "same buck", "same one", "same deer", "as above", "see above",
        "above", "ditto", "do.", "idem", "again", "him again",
    ),
    "Write his name, one you give him if need be; or - if you cannot tell who it is.": (
        "buck", "a buck", "bucks", "deer", "unknown", "unknown buck", "unk", "unidentified",
        "not sure", "who", "some buck", "young buck", "small buck", "big buck", "nice buck",
    ),
}  # fmt: skip
"""Words that are no names, in any case and spacing, by what to write in their place. Settings may
add to them."""
_HIS_NAME = tuple(NO_NAMES)[3]
_POINTS = re.compile(r"(?:an?)?[0-9]{1,2}-?(?:pt|pts|pointer|pointers|point|points)")
_DRAGGED = re.compile(r"(.*?[^0-9])([0-9]{1,6})")


@dataclass(frozen=True)
class TaggedName:
    """A name in a cell, as written, and whether a ``?`` made it unsure."""

    name: str
    unsure: bool


@dataclass(frozen=True)
class BucksCell:
    """A ``bucks`` cell, understood; ``looked_at`` is False for a blank one.

    ``names``: each name once, sure where it stands twice. ``turned``: parts that a spreadsheet
    program has made into a date, number or error; no names. ``no_names``: parts that are words and
    no names, each with what to write in its place. Where a cell holds nothing else nobody knows
    what was seen: it is as if not looked at.
    """

    looked_at: bool
    names: tuple[TaggedName, ...] = ()
    turned: tuple[str, ...] = ()
    no_names: tuple[tuple[str, str], ...] = ()


def read_bucks_cell(
    text: str, known: BuckNames, words: Mapping[str, str] | None = None
) -> BucksCell:
    """Read a ``bucks`` cell: blank, ``-``, or names separated by ``;``, unsure ones with ``?``.

    A name such as ``8-Oct`` is taken as one where ``known`` lists it. ``words`` are of
    `no_name_words`; default those of `NO_NAMES`.
    """
    if not text.strip():
        return BucksCell(looked_at=False)
    names: dict[str, bool] = {}
    turned: list[str] = []
    no_names: dict[str, str] = {}
    for part in text.replace("\uff1b", ";").split(";"):
        # A line break in a cell was meant to part two names.
        written = " ".join(re.sub(r"[\r\n]+", " | ", part.strip()).split())
        name = written.rstrip("?？ ")
        if not name or name in _NOBODY:
            continue
        listed = known.listed(name) is not None
        if not listed and is_turned(name):
            turned.append(name)
        elif not listed and (instead := _instead(name, _WORDS if words is None else words)):
            no_names[name] = instead
        else:
            names[name] = names.get(name, True) and name != written
    return BucksCell(
        looked_at=bool(names or turned or not no_names),
        names=tuple(TaggedName(name, unsure) for name, unsure in names.items()),
        turned=tuple(turned),
        no_names=tuple(no_names.items()),
    )


def no_name_words(more: Iterable[str] = ()) -> dict[str, str]:
    """Words that are no names, folded, each with what to write; ``more`` are of the settings."""
    words = {fold_name(word): _HIS_NAME for word in more}
    return words | {fold_name(word): how for how, those in NO_NAMES.items() for word in those}


_WORDS = no_name_words()


def _instead(name: str, words: Mapping[str, str]) -> str:
    """What to write in place of a word that is no name; ``""`` for what may be one."""
    folded = fold_name(name)
    if _POINTS.fullmatch(folded):
        return _HIS_NAME
    if all(unicodedata.category(letter).startswith("P") for letter in folded):  # a lone quote
        return "Write the name again, or - if there was nobody."
    return words.get(folded, "")


def read_cells(
    rows: pd.DataFrame, known: BuckNames, no_names: Sequence[str] = ()
) -> tuple[dict[str, BucksCell], frozenset[str]]:
    """Every different ``bucks`` cell by its text, understood with an eye on the others.

    Names of a numbered run that was made by dragging a cell are none. Beside them the unlisted
    names beyond the `MOST_NAMES` most used ones, which are in no cell. ``rows`` has ``file`` and
    ``bucks`` of every row, in order; ``no_names`` are of the settings.
    """
    words = no_name_words(no_names)
    uses = rows["bucks"].value_counts()
    cells = {text: read_bucks_cell(text, known, words) for text in rows["bucks"].unique()}
    for text, first in _dragged(rows, cells, known).items():
        name = cells[text].names[0].name
        how = f"Write {first}, if that is who it was: the cells look filled by dragging {first}."
        cells[text] = BucksCell(looked_at=False, no_names=((name, how),))
    used: Counter[str] = Counter()
    for text, cell in cells.items():
        for each in cell.names:
            if known.listed(each.name) is None:
                used[each.name] += int(uses[text])
    left_out = frozenset(sorted(used, key=lambda name: (-used[name], name))[MOST_NAMES:])
    for text, cell in cells.items() if left_out else ():
        kept = tuple(each for each in cell.names if each.name not in left_out)
        if kept != cell.names:
            cells[text] = replace(cell, names=kept, looked_at=bool(kept or cell.turned))
    return cells, left_out


def _dragged(
    rows: pd.DataFrame, cells: Mapping[str, BucksCell], known: BuckNames
) -> dict[str, str]:
    """Cells of numbered runs such as Big 8, Big 9, Big 10 in rows that follow each other.

    Each with the name it was dragged from; not that one, no listed name, and none that stands
    anywhere else too.
    """
    runs: dict[str, str] = {}
    within: Counter[str] = Counter()
    run: list[str] = []
    before = ("", "", 0)
    texts = [*zip(rows["file"].tolist(), rows["bucks"].tolist(), strict=True), ("", "")]
    for file, text in texts:
        cell = cells.get(text)
        name = cell.names[0].name if cell and len(cell.names) == 1 else ""
        parts = _DRAGGED.fullmatch(name)
        here = (file, parts[1], int(parts[2])) if parts else ("", "", 0)
        if not (run and parts and here == (before[0], before[1], before[2] + 1)):
            if len(run) >= _SHORTEST_RUN:
                runs |= dict.fromkeys(run[1:], cells[run[0]].names[0].name)
                within.update(run[1:])
            run = []
        if parts:
            run.append(text)
        before = here
    uses = rows["bucks"].value_counts()
    return {
        text: first
        for text, first in runs.items()
        if uses[text] == within[text] and known.listed(cells[text].names[0].name) is None
    }


def is_turned(name: str) -> bool:
    """Whether a name looks like what a spreadsheet program makes of one: a date, a number."""
    return _TURNED.fullmatch(name) is not None


def several_in_one(name: str, known: BuckNames) -> tuple[str, ...]:
    """The names inside one that was separated by something other than ``;``, all of them listed.

    By a mark or a word between them; by a line break, which stands as ``|``; or by nothing but a
    space. ``()`` for none.
    """
    parts = [part.rstrip("? ") for part in _BETWEEN.split(name)]
    if len(parts) > 1 and all(part and known.listed(part) for part in parts):
        return tuple(parts)
    return _by_spaces(name.replace("?", "").split()[:_MOST_WORDS], known)


_MOST_WORDS = 12


def _by_spaces(words: list[str], known: BuckNames) -> tuple[str, ...]:
    """Words as listed names one after the other, at least two."""
    for i in range(1, len(words)):
        first, rest = " ".join(words[:i]), " ".join(words[i:])
        if known.listed(first):
            if known.listed(rest):
                return (first, rest)
            after = _by_spaces(words[i:], known)
            if after:
                return (first, *after)
    return ()
