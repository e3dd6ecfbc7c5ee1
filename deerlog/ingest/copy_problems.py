"""Copies on the disk that a person should know of: which folder holds them, and of what."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.cards.walk import CARDS
from deerlog.ingest.tags.touched import Touch
from deerlog.property.matching import NameList
from deerlog.property.row_words import counted, names_in_words


def copy_problems(
    others: pd.DataFrame, photos: pd.DataFrame, listed: NameList, touch: Touch
) -> Iterator[Problem]:
    """A problem for each folder of copies.

    Copies between two cameras must be mended, since only a person knows at which of them the
    pictures were taken. Others are only worth knowing: a folder of a name that is no camera's, and
    one within a camera's folder that holds nothing else. Card dumps of one camera that overlap are
    as they should be.

    Parameters
    ----------
    others
        Files that are no pictures; see `deerlog.ingest.store.stored_files.Stored`.
    photos
        Of `deerlog.ingest.logged_photos.logged_photos`.
    listed
        The cameras of cameras.csv.
    touch
        What photos touch.
    """
    copies = photos[photos["same_as"].notna() & ~photos["gone"].astype(bool)]
    if copies.empty:
        return
    original = copies["same_as"].to_numpy(dtype="int64")
    copies = copies.assign(
        original=photos["camera"].to_numpy()[original],
        original_gone=photos["gone"].to_numpy(dtype=bool)[original],
    )
    own = copies["camera"] == copies["original"]
    # A list of pictures beside the pictures is no copy to clear away.
    copies = copies[~own | (copies["listed_in"] == "")]
    known = copies["camera"].map(lambda camera: listed.find(camera) is not None).astype(bool)
    # What is on the disk only once must never be called a copy that can go.
    whole = {
        False: _WholeFolders.among(others, photos, copies[~copies["original_gone"]]),
        True: _WholeFolders.among(others, photos, copies),
    }
    place = [
        whole[gone].place(folder, path)
        for gone, folder, path in zip(
            copies["original_gone"].tolist(),
            copies["folder"].tolist(),
            copies["path"].tolist(),
            strict=True,
        )
    ]
    copies = copies.assign(
        place=[where for where, _ in place], whole=[only for _, only in place], known=known
    )
    own = copies["camera"] == copies["original"]
    two = copies[known & ~own]
    for (camera, other, where), group in two.groupby(["camera", "original", "place"], sort=True):
        yield _two_cameras(str(camera), str(other), str(where), group, touch)
    spare = copies[(~known | (own & copies["whole"])) & ~copies["original_gone"]]
    for where, group in spare.groupby("place", sort=True):
        yield _spare(str(where), group)
    left = copies[~known & copies["original_gone"]]
    for where, group in left.groupby("place", sort=True):
        yield _only_ones_left(str(where), group)


def _two_cameras(camera: str, other: str, where: str, group: pd.DataFrame, touch: Touch) -> Problem:
    touched = touch(group)
    one = len(group) == 1
    taken_out = f"the folder {where}" if group["whole"].iloc[0] else "it" if one else "them"
    return Problem(
        kind="same-picture-two-cameras",
        file=where,
        value=str(group["path"].iloc[0]),
        why=f"{_photos_in(where, group)} {'is a copy' if one else 'are copies'} of "
        f"{'a photo' if one else 'photos'} of {other} (first {group['path'].iloc[0]}), and "
        f"{'counts' if one else 'count'} once, at {other}.",
        how=f"If {'it was' if one else 'they were'} taken by {other}, remove {taken_out}. If by "
        f"{camera}, take {'it' if one else 'them'} out of {CARDS}/{other} instead.",
        harm=touched.visits,
        bucks=touched.bucks,
        camera=camera,
    )


def _spare(where: str, group: pd.DataFrame) -> Problem:
    one = len(group) == 1
    others = names_in_words(sorted(group["original"].unique()))
    if not group["whole"].iloc[0]:
        how = (
            f"{'It' if one else 'They'} can be removed; what else is in the folder is not known to "
            "be a copy."
        )
    else:
        # Not of what could not be read: a file out of reach is in no log.
        how = "The folder can be removed: every picture read from it is there a second time."
    return Problem(
        kind="copies-in-folder",
        file=where,
        value=str(group["path"].iloc[0]),
        why=f"{_photos_in(where, group)} {'is a copy' if one else 'are copies'} of "
        f"{'a photo' if one else 'photos'} of {others}, and {'counts' if one else 'count'} once, "
        f"at {others}.",
        how=how,
        must_mend=False,
    )


def _only_ones_left(where: str, group: pd.DataFrame) -> Problem:
    one = len(group) == 1
    others = sorted(group["original"].unique())
    return Problem(
        kind="copies-left-alone",
        file=where,
        value=str(group["path"].iloc[0]),
        why=f"{_photos_in(where, group)} {'is a photo' if one else 'are photos'} of "
        f"{names_in_words(others)} that {'is' if one else 'are'} no longer in "
        f"{names_in_words([f'{CARDS}/{other}' for other in others])}; "
        f"{'it counts' if one else 'they count'} there.",
        how=f"Move {'it' if one else 'them'} into a folder below {CARDS}/{others[0]}."
        if len(others) == 1
        else "Move each into a folder below its camera's.",
        must_mend=False,
    )


def _photos_in(where: str, group: pd.DataFrame) -> str:
    return f"{counted(len(group), 'photo', 'photos')} in {where}"


@dataclass(frozen=True)
class _WholeFolders:
    """Folders in which everything that was met is a copy of something outside of all of them.

    Attributes
    ----------
    only_copies
        ``(camera folder, path below it)`` of every such folder; ``""`` for the camera's own.
    """

    only_copies: frozenset[tuple[str, str]]

    @classmethod
    def among(
        cls, others: pd.DataFrame, photos: pd.DataFrame, copies: pd.DataFrame
    ) -> _WholeFolders:
        """Those of the camera folders that copies lie in.

        Parameters
        ----------
        others, photos
            As `copy_problems` has them.
        copies
            Rows of photos: the copies that are meant.
        """
        on_disk = (photos["listed_in"] == "") & ~photos["gone"].astype(bool)
        files = photos[on_disk & photos["folder"].isin(copies["folder"])]
        is_copy = files.index.isin(copies.index)
        held = _around(files[~is_copy]["folder"], files[~is_copy]["path"])
        copied = _around(files[is_copy]["folder"], files[is_copy]["path"]) - held
        alone = _only_here(others, copied)
        return cls(frozenset(copied - _around(alone["camera"], alone["path"])))

    def place(self, folder: str, path: str) -> tuple[str, bool]:
        """The topmost folder around a copy that holds only copies, and True; or its own folder."""
        above = path.split("/")[:-1]
        for depth in range(len(above) + 1):
            below = "/".join(above[:depth])
            if (folder, below) in self.only_copies:
                return _shown(folder, below), True
        return _shown(folder, "/".join(above)), False


def _shown(folder: str, below: str) -> str:
    return f"{CARDS}/{folder}/{below}".rstrip("/")


def _only_here(others: pd.DataFrame, copied: set[tuple[str, str]]) -> pd.DataFrame:
    """Files that are no pictures, without those of which another stays if the folders go.

    Of files of one name, size and time of change (to the second, which copying keeps) one counts as
    the only one: if it can be, one outside of the folders of copies. Even a list of photos counts
    as a whole: what it says of pictures that are gone may stand nowhere else.
    """
    within = [
        not _folders_of(camera, path).isdisjoint(copied)
        for camera, path in zip(others["camera"].tolist(), others["path"].tolist(), strict=True)
    ]
    named = others.assign(
        within=within,
        name=[path.rpartition("/")[2] for path in others["path"].tolist()],
        second=others["mtime_ns"] // 10**9,
    )
    return named.sort_values("within", kind="stable").drop_duplicates(["name", "size", "second"])


def _around(cameras: pd.Series, paths: pd.Series) -> set[tuple[str, str]]:
    """Every folder that one of some files lies in, at any depth."""
    own = {
        (camera, path.rpartition("/")[0])
        for camera, path in zip(cameras.tolist(), paths.tolist(), strict=True)
    }
    return {key for camera, below in own for key in _folders_of(camera, f"{below}/")}


def _folders_of(camera: str, path: str) -> set[tuple[str, str]]:
    """The folders around a file: ``(camera folder, path below it)``, ``""`` for its own."""
    parts = path.split("/")[:-1]
    return {(camera, "/".join(parts[:depth])) for depth in range(len(parts) + 1)}
