"""A row of clock.csv: what it would move, and how it is written."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from deerlog.property.row_words import csv_line

ACTUAL = "<real local time>"
SHOWN = "<what it showed>"
_SECOND = np.timedelta64(1_000_000, "us")
_FIRST, _LAST = np.datetime64("0001-01-01", "us"), np.datetime64("9999-12-31", "us")


@dataclass(frozen=True)
class RunBounds:
    """A run of photos as clock.csv can name it, by what the camera showed (naive).

    Attributes
    ----------
    shown
        At the first photo of the run.
    opens, closes
        Half-open bounds, from the earliest photo of the run to a second after the latest.
    n_others
        Other photos of the camera within them, which a row would move too.
    instead_of
        Rows of clock.csv (line numbers) that would have a say in it before a new one.
    """

    shown: np.datetime64
    opens: np.datetime64
    closes: np.datetime64
    n_others: int
    instead_of: tuple[int, ...]


def run_bounds(run: pd.DataFrame, photos: pd.DataFrame, readings: pd.DataFrame) -> RunBounds:
    """What a row of clock.csv for a run of photos would name.

    Parameters
    ----------
    run
        The photos, all of one camera, in order of their numbers: rows of ``photos``.
    photos
        Of `deerlog.ingest.logged_photos.logged_photos`: all of them.
    readings
        `Property.clock_readings`.
    """
    shown = np.asarray(run["shown"], dtype="datetime64[us]")
    opens, closes = shown.min(), shown.max() + _SECOND
    camera = str(run["camera"].iloc[0])
    within = (photos["shown"] >= opens) & (photos["shown"] < closes)
    others = photos[(photos["camera"] == camera) & photos["same_as"].isna() & within]
    return RunBounds(
        shown=shown[0],
        opens=opens,
        closes=closes,
        n_others=int((~others.index.isin(run.index)).sum()),
        instead_of=rows_before(readings, camera, opens, closes),
    )


def rows_before(
    readings: pd.DataFrame, camera: str, opens: np.datetime64, closes: np.datetime64
) -> tuple[int, ...]:
    """Line numbers of a camera's rows in clock.csv that a new row would not overrule.

    Of rows that apply to a photo the one with the narrowest bounds counts alone (see
    `deerlog.ingest.clocks.retime.clock_shift`), so that a wider row may stay where it is.

    Parameters
    ----------
    opens, closes
        Bounds of the new row, NaT for none.
    """
    mine = readings[readings["camera"] == camera]
    first = mine["valid_from"].fillna(pd.Timestamp(_FIRST))
    after = mine["valid_to"].fillna(pd.Timestamp(_LAST))
    low = pd.Timestamp(_FIRST if np.isnat(opens) else opens)
    high = pd.Timestamp(_LAST if np.isnat(closes) else closes)
    before = (first < high) & (after > low) & (after - first <= high - low)
    return tuple(int(row) for row in mine.loc[before, "row"])


def clock_row(
    camera: str,
    *,
    shown: np.datetime64 | None = None,
    actual: np.datetime64 | None = None,
    opens: np.datetime64 | None = None,
    closes: np.datetime64 | None = None,
) -> str:
    """A line of clock.csv; what only a person can know in ``<>``."""
    return csv_line(
        camera,
        minute_text(shown) or SHOWN,
        minute_text(actual) or ACTUAL,
        minute_text(opens),
        minute_text(closes),
    )


def minute_text(moment: np.datetime64 | None) -> str:
    """``2024-11-03 02:00``, seconds only where there are any; blank for none and NaT."""
    if moment is None or np.isnat(moment):
        return ""
    stamp = pd.Timestamp(moment)
    return stamp.strftime("%Y-%m-%d %H:%M:%S" if stamp.second else "%Y-%m-%d %H:%M")
