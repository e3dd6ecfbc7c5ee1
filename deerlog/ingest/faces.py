"""Pictures to know each buck by: those he was tagged in as sure."""

from __future__ import annotations

import numpy as np
import pandas as pd

from deerlog.ingest.field_log import TaggedLog
from deerlog.ingest.to_tag import files_on_disk
from deerlog.property import Property
from deerlog.timekeeping.sun import sun_height

TRIED = 12
"""Pictures of one buck that are given, of which some may not open (our choice)."""
_HORIZON = -0.833  # height of the sun's centre at sunrise and sunset, see `sun_times`


def known_faces(tagged: TaggedLog, place: Property) -> dict[str, list[str]]:
    """For each buck of bucks.csv files he was tagged in as sure, the best to know him by first.

    The newest season first, then by year; in a season those in shooting light first, of these
    those with no other buck, of these the newest. One a visit, from the property folder.
    """
    tags, photos = tagged.tags, tagged.photos
    rows = tags.table[tags.table["visit"] >= 0]
    said = [
        (photo_id, visit, buck, len(tags.cells[text].names))
        for photo_id, visit, text in zip(
            *(rows[name].tolist() for name in ("photo_id", "visit", "bucks")), strict=True
        )
        for name in tags.cells[text].names
        if not name.unsure and (buck := tags.known.listed(name.name))
    ]
    if not said:
        return {}
    found = pd.DataFrame(said, columns=["photo_id", "visit", "buck", "bucks"])
    about = photos[["photo_id", "kind", "same_as", "time", "local"]]
    found = found.merge(about[about["kind"] == "photo"], on="photo_id")
    original = found["same_as"].fillna(found["photo_id"]).astype("int64")
    copies = photos["same_as"].fillna(photos["photo_id"]).isin(original)
    found["file"] = original.map(files_on_disk(photos[copies]))
    found = found[found["file"].notna()]
    settings = place.settings
    up = np.zeros(len(found), dtype=bool)
    for minutes in (settings.light_before_sunrise_minutes, -settings.light_after_sunset_minutes):
        at = pd.DatetimeIndex(found["time"]).tz_localize(None) + pd.Timedelta(minutes=minutes)
        up |= sun_height(settings.latitude, settings.longitude, at) > _HORIZON
    found = found.assign(
        season=settings.calendar.season_of(found["local"].dt.tz_localize(None)),
        dark=~up,
    )
    found = found.sort_values(
        ["season", "dark", "bucks", "time"], ascending=[False, True, True, False], kind="stable"
    ).drop_duplicates(["buck", "visit"])
    best = found.groupby("buck", sort=True)["file"].apply(lambda files: files.head(TRIED).tolist())
    return {str(buck): files for buck, files in best.items()}
