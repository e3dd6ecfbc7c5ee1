"""Rows of other tables that name a camera, held against cameras.csv."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from deerlog.errors import Problem
from deerlog.property.matching import NameList
from deerlog.property.table_rows import Record


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
                why=f"No camera {record['camera']} is in cameras.csv; the row is left out.",
                how=known.advice(record["camera"], "cameras.csv"),
            )
        )
