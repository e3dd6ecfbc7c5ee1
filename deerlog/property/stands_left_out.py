"""Stands that were typed but cannot be used until their row is mended."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from deerlog.errors import PropertyError
from deerlog.property.matching import fold_name
from deerlog.property.stands import COLUMNS
from deerlog.property.table_rows import read_sheet


@dataclass(frozen=True, kw_only=True)
class LostStand:
    """A stand as it is written, and its line in the file."""

    name: str
    row: int


def stands_left_out(path: Path, known: Iterable[str]) -> tuple[LostStand, ...]:
    """Stands of a stands.csv that are not among those read from it, in file order, each once.

    Parameters
    ----------
    path
        The file.
    known
        Names of the stands that could be read.
    """
    try:
        sheet = read_sheet(path, COLUMNS)
    except PropertyError:
        return ()  # The whole table is left out, and is a problem of its own.
    rows = list(zip(sheet.frame["stand"], sheet.frame["row"], strict=True))
    heads = [column.strip().casefold() for column in sheet.columns]
    place = heads.index("stand") if "stand" in heads else None
    if place is not None:
        rows += [(cells[place], row) for row, cells in sheet.set_aside if len(cells) > place]
    seen = {fold_name(name) for name in known}
    lost = []
    for name, row in sorted(rows, key=lambda each: int(each[1])):
        folded = fold_name(str(name))
        if folded and folded not in seen:
            seen.add(folded)
            lost.append(LostStand(name=str(name).strip(), row=int(row)))
    return tuple(lost)
