"""Photos whose time cannot be true, fault by fault, and the row of clock.csv that mends each.

And photos and videos that do not say when they were taken, only something near it.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.clocks.clock_order import SLACK, numbered_series
from deerlog.ingest.clocks.clock_problems import Finding
from deerlog.ingest.clocks.clock_words import mend_run, minute_text, span_in_words
from deerlog.ingest.clocks.retime import BEFORE_2005
from deerlog.property.cell_values import counted


def impossible_times(photos: pd.DataFrame, readings: pd.DataFrame) -> Iterator[Finding]:
    """A problem for each stretch of photos from before 2005 or from the future.

    A clock that was reset twice makes two stretches, which need a row each.

    Parameters
    ----------
    photos
        Of `deerlog.ingest.field_log.logged_photos`.
    readings
        `Property.clock_readings`.
    """
    counts = photos[photos["same_as"].isna()]
    wrong = counts[counts["excluded"] != ""]
    for camera in sorted(wrong["camera"].unique()):
        mine = counts[counts["camera"] == camera]
        for run in _stretches(mine):
            part = mine.loc[run]
            said = "before 2005" if _reason(part) == BEFORE_2005 else "after the day it was read"
            first, last = part["shown"].min(), part["shown"].max()
            times = span_in_words(minute_text(first), minute_text(last))
            how, row = mend_run(part, photos, readings)
            shows, they = ("shows", "it is") if len(part) == 1 else ("show", "they are")
            yield (
                Problem(
                    kind="impossible-time",
                    file="clock.csv",
                    value=str(camera),
                    why=f"{counted(len(part), 'photo', 'photos')} of {camera} {shows} a time "
                    f"{said} ({times}, first {part['path'].iloc[0]}); {they} kept, and left out of "
                    "every figure.",
                    how=how,
                    camera=str(camera),
                    first_day=first.date(),
                    last_day=last.date(),
                    paste=row,
                ),
                part,
            )


def _stretches(mine: pd.DataFrame) -> list[list[int]]:
    """Labels of one camera's impossible photos, stretch by stretch, in order of file numbers."""
    pieces: list[tuple[pd.DataFrame, bool, bool]] = []  # the photos; begins its card; ends it
    cards = mine.join(numbered_series(mine["path"]))
    for _, card in cards.groupby("series", sort=True):
        by = ["shown"] if card["number"].min() < 0 else ["folder_number", "number"]
        pieces += _pieces(
            card.sort_values(["folder_number", "number"]).sort_values(by, kind="stable")
        )
    pieces.sort(key=lambda piece: piece[0]["shown"].iloc[0])
    stretches: list[list[int]] = []
    last, open_end = None, False
    for piece, begins, ends in pieces:
        # A fault that lasts goes on from the end of one card to the beginning of the next.
        if (
            last is not None
            and open_end
            and begins
            and _reason(piece) == _reason(last)
            and piece["shown"].min() >= last["shown"].max()
        ):
            stretches[-1] += piece.index.tolist()
            last = pd.concat([last, piece])
        else:
            stretches.append(piece.index.tolist())
            last = piece
        open_end = ends
    return stretches


def _pieces(card: pd.DataFrame) -> Iterator[tuple[pd.DataFrame, bool, bool]]:
    """Runs of one card with one reason in which the time never steps back."""
    reason = card["excluded"].to_numpy(dtype=object)
    back = np.diff(np.asarray(card["shown"], dtype="datetime64[us]")) < -SLACK
    cuts = np.flatnonzero((reason[1:] != reason[:-1]) | back) + 1
    for first, after in pairwise([0, *cuts.tolist(), len(card)]):
        if reason[first]:
            yield card.iloc[first:after], first == 0, after == len(card)


def _reason(run: pd.DataFrame) -> str:
    return str(run["excluded"].iloc[0])


# By time_source: the slug, what they are, and what the time is that they have.
_LESSER = {
    "changed": (
        "time-of-change",
        ("photo", "photos"),
        "only the time of the file's last change, which may be later than the picture; it is used.",
    ),
    "container": (
        "time-of-container",
        ("video", "videos"),
        "the time in the container. The standard (ISO/IEC 14496-12) says that is UTC, but cameras "
        "that know no zone write what their clock shows; it is taken for that.",
    ),
}


def lesser_times(photos: pd.DataFrame, readings: pd.DataFrame) -> Iterator[Finding]:
    """Photos that say only something near their time, by camera; not those clock.csv has set."""
    open_ones = photos[photos["same_as"].isna() & ~photos["by_row"] & (photos["excluded"] == "")]
    for source, (kind, words, time) in _LESSER.items():
        of_source = open_ones[open_ones["time_source"] == source]
        for camera, group in of_source.groupby("camera", sort=True) if len(of_source) else ():
            first = str(group["path"].iloc[0])
            how, row = mend_run(group.iloc[:1], photos, readings)
            yield (
                Problem(
                    kind=kind,
                    file=f"cards/{camera}",
                    value=first,
                    why=f"{counted(len(group), *words)} of {camera} (first {first}) "
                    f"{'gives' if len(group) == 1 else 'give'} {time}",
                    how=f"Look at one that you know the time of. If it is wrong: {how}",
                    must_mend=False,
                    camera=str(camera),
                    paste=row,
                ),
                group,
            )
