"""bucks.csv: the bucks known by name."""

from __future__ import annotations

import re
from functools import partial
from pathlib import Path

import pandas as pd

from deerlog.property.cell_values import (
    CellError,
    parse_list,
    parse_name,
    parse_whole_number,
    parse_yes_no,
)
from deerlog.property.matching import fold_name
from deerlog.property.table_rows import Column, Faults, Record, dtypes_of, frame_of, open_table


def parse_buck(text: str) -> str:
    """Read a buck's name: without ``;``, a ``?`` at its end, or ``-`` alone, since those mean
    something else in a tag sheet."""
    name = parse_name(text)
    if ";" in name or name.endswith("?") or name in ("-", "–", "—"):
        raise CellError(
            f"{text!r} cannot be a buck's name: in tag sheets ';' separates names, a '?' at the "
            "end means unsure, and '-' means none.",
            how="Choose a name without them.",
        )
    return name


_ABOUT = re.compile(r"^(?:~|about|est\.?|estimated|c\.|ca\.?)\s*|\s*(?:\?|est\.?|\(est\.?\))$")


def parse_born(text: str) -> int:
    """Read a birth year, which may be marked as an estimate (``~2021``, ``2021?``)."""
    return parse_whole_number(_ABOUT.sub("", text.casefold()), low=1980, high=2100)


COLUMNS = (
    Column(name="buck", parse=parse_buck),
    Column(name="target", parse=parse_yes_no, blank=False, unreadable=False, stand_in="no",
           dtype="bool"),
    Column(name="born", parse=parse_born, blank=None, unreadable=None, stand_in="not known",
           dtype="Int64"),
    Column(name="aliases", parse=parse_list, blank=(), dtype="object"),
    Column(name="notes", parse=str, blank=""),
)  # fmt: skip

DTYPES = dtypes_of(COLUMNS)


def read_bucks(path: Path) -> tuple[pd.DataFrame, Faults]:
    """Read the bucks, in file order with the columns of `DTYPES`; ``aliases`` are tuples.

    No name or alias stands for two bucks, in any case and spacing: rows and aliases left out for
    that are problems.
    """
    records, faults = open_table(path, COLUMNS)
    kept: list[Record] = []
    owner: dict[str, Record] = {}
    for record in records:
        buck = record["buck"]
        other = owner.setdefault(fold_name(buck), record)
        if other is record:
            kept.append(record)
            continue
        why = f"{buck} is listed on row {other['row']} already; this row is left out."
        how = "Keep one row for each buck."
        faults.add("buck-twice", record, "buck", why, how, bucks=(other["buck"],))
    for record in kept:
        record["aliases"] = _own_aliases(record, owner, faults)
    return frame_of(kept, DTYPES), faults


def _own_aliases(record: Record, owner: dict[str, Record], faults: Faults) -> tuple[str, ...]:
    """The aliases that stand for this buck and no other."""
    aliases = []
    buck = record["buck"]
    tell = partial(faults.add, "alias-clash", record, "aliases")
    for alias in record["aliases"]:
        other = owner.setdefault(fold_name(alias), record)
        if other is not record:
            named = fold_name(other["buck"]) == fold_name(alias)
            why = (
                f"{alias} is an alias of {buck} here and {'the name' if named else 'an alias'} of "
                f"{other['buck']} on row {other['row']}; the alias is left out."
            )
            how = (
                f"If they are one buck, delete row {other['row']} and move its other names here; "
                "if not, remove the alias."
            )
            tell(why, how, value=alias, bucks=(buck, other["buck"]))
        elif fold_name(alias) == fold_name(buck):
            why = f"{alias} is the buck's own name; as an alias it does nothing."
            tell(why, "Remove it from aliases.", value=alias, must_mend=False, bucks=(buck,))
        else:
            aliases.append(alias)
    return tuple(aliases)
