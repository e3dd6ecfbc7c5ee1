"""Which photos are copies of one picture, which of them counts, and where the others lie.

``photos`` are rows of `deerlog.ingest.field_log.logged_photos`, but for `same_pictures`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.cards.walk import CARDS
from deerlog.ingest.clocks.clock_problems import Finding, groups
from deerlog.property.matching import NameList
from deerlog.property.wording import agree, count, listing


def same_pictures(
    photos: pd.DataFrame,
    *,
    listed_camera: npt.NDArray[np.bool_] | None = None,
    has_tag_row: npt.NDArray[np.bool_] | None = None,
) -> npt.NDArray[np.int64]:
    """The row of the photo each is a copy of (itself no copy), -1 for one that counts, shape (n,).

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

    ``photos`` has rows in order of camera and path with the columns of
    `deerlog.ingest.store.stored_files.Stored`, all with a shown time. Of shape (n,):
    ``listed_camera``, whether cameras.csv has the photo's camera (None: all of them), and
    ``has_tag_row``, whether a row of its camera's tag sheet names it (None: no photo has one).
    """
    same = np.full(len(photos), -1, dtype=np.int64)
    listed = photos["listed_in"].to_numpy() != ""
    marked = photos["head"].to_numpy() != 0
    files = np.flatnonzero(~listed | marked)
    key = photos.iloc[files][["size", "shown", "head"]]
    number = _group_number(key)
    several = np.bincount(number)[number] > 1
    rows = files[several]
    if len(rows):
        order = ["picture", "unlisted", "gone", "untagged", "copies_before", "camera", "folder"]
        copies = photos.iloc[rows].assign(
            row=rows,
            picture=number[several],
            unlisted=False if listed_camera is None else ~listed_camera[rows],
            untagged=False if has_tag_row is None else ~has_tag_row[rows],
            folder=[folder_order(path) for path in photos["path"].iloc[rows]],
        )
        copies = copies.sort_values([*order, "row"])
        first = copies.groupby("picture")["row"].transform("first")
        same[copies["row"]] = np.where(copies["row"] == first, -1, first)
    if listed.any():
        _match_listed(photos, same, listed, marked)
    return same


def folder_order(path: str) -> str:
    """Orders paths folder by folder: ``card/b`` before ``card copy/a``."""
    return path.replace("/", "\0")


def _group_number(key: pd.DataFrame) -> npt.NDArray[np.int64]:
    """For each row, a number that rows with the same key share, in order of the first of them."""
    groups = key.groupby([*key.columns], sort=False, dropna=False)
    return np.asarray(groups.ngroup(), dtype=np.int64)


def _match_listed(
    photos: pd.DataFrame,
    same: npt.NDArray[np.int64],
    listed: npt.NDArray[np.bool_],
    marked: npt.NDArray[np.bool_],
) -> None:
    """Match rows of CSV photo logs to pictures and to each other, into ``same``."""
    shown = np.asarray(photos["shown"], dtype="datetime64[us]")
    names = [path.rpartition("/")[2].casefold() for path in photos["path"].tolist()]
    key = pd.DataFrame(
        {
            "camera": pd.factorize(photos["camera"])[0],
            "path": pd.factorize(photos["path"])[0],
            "name": pd.factorize(np.array(names, dtype=object))[0],
            "time": shown.astype("datetime64[s]").astype(np.int64),
            "minute": shown.astype("datetime64[m]").astype(np.int64),
        }
    )
    path, time, minute = (
        ["camera", "path"],
        ["camera", "name", "time"],
        ["camera", "name", "minute"],
    )

    def match(
        columns: list[str], rows: npt.NDArray[np.bool_], files: npt.NDArray[np.int64]
    ) -> None:
        counts = np.where(same[files] < 0, files, same[files])
        pictures = key.iloc[files][columns].assign(counts=counts).drop_duplicates(columns)
        left = np.flatnonzero(rows & (same < 0))
        found = key.iloc[left][columns].merge(pictures, on=columns, how="left")["counts"]
        hit = found.notna().to_numpy()
        same[left[hit]] = found[hit].to_numpy(dtype=np.int64)

    match(time, listed & marked, np.flatnonzero(~listed & (same < 0)))
    logs, files = listed & ~marked, np.flatnonzero(~listed | marked)
    without_seconds = ~photos["seconds"].to_numpy(dtype=bool)
    match(path, logs, files)
    match(time, logs & ~without_seconds, files)
    match(minute, logs & without_seconds, files)
    for columns in (path, time, minute):
        left = np.flatnonzero(logs & (same < 0))
        number = _group_number(key.iloc[left][columns])
        first = left[np.unique(number, return_index=True)[1][number]]
        copy = first != left
        if columns == minute:
            copy &= without_seconds[left] | without_seconds[first]
        same[left[copy]] = first[copy]
    # A row taken for a copy of one that turned out to be a copy itself.
    for _ in range(2):
        chained = np.flatnonzero(same >= 0)
        chained = chained[same[same[chained]] >= 0]
        same[chained] = same[same[chained]]


def copy_findings(
    others: pd.DataFrame, photos: pd.DataFrame, listed: NameList, cards: Path
) -> Iterator[Finding]:
    """A problem for each folder of copies.

    Copies between two cameras must be mended, since only a person knows at which of them the
    pictures were taken. Others are only worth knowing: a folder of a name that is no camera's, and
    one within a camera's folder that holds nothing else. Card dumps of one camera that overlap are
    as they should be. Nothing is said to be spare unless another file with the same picture, which
    stays, is on the disk at this moment. ``others`` are files that are no pictures (see
    `deerlog.ingest.store.stored_files.Stored`); ``cards`` is where the card folders lie.
    """
    copies = photos[photos["same_as"].notna() & ~photos["gone"].astype(bool)]
    if copies.empty:
        return
    original = photos.iloc[copies["same_as"].to_numpy(dtype="int64")]
    copies = copies.assign(
        original=original["camera"].to_numpy(), original_gone=~_on_disk_now(original, cards)
    )
    # A list of pictures beside the pictures is no copy to clear away.
    copies = copies[(copies["camera"] != copies["original"]) | (copies["listed_in"] == "")]
    # What is on the disk only once must never be called a copy that can go.
    whole = {
        False: _whole_folders(others, photos, copies[~copies["original_gone"]]),
        True: _whole_folders(others, photos, copies),
    }
    columns = (copies[name].tolist() for name in ("original_gone", "folder", "path"))
    place = [_place(whole[gone], *where) for gone, *where in zip(*columns, strict=True)]
    copies = copies.assign(
        place=[where for where, _ in place], whole=np.array([only for _, only in place], dtype=bool)
    )
    own = copies["camera"] == copies["original"]
    known = np.array([listed.find(camera) is not None for camera in copies["camera"]], dtype=bool)
    gone = copies["original_gone"]
    two = copies[known & ~own & ~gone]
    for (camera, other, _), group in groups(two, "camera", "original", "place"):
        yield _two_cameras(camera, other, group), group
    for _, group in groups(copies[(~known | (own & copies["whole"])) & ~gone], "place"):
        yield _spare(group), None
    for _, group in groups(copies[~own & gone], "place"):
        yield _only_ones_left(group), None


def _on_disk_now(photos: pd.DataFrame, cards: Path) -> npt.NDArray[np.bool_]:
    """Which photos are files that lie on the disk at this moment, as they were last met."""
    last_met = (photos["listed_in"] == "") & (photos["replaced"] == 0) & ~photos["gone"]
    there: dict[tuple[str, str], bool] = {}
    for camera, path in set(zip(photos["folder"][last_met], photos["path"][last_met], strict=True)):
        there[camera, path] = (cards / camera / path).is_file()
    keys = zip(photos["folder"].tolist(), photos["path"].tolist(), strict=True)
    return np.array([there.get(key, False) for key in keys], dtype=bool) & last_met.to_numpy()


def folder_findings(photos: pd.DataFrame) -> Iterator[Finding]:
    """Folders of one camera: one that was renamed, and two on the disk whose names are the same."""
    file, gone = photos["listed_in"] == "", photos["gone"].astype(bool)
    there = photos[file & ~gone]
    moved = photos[file & gone & photos["same_as"].notna()]
    now = photos.iloc[moved["same_as"].to_numpy(dtype="int64")]
    moved = moved.assign(now=now["folder"].to_numpy(), at=now["camera"].to_numpy())
    moved = moved[(moved["at"] == moved["camera"]) & ~moved["folder"].isin(there["folder"])]
    for (was, name), group in groups(moved, "folder", "now"):
        problem = Problem(
            kind="folder-renamed",
            file=f"{CARDS}/{name}",
            value=str(group["path"].iloc[0]),
            why=f"{count(len(group), 'photo')} of {CARDS}/{was} {agree(len(group), 'lies', 'lie')} "
            "here now: the folder was renamed. Tags and all else stay as they were, and each photo "
            "counts once.",
            how="Nothing to do; keep the folder, which holds the only files of them.",
            must_mend=False,
        )
        yield problem, None
    for (camera,), group in groups(there, "camera"):
        folders = sorted(group["folder"].unique())
        if len(folders) > 1:
            problem = Problem(
                kind="two-folders-one-camera",
                file=f"{CARDS}/{folders[0]}",
                value=camera,
                why=f"{listing(repr(folder) for folder in folders)} in {CARDS}/ differ only in "
                f"capitals, spaces or the form of letters, so all are taken for {camera}.",
                how="Move what is in one of them into a folder below the other; or, if they are of "
                "two cameras, give one another name, here and in cameras.csv.",
                camera=camera,
            )
            yield problem, group[group["folder"] != folders[0]]


def _in_folder(kind: str, group: pd.DataFrame, why: str, how: str) -> Problem:
    """What to know of copies that lie in one folder, ``why`` said after how many they are."""
    where = str(group["place"].iloc[0])
    return Problem(
        kind=kind,
        file=where,
        value=str(group["path"].iloc[0]),
        why=f"{count(len(group), 'photo')} in {where} {why}.",
        how=how,
        must_mend=False,
    )


def _two_cameras(camera: str, other: str, group: pd.DataFrame) -> Problem:
    n, first, where, whole = len(group), *group[["path", "place", "whole"]].iloc[0]
    it, was = agree(n, "it", "them"), agree(n, "it was", "they were")
    problem = _in_folder(
        "same-picture-two-cameras",
        group,
        _counted_once(n, other, f" (first {first})"),
        f"If {was} taken by {other}, remove {f'the folder {where}' if whole else it}. If by "
        f"{camera}, take {it} out of {CARDS}/{other} instead.",
    )
    return replace(problem, must_mend=True, camera=camera)


def _spare(group: pd.DataFrame) -> Problem:
    n, others = len(group), listing(sorted(group["original"].unique()))
    return _in_folder(
        "copies-in-folder",
        group,
        _counted_once(n, others),
        # Not of what could not be read: a file out of reach is in no log.
        "The folder can be removed: every picture read from it is there a second time."
        if group["whole"].iloc[0]
        else f"{agree(n, 'It', 'They')} can be removed; what else is in the folder is not known to "
        "be a copy.",
    )


def _only_ones_left(group: pd.DataFrame) -> Problem:
    n, others = len(group), sorted(group["original"].unique())
    folders = listing(f"{CARDS}/{other}" for other in others)
    are, still = agree(n, "is a photo", "are photos"), agree(n, "is", "are")
    return _in_folder(
        "copies-left-alone",
        group,
        f"{are} of {listing(others)} that {still} no longer in {folders}; "
        f"{agree(n, 'it counts', 'they count')} there",
        f"Move {agree(n, 'it', 'them')} into a folder below {CARDS}/{others[0]}."
        if len(others) == 1
        else "Move each into a folder below its camera's.",
    )


def _counted_once(n: int, of: str, first: str = "") -> str:
    are = agree(n, "is a copy of a photo", "are copies of photos")
    return f"{are} of {of}{first}, and {agree(n, 'counts', 'count')} once, at {of}"


_Folders = set[tuple[str, str]]
"""Folders: ``(camera folder, path below it)``, ``""`` for the camera's own."""


def _whole_folders(others: pd.DataFrame, photos: pd.DataFrame, copies: pd.DataFrame) -> _Folders:
    """Folders in which all that was met is one of some copies, of something outside of them all."""
    on_disk = (photos["listed_in"] == "") & ~photos["gone"].astype(bool)
    files = photos[on_disk & photos["folder"].isin(copies["folder"])]
    is_copy = files.index.isin(copies.index)
    held = _around(files[~is_copy]["folder"], files[~is_copy]["path"])
    copied = _around(files[is_copy]["folder"], files[is_copy]["path"]) - held
    # Files that are no pictures, without those of which another stays if the folders go. Of files
    # of one name, size and time of change (to the second, which copying keeps) one counts as the
    # only one: if it can be, one outside of the folders of copies. Even a list of photos counts as
    # a whole: what it says of pictures that are gone may stand nowhere else.
    paths = others["path"].tolist()
    pairs = zip(others["camera"].tolist(), paths, strict=True)
    named = others.assign(
        within=[not copied.isdisjoint(_folders_of(camera, path)) for camera, path in pairs],
        name=[path.rpartition("/")[2] for path in paths],
        second=others["mtime_ns"] // 10**9,
    )
    alone = named.sort_values("within", kind="stable").drop_duplicates(["name", "size", "second"])
    return copied - _around(alone["camera"], alone["path"])


def _place(whole: _Folders, folder: str, path: str) -> tuple[str, bool]:
    """The topmost folder around a copy that holds only copies, and True; or its own folder."""
    around = sorted(_folders_of(folder, path), key=lambda key: len(key[1]))
    top = next((below for below in around if below in whole), None)
    return f"{CARDS}/{'/'.join(top or around[-1])}".rstrip("/"), top is not None


def _around(cameras: pd.Series, paths: pd.Series) -> _Folders:
    """Every folder that one of some files lies in, at any depth."""
    pairs = zip(cameras.tolist(), paths.tolist(), strict=True)
    own = {(camera, path.rpartition("/")[0]) for camera, path in pairs}
    return {key for camera, below in own for key in _folders_of(camera, f"{below}/")}


def _folders_of(camera: str, path: str) -> _Folders:
    """The folders around a file."""
    parts = path.split("/")[:-1]
    return {(camera, "/".join(parts[:depth])) for depth in range(len(parts) + 1)}
