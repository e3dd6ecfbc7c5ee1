"""Cards that were copied over earlier ones: pictures of one name, of which the later is left."""

from __future__ import annotations

from collections.abc import Iterator

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.tags.touched import Touch
from deerlog.property.row_words import counted, days_in_words


def overwritten_photos(photos: pd.DataFrame) -> pd.DataFrame:
    """Photos whose file was replaced by another picture, and that are on the disk nowhere else.

    Parameters
    ----------
    photos
        Of `deerlog.ingest.logged_photos.logged_photos`.
    """
    gone = photos["gone"].astype(bool)
    file = photos["listed_in"] == ""
    lost = file & (photos["replaced"] > 0) & gone & photos["same_as"].isna()
    # A copy in a folder of no camera does not count in its place, but it is the picture.
    elsewhere = photos.loc[file & ~gone & photos["same_as"].notna(), "same_as"]
    return photos[lost & ~photos["photo_id"].isin(elsewhere)]


def overwritten_problems(photos: pd.DataFrame, touch: Touch) -> Iterator[Problem]:
    """What to know of such photos, by camera."""
    lost = overwritten_photos(photos)
    if lost.empty:
        return
    for camera, group in lost.groupby("camera", sort=True):
        touched = touch(group)
        one = len(group) == 1
        yield Problem(
            kind="photos-overwritten",
            file=f"cards/{camera}",
            value=str(group["path"].iloc[0]),
            why=f"{counted(len(group), 'photo', 'photos')} of {camera} "
            f"({days_in_words(group['local'])}, first {group['path'].iloc[0]}) "
            f"{'was' if one else 'were'} overwritten by {'another' if one else 'others'} of the "
            f"same {'name' if one else 'names'}: it looks as if a card was copied over an earlier "
            "one. "
            f"{'It stays' if one else 'They stay'} in the log with "
            f"{'its time and its tag' if one else 'their times and tags'}, but the "
            f"{'picture is' if one else 'pictures are'} no longer on the disk.",
            how="Copy each card into a folder of its own, such as "
            f"cards/{camera}/{pd.Timestamp(group['local'].max()).date()}/. The file numbers of the "
            "folder now tell no order, so they are not held against the clock.",
            must_mend=False,
            harm=touched.visits,
            bucks=touched.bucks,
            camera=str(camera),
        )
