"""A property as it was known at the end of a day: what happened later is cut off before anything
is worked out, so that no finding, name or figure rests on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd

from deerlog.ingest.field_log import (
    FieldLog,
    TaggedLog,
    logged_photos,
    read_stored,
    tagged_log,
    tied,
    whole_field_log,
)
from deerlog.ingest.store.stored_files import PICTURES
from deerlog.ingest.tags.tags import TagSheet, tag_paths
from deerlog.property import Property
from deerlog.property.day_and_time import possible_moments


def read_field_log_as_of(place: Property, day: date) -> tuple[Property, FieldLog]:
    """The property and its record without what came after ``day``: photos and the rows of the tag
    sheets by the photo's time; unreadable files, which have none, by the picture before them on the
    card; rows of the tables by their dates; and of bucks.csv who was named in later tags alone.

    Which photo is later is told with the clocks as they are known today. StoreError as for
    `deerlog.ingest.field_log.read_field_log`.
    """
    stored = read_stored(place)
    today = tagged_log(stored.files, place)
    after = pd.Timestamp(day + timedelta(days=1))
    late = (today.photos["local"] >= after.tz_localize(place.settings.timezone)).to_numpy()
    place = place.known_by(day)
    sheets = _cut_sheets(today, late, after)
    files = stored.files
    picture = np.flatnonzero(files["kind"].isin(PICTURES))
    when = pd.Series(late, index=picture, dtype="boolean").reindex(range(len(files)))
    beside = when.groupby(files["camera"])
    gone = when.fillna(beside.ffill()).fillna(beside.bfill()).fillna(False).to_numpy(dtype=bool)
    known = replace(
        stored,
        files=files[~gone].reset_index(drop=True),
        outcome="" if late.any() else stored.outcome,
    )
    photos = logged_photos(
        known.files, place, tag_paths(s for s in sheets if s.saved_page or not s.in_workbook)
    )
    cut = tied(photos, place, sheets)
    named = set(cut.tags.bucks(cut.tags.table)).union(
        *place.sits["bucks_seen"], *place.sits["bucks_unsure"]
    )
    later = set(today.tags.bucks(today.tags.table)) - named
    bucks = place.bucks[~place.bucks["buck"].isin(later)].reset_index(drop=True)
    return replace(place, bucks=bucks), whole_field_log(known, cut, place)


def _cut_sheets(tagged: TaggedLog, late: np.ndarray, after: pd.Timestamp) -> Sequence[TagSheet]:
    """The tag sheets without the rows of later photos; ``late``: of each photo whether it is.

    A row whose photo is not known goes by its ``taken``, where that can only mean a later time.
    """
    table = tagged.tags.table
    place = table["photo_id"].to_numpy()
    is_late = np.append(late, False)[place]
    for row in np.flatnonzero(place < 0):
        times = [moment.time for moment in possible_moments(table["taken"].iloc[row])]
        is_late[row] = bool(times) and min(times) >= after
    rows = table[is_late].groupby("file")["row"].agg(set)
    return [
        replace(
            sheet,
            table=replace(
                sheet.table,
                frame=sheet.table.frame[~sheet.table.frame["row"].isin(rows[sheet.file])],
            ),
        )
        if sheet.table is not None and sheet.file in rows
        else sheet
        for sheet in tagged.tags.sheets
    ]
