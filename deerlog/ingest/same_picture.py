"""Which photos are copies of one picture, and which of them counts."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd


def same_pictures(
    photos: pd.DataFrame,
    *,
    listed_camera: npt.NDArray[np.bool_] | None = None,
    has_tag_row: npt.NDArray[np.bool_] | None = None,
) -> npt.NDArray[np.int64]:
    """For each photo, the row of the photo it is a copy of, or -1 for one that counts.

    Files with the same size, shown time and leading bytes are one picture, wherever they lie (an
    overlapping dump, a second folder, another camera's folder). The one that counts is one of a
    camera in cameras.csv before any other; then one on disk before one that is gone; one that a row
    of a tag sheet names; the one that was known first; the first in order of camera and folder. So
    a copy that is added later, wherever it is put, changes nothing.

    A row of a CSV photo log that gives a fingerprint (size and leading bytes) is held against
    pictures like a file; where none has it, against those on disk by name and time, since a picture
    saved anew by a viewer is the same still.

    Any other row of such a log is a copy of the picture at the path it names; else of one on the
    same camera with the same file name and the same shown time; else of an earlier such row. Where
    the row gives no seconds, the minute is compared.

    Parameters
    ----------
    photos
        Rows in order of camera and path with the columns of
        `deerlog.ingest.store.stored_files.Stored`; all have a shown time.
    listed_camera
        Shape (n,): whether cameras.csv has the photo's camera. None: all of them.
    has_tag_row
        Shape (n,): whether a row of its camera's tag sheet names it. None: no photo has one.

    Returns
    -------
    Shape (n,), row numbers in ``photos``. No row named is itself a copy.
    """
    same = np.full(len(photos), -1, dtype=np.int64)
    if not len(photos):
        return same
    row = np.arange(len(photos))
    listed = photos["listed_in"].to_numpy() != ""
    marked = photos["head"].to_numpy() != 0
    files = row[~listed | marked]
    if len(files):
        key = photos.iloc[files][["size", "shown", "head"]]
        number = key.groupby(list(key.columns), sort=False, dropna=False).ngroup().to_numpy()
        several = np.bincount(number)[number] > 1
        if several.any():
            rank = _rank(photos, files[several], listed_camera, has_tag_row)
            best = np.lexsort((rank, number[several]))
            copies, of = files[several][best], number[several][best]
            begins = np.concatenate(([True], of[1:] != of[:-1]))
            first = copies[np.maximum.accumulate(np.where(begins, np.arange(len(of)), 0))]
            same[copies[~begins]] = first[~begins]
    if listed.any():
        key = _listed_key(photos)
        saved_anew = row[listed & marked & (same < 0)]
        on_disk = row[~listed & (same < 0)]
        _match(key, ["camera", "name", "time"], saved_anew, on_disk, same)
        _same_as_listed(photos, key, row[listed & ~marked], files, same)
    return same


def _rank(
    photos: pd.DataFrame,
    rows: npt.NDArray[np.int64],
    listed_camera: npt.NDArray[np.bool_] | None,
    has_tag_row: npt.NDArray[np.bool_] | None,
) -> npt.NDArray[np.int64]:
    """Place of each of some rows in the order in which copies of one picture count."""
    some = photos.iloc[rows]
    none = np.zeros(len(rows), dtype=bool)
    order = sorted(
        zip(
            none.tolist() if listed_camera is None else (~listed_camera[rows]).tolist(),
            some["gone"].tolist(),
            none.tolist() if has_tag_row is None else (~has_tag_row[rows]).tolist(),
            some["copies_before"].tolist(),
            some["camera"].tolist(),
            [folder_order(path) for path in some["path"].tolist()],
            range(len(rows)),
            strict=True,
        )
    )
    rank = np.empty(len(rows), dtype=np.int64)
    rank[[place for *_, place in order]] = np.arange(len(rows))
    return rank


def folder_order(path: str) -> str:
    """Orders paths folder by folder: ``card/b`` before ``card copy/a``."""
    return path.replace("/", "\0")


def _first_of(key: pd.DataFrame) -> npt.NDArray[np.int64]:
    """For each row, the first row with the same key."""
    number = key.groupby(list(key.columns), sort=False, dropna=False).ngroup().to_numpy()
    _, first = np.unique(number, return_index=True)
    return np.asarray(first[number], dtype=np.int64)


def _listed_key(photos: pd.DataFrame) -> pd.DataFrame:
    """What rows of CSV photo logs are matched by, as numbers."""
    shown = np.asarray(photos["shown"], dtype="datetime64[us]")
    names = [path.rpartition("/")[2].casefold() for path in photos["path"].tolist()]
    return pd.DataFrame(
        {
            "camera": pd.factorize(photos["camera"])[0],
            "path": pd.factorize(photos["path"])[0],
            "name": pd.factorize(np.array(names, dtype=object))[0],
            "time": shown.astype("datetime64[s]").astype(np.int64),
            "minute": shown.astype("datetime64[m]").astype(np.int64),
        }
    )


def _match(
    key: pd.DataFrame,
    columns: list[str],
    chosen: npt.NDArray[np.int64],
    files: npt.NDArray[np.int64],
    same: npt.NDArray[np.int64],
) -> None:
    """Match rows to files by some columns."""
    counts = np.where(same[files] < 0, files, same[files])
    pictures = key.iloc[files][columns].assign(counts=counts)
    pictures = pictures.drop_duplicates(columns)
    left = chosen[same[chosen] < 0]
    found = key.iloc[left][columns].merge(pictures, on=columns, how="left")["counts"]
    hit = found.notna().to_numpy()
    same[left[hit]] = found[hit].to_numpy(dtype=np.int64)


def _same_as_listed(
    photos: pd.DataFrame,
    key: pd.DataFrame,
    logs: npt.NDArray[np.int64],
    files: npt.NDArray[np.int64],
    same: npt.NDArray[np.int64],
) -> None:
    """Match rows of CSV photo logs to pictures and to each other."""
    without_seconds = ~photos["seconds"].to_numpy()
    _match(key, ["camera", "path"], logs, files, same)
    _match(key, ["camera", "name", "time"], logs[~without_seconds[logs]], files, same)
    _match(key, ["camera", "name", "minute"], logs[without_seconds[logs]], files, same)
    for columns in (["camera", "path"], ["camera", "name", "time"], ["camera", "name", "minute"]):
        left = logs[same[logs] < 0]
        if not len(left):
            break
        first = left[_first_of(key.iloc[left][columns])]
        copy = first != left
        if columns[2:] == ["minute"]:
            copy &= without_seconds[left] | without_seconds[first]
        same[left[copy]] = first[copy]
    # A row taken for a copy of one that turned out to be a copy itself.
    for _ in range(2):
        chained = np.flatnonzero(same >= 0)
        chained = chained[same[same[chained]] >= 0]
        same[chained] = same[same[chained]]
