"""Photos and videos that do not say when they were taken, only something near it."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.clocks.clock_row import run_bounds
from deerlog.ingest.clocks.clock_words import mend_run
from deerlog.ingest.tags.touched import Touch
from deerlog.property.row_words import counted

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
        Of `deerlog.ingest.logged_photos.logged_photos`.
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
