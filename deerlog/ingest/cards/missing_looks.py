"""Looks of pictures without a thumbnail, as many as their camera's clock needs to be judged."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import pandas as pd

from deerlog.ingest.cards.photo_file import WHOLE_BYTES
from deerlog.ingest.cards.picture import look_of_upper_half
from deerlog.ingest.cards.walk import CARDS

ALL_OF, LOOKS_A_CAMERA, LOOKS_IN = 60, 40, 50
"""Of a camera with no more pictures than the first all are decoded, else so many, or one in so many
where that is more. Our choice: with 40 looks an hour's fault is found nearly as often as with all
of 60 pictures (93 of 100 to 98); half a picture of 300 kB takes 3 ms, reading and storing one 0.3
ms, so that it is a fifth of a first ingest from some 2,000 pictures a camera."""
CHANGING_HOURS = (4, 5, 6, 7, 8, 15, 16, 17, 18, 19, 20, 21)
"""Hours in which pictures turn grey or coloured, which are looked at first. Our choice: they hold
whatever the season, and if the clock is an hour or two wrong."""


def missing_looks(files: pd.DataFrame) -> pd.DataFrame:
    """Pictures to be decoded for their look: rows of `stored_files.Stored.files` that have none.

    Which they are follows from the pictures that a camera has, and not from those looked at so far,
    so that it does not matter where a run was interrupted. Left out are the cameras whose flash
    tells day from night. One picture of each week and hour goes before a second one.
    """
    large = (files["kind"] == "photo") & (files["reason"] == "") & (files["size"] > WHOLE_BYTES)
    here = (files["listed_in"] == "") & (files["replaced"] == 0) & ~files["gone"]
    mine = files[large & here & files["shown"].notna()]
    flashes = mine.groupby("camera")["flash"].transform("nunique")
    mine = mine[flashes < 2].sort_values(["camera", "head", "path"])
    week = mine["shown"].dt.strftime("%G %V")
    by_hour = mine.groupby(["camera", week, mine["shown"].dt.hour]).cumcount()
    other = ~mine["shown"].dt.hour.isin(CHANGING_HOURS)
    order = mine.assign(cell=by_hour, other=other).sort_values(["cell", "other"], kind="stable")
    camera = order.groupby("camera")
    n = camera["path"].transform("size")
    quota = (n // LOOKS_IN).clip(lower=LOOKS_A_CAMERA).where(n > ALL_OF, n)
    return order[(camera.cumcount() < quota) & order["look"].isna()]


def read_looks(folder: Path, wanted: pd.DataFrame) -> pd.Series:
    """Looks of pictures, by their labels in ``wanted``, told by their upper half.

    ``folder`` is the property's; a picture that cannot be read or decoded is left out.
    """
    looks: dict[int, float] = {}
    for label, camera, path in wanted[["camera", "path"]].itertuples():
        with suppress(OSError):
            look = look_of_upper_half((folder / CARDS / camera / path).read_bytes())
            if look is not None:
                looks[label] = look
    return pd.Series(looks, dtype="float64")
