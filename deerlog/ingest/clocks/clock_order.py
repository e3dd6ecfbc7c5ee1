"""Time against a camera's own file numbers: clocks that ran backwards, jumped or were reset.

Cameras number files from 0001 to 9999 and begin again, mostly in the next folder: DCIM/100AAAAA,
DCIM/101AAAAA (JEITA CP-3461, Design rule for Camera File system 2.0; from memory).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pandas as pd

from deerlog.ingest.clocks.look_model import Bools, Instants
from deerlog.ingest.clocks.shift_path import clock_nights

HIGHEST = 9999
"""The last number before a camera begins again at 0001 (JEITA CP-3461; from memory)."""
# --- What is fixed by judgement, with its reason ------------------------------------------------
ROLL_OVER_GAP = 2000
"""Where one folder holds numbers near both ends and none over so wide a stretch between, it was
filled across the roll-over. Our choice."""
BACK_MINUTES = 2.0
"""A step back by less is no fault: pictures of one burst may be written out of turn. Our choice."""
JUMP_DAYS = 60.0
"""A step forward by more within one card is worth a question. Our choice: cards are pulled every
few weeks, and a camera seldom takes nothing for two months and then goes on."""
RESET_MINUTES = 60.0
"""A card that begins within this of midnight on 1 January began with a clock at its factory date.
Our choice; a real photo in that hour as the first of a card is one chance in 8,760."""
RESET_DAYS = 2.0
"""After a step back a stretch that begins so soon after a 1 January is a reset too. Our choice:
the first deer may come a day after the battery was changed."""
UNORDERED = (0.05, 5)
"""Where more than this share of steps, and at least so many, go back, the numbers are no order at
all (photos renamed by hand): only resets are reported. Our choice."""
NEXT_NUMBERS = 3
"""A jump counts between files numbered no farther apart (a deleted picture or two between). Our
choice."""

SLACK = np.timedelta64(round(BACK_MINUTES * 60_000_000), "us")

# A stem ending in three to five digits after something that is no digit and holds no date.
_STEM = r"^(?P<prefix>(?:.*\D)?)(?P<digits>\d{3,5})$"
_DATE_IN_PREFIX = r"\d{6}|\d{4}[-_.]\d{2}[-_.]\d{2}"
_NUMBERED_FOLDER = r"^(?P<number>[1-9]\d\d)[0-9A-Za-z_]{5}$"


def numbered_series(path: pd.Series) -> pd.DataFrame:
    """The card, folder number and file number of each photo, index of ``path``.

    ``path``: below one or more cameras' folders, with ``/``. ``series``: files numbered together:
    those of one card (numbered folders side by side are one) and, for names of another form than
    four letters and four digits, of one prefix; ``folder_number`` (0 where the folder has none),
    ``number`` (-1 where the name has none; past the roll-over within one folder counted on from
    10,000).
    """
    parent, stem = _split(path.astype(str))
    stem = stem.str.replace(r"\.[^.]*$", "", regex=True)
    above, own = _split(parent)
    folder_number = own.str.extract(_NUMBERED_FOLDER)["number"]
    folder = parent.where(folder_number.isna(), above)

    found = stem.str.extract(_STEM)
    dated = found["prefix"].fillna("").str.contains(_DATE_IN_PREFIX, regex=True)
    has_number = found["digits"].notna() & ~dated
    number = found["digits"].where(has_number).astype("float64").fillna(-1).astype("int64")
    # Names of the standard form share one counter between pictures and videos (IMG_, VID_).
    standard = (found["prefix"].str.len() == 4) & (found["digits"].str.len() == 4)
    prefix = found["prefix"].where(~standard, "").where(has_number, "/").fillna("/")
    result = pd.DataFrame(
        {
            # No name holds a "/", so that folder and prefix cannot run into each other.
            "series": (folder + "/" + prefix).astype(str),
            "folder_number": folder_number.fillna("0").astype("int64"),
            "number": number,
        }
    )
    by = [parent.astype(str), "series"]
    groups = result.groupby(by)["number"]
    wide = groups.transform("max") - groups.transform("min") >= HIGHEST - ROLL_OVER_GAP
    for _, rows in result[wide].groupby(by):
        # Those of one folder after a roll-over are counted on from 10,000.
        numbers = np.unique(rows["number"])
        gap = np.diff(numbers)
        if numbers[0] >= 0 and numbers[-1] <= HIGHEST and gap.max(initial=0) >= ROLL_OVER_GAP:
            late = rows.index[rows["number"] <= numbers[int(gap.argmax())]]
            result.loc[late, "number"] += HIGHEST + 1
    return result


def _split(path: pd.Series) -> tuple[pd.Series, pd.Series]:
    """What stands before and after the last ``/``."""
    parts = path.str.extract(r"^(?:(?P<above>.*)/)?(?P<own>[^/]*)$")
    return parts["above"].fillna("").astype(str), parts["own"].fillna("").astype(str)


@dataclass(frozen=True)
class OrderFinding:
    """A run of photos on one card whose times do not fit their numbers.

    ``kind``: ``"reset"`` (begins at a 1 January), ``"backwards"`` (out of order against more photos
    before or after), or ``"jump"`` (months forward in one step; may be true, worth a look).
    ``rows``: labels of the index of the table asked about, in order of file numbers. ``before``,
    ``after``: those of the photos numbered next before and after; None at the card's ends.
    """

    kind: str
    rows: tuple[int, ...]
    before: int | None
    after: int | None


def order_findings(photos: pd.DataFrame, *, zone: str) -> list[OrderFinding]:
    """Runs of photos whose times do not fit the camera's own numbering, by camera, folder, number.

    Each card (the numbered folders of one dump), its pictures and its videos apart since these may
    have a counter of their own, is cut where the time steps back or far forward, and stretches that
    begin at a factory date are set aside. Of the rest, the longest run of photos whose time never
    steps back is taken for right, and the others are reported.

    ``photos``: columns ``camera``, ``path`` (below ``cards/<camera>/``, with ``/``) and ``shown``
    (naive ``datetime64``: what the camera showed, or should have shown where clock.csv says so);
    rows with NaT are not used. Copies of one picture, and impossible times, are best left out by
    the caller. ``kind``, if any, tells pictures from videos. Where a column ``replaced`` marks
    pictures that others of the same name have replaced, the numbers of their folder are those of
    two cards, and no order; nor are they where one folder holds a number twice. ``zone`` (IANA): on
    the night clocks go back a step back by that hour is right.
    """
    known = photos[photos["shown"].notna()]
    known = known.join(numbered_series(known["path"]))
    findings: list[OrderFinding] = []
    by = [known["camera"].astype(str), "series", *(["kind"] if "kind" in known else [])]
    for _, card in known.groupby(by):
        two = card["replaced"].any() if "replaced" in card else False
        if two or card[["folder_number", "number"]].duplicated().any():
            card = card.assign(number=-1)
        card = card.sort_values(["folder_number", "number"], kind="stable")
        findings += _card_findings(card, zone)
    return findings


def _card_findings(card: pd.DataFrame, zone: str) -> Iterator[OrderFinding]:
    """The findings of one card, its photos in order of their numbers (-1: without one)."""
    shown = np.asarray(card["shown"], dtype="datetime64[us]")
    back = np.diff(_without_clock_change(shown, zone)) < -SLACK
    share, least = UNORDERED
    if card["number"].min() < 0 or (back.sum() >= least and back.mean() > share):
        card = card.sort_values("shown", kind="stable").assign(number=-1)
        shown = np.asarray(card["shown"], dtype="datetime64[us]")
        back = np.zeros(len(card) - 1, dtype=bool)
    number = card["number"].to_numpy()
    far = np.diff(shown) > np.timedelta64(round(JUMP_DAYS * 86_400), "s")
    cuts = np.concatenate(([0], np.flatnonzero(back | far) + 1, [len(shown)])).tolist()
    kind = np.full(len(shown), "", dtype=object)
    for first, after in pairwise(cuts):
        # How soon after a 1 January a stretch must begin to have begun with a reset clock.
        soon = RESET_MINUTES if first == 0 else RESET_DAYS * 1440 if back[first - 1] else -1
        at = (shown[first] - shown[first].astype("datetime64[Y]")) / np.timedelta64(1, "m")
        if at <= soon:
            kind[first:after] = "reset"
    rest = np.flatnonzero(kind == "")
    kind[rest[~_longest_order(_without_clock_change(shown, zone)[rest])]] = "backwards"
    close = (number[:-1] >= 0) & (np.diff(number) <= NEXT_NUMBERS)
    jump = np.flatnonzero(far & close & (kind[:-1] == "") & (kind[1:] == "")) + 1
    for first in jump:
        later = np.flatnonzero(kind[first:] != "")
        kind[first : first + later[0] if len(later) else len(kind)] = "jump"
    # A step back within a run is where the clock was reset once more.
    border = np.flatnonzero((kind[1:] != kind[:-1]) | back) + 1
    edges = np.unique(np.concatenate(([0], border, jump, [len(kind)]))).astype(int).tolist()
    label = [None, *card.index.tolist(), None]
    for a, b in pairwise(edges):
        if kind[a]:
            yield OrderFinding(str(kind[a]), tuple(label[a + 1 : b + 1]), label[a], label[b + 1])


def _without_clock_change(shown: Instants, zone: str) -> Instants:
    """Times in which the hour that a camera rightly goes back on a clock night does not show."""
    step = np.diff(shown)
    small = np.flatnonzero((step < -SLACK) & (step > -np.timedelta64(70, "m")))
    if len(small) == 0:
        return shown
    nights, moved = clock_nights(shown.min(), shown.max(), zone)
    nights = nights[moved < 0]
    added = np.zeros(len(shown), dtype="timedelta64[us]")
    for i in small:
        # A wall clock is within a day of UTC in any zone: near enough for the one night a year
        # on which an hour back is right.
        if (np.abs(nights - shown[i]) <= np.timedelta64(24, "h")).any():
            added[i + 1 :] += np.timedelta64(60, "m")
    return shown + added


def _longest_order(time: Instants) -> Bools:
    """Which photos belong to the longest run, in their order, whose time never steps back.

    The longest non-decreasing subsequence (patience sorting). A photo left out that is no more
    than `BACK_MINUTES` from the one before it counts as in order.
    """
    us = time.astype(np.int64).tolist()
    ends: list[int] = []  # latest time of the best run of each length
    at: list[int] = []  # the photo it ends with
    before = [-1] * len(us)
    for i, moment in enumerate(us):
        place = bisect_right(ends, moment)
        before[i] = at[place - 1] if place else -1
        ends[place : place + 1] = [moment]
        at[place : place + 1] = [i]
    inside = np.zeros(len(us), dtype=bool)
    i = at[-1] if at else -1
    while i >= 0:
        inside[i] = True
        i = before[i]
    for i in np.flatnonzero(~inside).tolist():
        near = [j for j in (i - 1, i + 1) if 0 <= j < len(us)]
        inside[i] = any(inside[j] and abs(time[j] - time[i]) <= SLACK for j in near)
    return inside
