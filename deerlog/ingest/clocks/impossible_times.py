"""Photos whose time cannot be true, fault by fault, and the row of clock.csv that mends each.

Photos and videos that do not say when they were taken, only something near it.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.clocks.clock_order import BACK_MINUTES, numbered_series
from deerlog.ingest.clocks.clock_words import mend_run
from deerlog.ingest.clocks.retime import BEFORE_2005, minute_text, run_bounds
from deerlog.ingest.tags.sightings import Touch
from deerlog.property.cell_values import counted

_SLACK = np.timedelta64(round(BACK_MINUTES * 60_000_000), "us")


def impossible_times(
    photos: pd.DataFrame, readings: pd.DataFrame, touch: Touch
) -> Iterator[Problem]:
    """A problem for each stretch of photos from before 2005 or from the future.

    A clock that was reset twice makes two stretches, which need a row each.

    Parameters
    ----------
    photos
        Of `deerlog.ingest.field_log.logged_photos`.
    readings
        `Property.clock_readings`.
    touch
        What the photos touch.
    """
    wrong = photos[(photos["excluded"] != "") & photos["same_as"].isna()]
    for camera in sorted(wrong["camera"].unique()):
        mine = photos[(photos["camera"] == camera) & photos["same_as"].isna()]
        for run in _stretches(mine):
            part = mine.loc[run]
            said = "before 2005" if _reason(part) == BEFORE_2005 else "after the day it was read"
            first, last = part["shown"].min(), part["shown"].max()
            first_path = str(part["path"].iloc[0])
            bounds = run_bounds(part, photos, readings)
            how, row = mend_run(str(camera), first_path, bounds, alone=len(part) == 1)
            touched = touch(part)
            yield Problem(
                kind="impossible-time",
                file="clock.csv",
                value=str(camera),
                why=f"{counted(len(part), 'photo', 'photos')} of {camera} "
                f"{'shows' if len(part) == 1 else 'show'} a time {said} "
                f"({_span(first, last)}, first {first_path}); "
                f"{'it is' if len(part) == 1 else 'they are'} kept, and left out of every figure.",
                how=how,
                harm=touched.visits,
                bucks=touched.bucks,
                camera=str(camera),
                first_day=first.date(),
                last_day=last.date(),
                paste=row,
            )


def _stretches(mine: pd.DataFrame) -> list[list[int]]:
    """Labels of one camera's impossible photos, stretch by stretch, in order of file numbers."""
    cards = numbered_series(mine["path"])
    pieces: list[tuple[list[int], bool, bool]] = []  # the photos; begins its card; ends it
    for _, card in cards.groupby("series", sort=True):
        order = card.sort_values(["folder_number", "number"], kind="stable").index
        if card["number"].min() < 0:
            order = mine.loc[order, "shown"].sort_values(kind="stable").index
        pieces += _pieces(mine.loc[order])
    begins_at = _shown(mine)
    place = dict(zip(mine.index.tolist(), range(len(mine)), strict=True))
    pieces.sort(key=lambda piece: begins_at[place[piece[0][0]]])
    stretches: list[list[int]] = []
    open_end = False
    for labels, begins, ends in pieces:
        # A fault that lasts goes on from the end of one card to the beginning of the next.
        same = stretches and open_end and begins
        if same and _follows(mine.loc[stretches[-1]], mine.loc[labels]):
            stretches[-1] += labels
        else:
            stretches.append(labels)
        open_end = ends
    return stretches


def _pieces(card: pd.DataFrame) -> Iterator[tuple[list[int], bool, bool]]:
    """Runs of one card with one reason in which the time never steps back."""
    reason = card["excluded"].to_numpy(dtype=object)
    back = np.diff(_shown(card)) < -_SLACK
    cuts = np.flatnonzero((reason[1:] != reason[:-1]) | back) + 1
    edges = [0, *cuts.tolist(), len(card)]
    for first, after in pairwise(edges):
        if reason[first]:
            yield card.index[first:after].tolist(), first == 0, after == len(card)


def _follows(before: pd.DataFrame, after: pd.DataFrame) -> bool:
    reason = _reason(before) == _reason(after)
    return reason and bool(_shown(after).min() >= _shown(before).max())


def _reason(run: pd.DataFrame) -> str:
    return str(run["excluded"].iloc[0])


def _shown(photos: pd.DataFrame) -> npt.NDArray[np.datetime64]:
    return np.asarray(photos["shown"], dtype="datetime64[us]")


def _span(first: pd.Timestamp, last: pd.Timestamp) -> str:
    low, high = minute_text(first.to_datetime64()), minute_text(last.to_datetime64())
    return low if low == high else f"{low} to {high}"


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


def lesser_times(photos: pd.DataFrame, readings: pd.DataFrame, touch: Touch) -> Iterator[Problem]:
    """What to know of such times, by camera. Those that clock.csv has set are left out.

    Parameters
    ----------
    photos
        Of `deerlog.ingest.field_log.logged_photos`.
    readings
        `Property.clock_readings`.
    touch
        What the photos touch.
    """
    lesser = photos[photos["time_source"].isin(_LESSER)]
    if lesser.empty:
        return
    open_ones = lesser[lesser["same_as"].isna() & ~lesser["by_row"] & (lesser["excluded"] == "")]
    for source, (kind, words, time) in _LESSER.items():
        of_source = open_ones[open_ones["time_source"] == source]
        for camera, group in of_source.groupby("camera", sort=True):
            touched = touch(group)
            first = str(group["path"].iloc[0])
            bounds = run_bounds(group.iloc[:1], photos, readings)
            how, row = mend_run(str(camera), first, bounds, alone=True)
            yield Problem(
                kind=kind,
                file=f"cards/{camera}",
                value=first,
                why=f"{counted(len(group), *words)} of {camera} (first {first}) "
                f"{'gives' if len(group) == 1 else 'give'} {time}",
                how=f"Look at one that you know the time of. If it is wrong: {how}",
                must_mend=False,
                harm=touched.visits,
                bucks=touched.bucks,
                camera=str(camera),
                paste=row,
            )
