"""Names in the tag sheets: words that are none, slips, and all that bucks.csv does not list."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.tags.bucks_cell import MOST_NAMES, several_in_one
from deerlog.ingest.tags.tags import TAGS, TagRows
from deerlog.property.cell_values import and_rows, rows_in_words
from deerlog.property.matching import BuckNames, fold_name, nearest_name
from deerlog.property.wording import agree, count

NAMED = 12
"""Unlisted names told one by one before the rest is only counted (our choice)."""
_MOST_COMPARED = 100
_LONGEST_NAME = 60
"""Beyond so many letters a cell is no name, and not looked at for slips (our choice)."""
_REMARK = re.compile(r"(.+?) *[(\[](.*)[)\]]?")


def of_rows(kind: str, rows: pd.DataFrame, column: str, why: str, how: str, **also: Any) -> Problem:
    """One problem of some rows of a sheet, which ``why`` names in place of its last full stop."""
    first = rows.iloc[0]
    numbers = rows["row"].tolist()
    about: dict[str, Any] = {"value": str(first[column]), "harm": float(len(numbers))} | also
    return Problem(
        kind=kind,
        file=first["file"],
        row=numbers[0],
        column=column,
        why=f"{why}{and_rows(numbers)}.",
        how=how,
        **about,
    )


def name_problems(rows: pd.DataFrame, tags: TagRows) -> Iterator[Problem]:
    """Names of one sheet that are none, or not as in bucks.csv, each with all its rows."""
    where: dict[str, list[int]] = {}
    turned: dict[str, list[int]] = {}
    no_names: dict[tuple[str, str], list[int]] = {}
    for place, text in enumerate(rows["bucks"].tolist()):
        for tagged in tags.cells[text].names:
            where.setdefault(tagged.name, []).append(place)
        for part in tags.cells[text].turned:
            turned.setdefault(part, []).append(place)
        for word in tags.cells[text].no_names:
            no_names.setdefault(word, []).append(place)
    for name, places in where.items():
        yield from _name(name, rows.iloc[places], tags.known)
    for part, places in turned.items():
        yield of_rows(
            "tag-turned",
            rows.iloc[places],
            "bucks",
            f"{part!r} is a date, a number or an error, such as spreadsheet programs make of a "
            "name; it is taken for no buck",
            "Format the column as text and write the name again; or, if this is his name, add it "
            "to bucks.csv.",
            value=part,
        )
    for (no_name, how), places in no_names.items():
        yield of_rows(
            "tag-no-name",
            rows.iloc[places],
            "bucks",
            f"{no_name} is no name of a buck; until mended it counts neither as a buck nor as a "
            "look that found none",
            f"{how} If it is a buck's name, add it to bucks.csv.",
            value=no_name,
        )


def _name(name: str, rows: pd.DataFrame, known: BuckNames) -> Iterator[Problem]:
    """What is wrong with a name as it stands in some rows."""
    listed = known.listed(name) is not None
    together = () if listed else several_in_one(name, known)
    remark = _REMARK.fullmatch(name)
    near = known.near(name) if len(name) <= _LONGEST_NAME else None
    if together:
        yield of_rows(
            "tag-separator",
            rows,
            "bucks",
            f"{' and '.join(together)} are in one name; names are separated by ';'",
            f"Write {'; '.join(together)}.",
            value=name,
            bucks=tuple(dict.fromkeys(known.canonical(part) for part in together)),
        )
    elif not listed and remark and known.listed(remark[1]):
        yield of_rows(
            "tag-remark",
            rows,
            "bucks",
            f"{name} is {remark[1]} with a remark, which makes another buck of him",
            f"Write {remark[1]}, or {remark[1]}? if it may be another; remarks go into notes.",
            value=name,
            bucks=(known.canonical(remark[1]),),
        )
    elif near and listed:
        yield of_rows(
            "tag-spelling",
            rows,
            "bucks",
            f"{name} has {near.why}; it is taken as {near.name}",
            f"Write {near.written_like}, so that the sheet can be sorted by name.",
            value=name,
            must_mend=False,
            bucks=(near.name,),
        )
    elif near:
        others = f" (or {', '.join(near.others)})" if near.others else ""
        yield of_rows(
            "tag-typo",
            rows,
            "bucks",
            f"{name} is {near.why}{others}, and not in bucks.csv; until mended it counts as "
            "another buck",
            f"Write {near.written_like} if he is meant; if not, add {name} to bucks.csv.",
            value=name,
            bucks=(near.name, *near.others),
        )


def too_many_names(tags: TagRows) -> list[Problem]:
    """That so many names are not listed that they cannot be bucks."""
    n = len(tags.left_out)
    if not n:
        return []
    return [
        Problem(
            kind="names-too-many",
            file=f"{TAGS}/",
            column="bucks",
            value=min(tags.left_out),
            why=f"{n + MOST_NAMES:,} different names in bucks are not in bucks.csv; so many cannot "
            "be bucks: it looks as if something else was written into that column. The "
            f"{MOST_NAMES} most used are taken for bucks, and the other {n:,} are left out of "
            "every figure.",
            how="Move notes into notes and other animals into others; add the bucks to bucks.csv.",
            harm=float(n),
        )
    ]


def unlisted_names(tags: TagRows) -> list[Problem]:
    """One item for all names that bucks.csv does not list; and each that is spelled in two ways.

    Those that have a problem of their own are left out: slips for a listed buck, several in one.
    """
    where: dict[str, dict[str, list[int]]] = {}
    columns = (tags.table[name].tolist() for name in ("file", "row", "bucks"))
    for file, row, text in zip(*columns, strict=True):
        for each in tags.cells[text].names:
            if tags.known.listed(each.name) is None:
                name = tags.known.canonical(each.name)
                where.setdefault(name, {}).setdefault(file, []).append(row)
    uses = {name: sum(map(len, files.values())) for name, files in where.items()}
    order = sorted(where, key=lambda name: (-uses[name], name))
    order = [name for name in order if not _has_its_own(name, tags.known)]
    if not order:
        return []
    total = sum(uses[name] for name in order)
    said = [f"{name} ({_places(where[name])})" for name in order[:NAMED]]
    more = f"; and {len(order) - NAMED:,} more" if len(order) > NAMED else ""
    names = count(len(order), "name is", "names are")
    return [
        Problem(
            kind="names-not-listed",
            file=f"{TAGS}/",
            column="bucks",
            value=order[0],
            why=f"{names} not in bucks.csv, most used first: {'; '.join(said)}{more}. "
            f"{agree(len(order), 'It counts as a buck', 'Each counts as a buck of its own')}.",
            how="Add those that are bucks to bucks.csv, one a row; correct what is a slip; write - "
            "where it is no buck.",
            must_mend=False,
            harm=float(total),
        ),
        *_spelled_twice(order, where, uses),
    ]


def _has_its_own(name: str, known: BuckNames) -> bool:
    remark = _REMARK.fullmatch(name)
    if several_in_one(name, known) or (remark and known.listed(remark[1])):
        return True
    return len(name) <= _LONGEST_NAME and known.near(name) is not None


def _places(files: dict[str, list[int]]) -> str:
    return ", ".join(f"{file} {rows_in_words(rows)}" for file, rows in files.items())


def _spelled_twice(
    order: list[str], where: dict[str, dict[str, list[int]]], uses: dict[str, int]
) -> Iterator[Problem]:
    """Unlisted names that are probably another unlisted one, used as often or more."""
    compared = [name for name in order if len(name) <= _LONGEST_NAME][:_MOST_COMPARED]
    for i, name in enumerate(compared):
        near = nearest_name(name, ((other, other) for other in compared[:i]))
        if near is not None and fold_name(name):
            file, rows = next(iter(where[name].items()))
            verb = "is" if near.letters_off else "has"
            yield Problem(
                kind="names-alike",
                file=file,
                row=rows[0],
                column="bucks",
                value=name,
                why=f"{name} ({_places(where[name])}) {verb} "
                f"{near.why}, which stands in {count(uses[near.name], 'row')}; neither is in "
                "bucks.csv, so they count as two bucks.",
                how=f"Write {near.name} if he is meant. If they are two bucks, add both to "
                "bucks.csv.",
                harm=float(uses[name]),
                bucks=tuple(sorted((name, near.name))),
            )
