"""Which photo a row of a tag sheet means, by its ``photo`` and ``taken``."""

from __future__ import annotations

import posixpath
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from itertools import pairwise

import numpy as np
import pandas as pd

from deerlog.property.day_and_time import Moment, possible_moments

NEAR = timedelta(hours=26)
"""How far a ``taken`` may be from the photo's time and still be called the same: a zone or a half
of the day wrong, and mended since (our choice; zones span 26 hours)."""
_SAME_SHIFT = timedelta(minutes=2)
"""Two rows are off alike within so much (our choice: seconds dropped, and a drifting clock)."""


@dataclass(frozen=True)
class FoundPhoto:
    """What a row means: ``place`` in ``photos``, -1 for none.

    ``fits``: whether ``taken`` agrees with that photo, or says nothing; ``off``: where it does not
    agree, by how much; None where it cannot be read.
    """

    place: int
    fits: bool = True
    off: timedelta | None = None


class PhotoFinder:
    """Finds the photo a row of a tag sheet means, on one camera.

    By its path; where nothing lies (or ever lay) there, by path in other case or Unicode form;
    then by file name and time, the corrected or the shown one. Of several pictures that lay at one
    path the time tells which, also where a spreadsheet program wrote it so that it could be read
    in two ways.
    """

    def __init__(self, photos: pd.DataFrame, camera: str) -> None:
        mine = photos[photos["camera"] == camera]
        self._camera = camera
        self._rows: list[int] = mine.index.tolist()
        self._paths: list[str] = mine["path"].tolist()
        self._local = np.asarray(mine["local"].dt.tz_localize(None), dtype="datetime64[us]")
        self._shown = np.asarray(mine["shown"], dtype="datetime64[us]")
        # A file before a row of a CSV, and what lies there now before what was overwritten.
        self._rank = (mine["listed_in"] != "").to_numpy() * 1_000_000 + mine["replaced"].to_numpy()
        self._by_path = _places(self._paths)

    def find(self, photo: str, taken: str) -> FoundPhoto:
        """What a row means."""
        path = photo if photo in self._by_path else plain_path(photo, self._camera)
        found = self._lying_at(path)
        if found and path:
            return self._among(found, taken)
        named = self._by_name.get(_fold_path(posixpath.basename(path)), [])
        at_time = self._at_time(named, possible_moments(taken), taken) if named else []
        return FoundPhoto(self._rows[at_time[0]] if at_time else -1)

    def at_time(self, taken: str) -> FoundPhoto:
        """What a row without a ``photo`` means: the first photo at that time."""
        at_time = self._at_time(range(len(self._rows)), possible_moments(taken), taken)
        return FoundPhoto(self._rows[self._first(at_time)] if at_time else -1)

    def at_path(self, photo: str) -> int:
        """Index in ``photos`` of what lies at a path exactly, or -1."""
        found = self._by_path.get(plain_path(photo, self._camera))
        return self._rows[found[0]] if found else -1

    def times_at(self, photo: str) -> list[datetime]:
        """Corrected local times of the photos that lie or lay at a path, in order."""
        found = self._lying_at(plain_path(photo, self._camera))
        return sorted({_time(self._local[i]).replace(microsecond=0) for i in found})

    def _lying_at(self, path: str) -> list[int]:
        return self._by_path.get(path) or self._by_folded.get(_fold_path(path), [])

    def _first(self, places: Iterable[int]) -> int:
        return min(places, key=lambda i: (self._rank[i], i))

    def _among(self, found: Sequence[int], taken: str) -> FoundPhoto:
        """The photo of one path that a row means."""
        first = self._first(found)
        # As a new row of a photo has it.
        written = str(self._local[first].astype("datetime64[s]")).replace("T", " ")
        if not taken or (len(found) == 1 and written == taken):
            return FoundPhoto(self._rows[first])
        moments = possible_moments(taken)
        if not moments:
            # What nobody can read cannot tell which of several is meant.
            return FoundPhoto(self._rows[first], fits=len(found) == 1)
        at_time = self._at_time(found, moments, taken)
        if at_time:
            return FoundPhoto(self._rows[self._first(at_time)])
        # By how much the time is after each photo's, the corrected or the shown one.
        off, _, nearest = min(
            (
                (moment.time - _time(instant[i]), self._rank[i], i)
                for i in found
                for moment in moments
                for instant in (self._local, self._shown)
            ),
            key=lambda each: (abs(each[0]), *each[1:]),
        )
        return FoundPhoto(self._rows[nearest], fits=abs(off) <= NEAR, off=off)

    def _at_time(
        self, candidates: Sequence[int], moments: Sequence[Moment], taken: str
    ) -> list[int]:
        """Those of some photos that are of one of some times, as exactly as ``taken`` gives it."""
        places = np.asarray(candidates, dtype=np.int64)
        for unit in _units(moments, taken):
            hits = np.zeros(len(places), dtype=bool)
            for moment in moments:
                first = np.datetime64(moment.time, "us")
                for instant in (self._local[places], self._shown[places]):
                    hits |= (instant >= first) & (instant < first + np.timedelta64(unit, "us"))
            if hits.any():
                return [int(place) for place in places[hits]]
        return []

    @cached_property
    def _by_folded(self) -> dict[str, list[int]]:
        return _places(map(_fold_path, self._paths))

    @cached_property
    def _by_name(self) -> dict[str, list[int]]:
        return _places(_fold_path(posixpath.basename(path)) for path in self._paths)


def _places(keys: Iterable[str]) -> dict[str, list[int]]:
    """Where each key stands, in order."""
    places: dict[str, list[int]] = {}
    for i, key in enumerate(keys):
        places.setdefault(key, []).append(i)
    return places


def astray(found: Sequence[FoundPhoto], times: Sequence[pd.Timestamp]) -> list[bool]:
    """Rows of one sheet whose ``taken`` is the time of no photo of their path.

    Not so where the clock was mended since the rows were added: that moves the row before or after
    by as much. ``times`` are of the photo of each, of any kind; not looked at where ``taken`` fits.
    """
    odd = sorted(
        (i for i, each in enumerate(found) if not each.fits and each.off is not None),
        key=lambda i: times[i],
    )
    moved = set()
    for one, other in pairwise(odd):
        first, second = found[one], found[other]
        if first.place == second.place or first.off is None or second.off is None:
            continue
        if abs(first.off - second.off) <= _SAME_SHIFT:
            moved |= {one, other}
    return [not each.fits and i not in moved for i, each in enumerate(found)]


def _units(moments: Sequence[Moment], taken: str) -> tuple[timedelta, ...]:
    """Within what a time is the same: spreadsheet programs drop seconds, or write 00 for them."""
    minute = timedelta(minutes=1)
    if moments and moments[0].whole_day:
        return (timedelta(days=1),)
    if taken.count(":") == 1:
        return (minute,)
    second = timedelta(seconds=1)
    return (second, minute) if moments and moments[0].time.second == 0 else (second,)


def _time(instant: np.datetime64) -> datetime:
    value: datetime = instant.astype(datetime)
    return value


def plain_path(photo: str, camera: str) -> str:
    """A ``photo`` cell as a path below the camera's folder."""
    path = photo.replace("\\", "/")
    while path.startswith("./"):
        path = path[2:]
    return path.removeprefix(f"cards/{camera}/")


def _fold_path(path: str) -> str:
    return unicodedata.normalize("NFC", path).casefold().strip()
