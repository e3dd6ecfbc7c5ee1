"""Where a camera stood at a time, and rows of other tables that name one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.property.matching import NameList
from deerlog.property.table_rows import Faults, Record


def of_known_cameras(
    records: Iterable[Record], known: NameList, faults: Faults
) -> Iterator[Record]:
    """The rows whose camera is known, in the spelling of cameras.csv; the rest become problems."""
    for record in records:
        camera = known.find(record["camera"])
        if camera:
            record["camera"] = camera
            yield record
            continue
        name = record["camera"]
        outcome = "so is this one" if known.rows_left_out(name) else "the row is left out"
        why = f"{no_such_camera(name, known)}; {outcome}."
        faults.add("unknown-camera", record, "camera", why, known.advice(name, "cameras.csv"))


def no_such_camera(name: str, known: NameList) -> str:
    """That a camera is not in cameras.csv, or that its rows there were left out."""
    rows = known.rows_left_out(name)
    if not rows:
        return f"No camera {name} is in cameras.csv"
    which, were = ("row", "was") if rows.startswith("row ") else ("rows", "were")
    return f"The {which} of {name} in cameras.csv ({rows}) {were} left out"


Times = npt.NDArray[np.datetime64]
_FAR = np.datetime64("9999-12-31", "us")


def placement_rows(
    camera: npt.NDArray[np.object_], local: Times, placements: pd.DataFrame
) -> npt.NDArray[np.int64]:
    """Row number in ``placements`` of where each photo was taken, or -1 outside any placement.

    ``camera`` and ``local``, shape (n,), are the camera and corrected local time (naive) of each
    photo; placements of one camera do not overlap.
    """
    result = np.full(len(local), -1, dtype=np.int64)
    names, code = np.unique(np.asarray(camera, dtype=str), return_inverse=True)
    owner = placements["camera"].to_numpy()
    start = np.asarray(placements["start"], dtype="datetime64[us]")
    end = placement_ends(placements)
    for i, name in enumerate(names):
        mine = np.flatnonzero(owner == name)
        if not len(mine):
            continue
        photos = np.flatnonzero(code == i)
        mine = mine[np.argsort(start[mine], kind="stable")]
        place = np.searchsorted(start[mine], local[photos], side="right") - 1
        row = mine[np.maximum(place, 0)]
        inside = (place >= 0) & (local[photos] < end[row])
        result[photos[inside]] = row[inside]
    return result


def nearest_placement(local: Times, placed: pd.DataFrame) -> npt.NDArray[np.int64]:
    """Position in ``placed`` (one camera's placements) of the one at, or nearest to, each time."""
    start = np.asarray(placed["start"], dtype="datetime64[us]")
    end = placement_ends(placed)
    order = np.argsort(start, kind="stable")
    before = np.maximum(np.searchsorted(start[order], local, side="right") - 1, 0)
    after = np.minimum(before + 1, len(order) - 1)
    left, right = order[before], order[after]
    nearer = (local >= end[left]) & (start[right] - local < local - end[left])
    return np.where(nearer, right, left)


def placement_ends(placements: pd.DataFrame) -> Times:
    """End of each placement (exclusive), far in the future where the camera still stands there."""
    end = np.asarray(placements["end"], dtype="datetime64[us]")
    return np.asarray(np.where(np.isnat(end), _FAR, end), dtype="datetime64[us]")
