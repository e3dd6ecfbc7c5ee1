"""Rows of other tables that name a camera, held against cameras.csv."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from deerlog.errors import Problem
from deerlog.property.matching import NameList
from deerlog.property.table_rows import Record

_LEFT_OUT = "the row is left out"


def of_known_cameras(
    records: Iterable[Record], known: NameList, file: str, problems: list[Problem]
) -> Iterator[Record]:
    """The rows whose camera is known, in the spelling of cameras.csv; the rest become problems."""
    for record in records:
        camera = known.find(record["camera"])
        if camera:
            record["camera"] = camera
            yield record
            continue
        problems.append(
            Problem(
                kind="unknown-camera",
                file=file,
                row=record["row"],
                column="camera",
                value=record["camera"],
                why=f"{no_such_camera(record['camera'], known)}; "
                f"{'so is this one' if known.rows_left_out(record['camera']) else _LEFT_OUT}.",
                how=known.advice(record["camera"], "cameras.csv"),
            )
        )


def no_such_camera(name: str, known: NameList) -> str:
    """That a camera is not in cameras.csv, or that its rows there were left out."""
    rows = known.rows_left_out(name)
    if not rows:
        return f"No camera {name} is in cameras.csv"
    which, were = ("row", "was") if rows.startswith("row ") else ("rows", "were")
    return f"The {which} of {name} in cameras.csv ({rows}) {were} left out"
