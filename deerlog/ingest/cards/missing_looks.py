"""Looks of pictures without a thumbnail, as many as their camera's clock needs to be judged."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

import pandas as pd

from deerlog.ingest.cards.photo_file import WHOLE_BYTES
from deerlog.ingest.cards.picture import look_of, upper_half
from deerlog.ingest.cards.walk import CARDS

LOOKS_A_CAMERA, LOOKS_IN = 40, 100
"""So many pictures of a camera, and one in so many of all it has, are decoded. Our choice: half a
picture of 300 kB takes 3 ms, and reading and storing one 0.4 ms, so that this takes at most a fifth
of a large first ingest."""
CHANGING_HOURS = (4, 5, 6, 7, 8, 15, 16, 17, 18, 19, 20, 21)
"""Hours in which pictures turn grey or coloured, which are looked at first. Our choice: they hold
whatever the season, and if the clock is an hour or two wrong."""


def missing_looks(files: pd.DataFrame) -> pd.DataFrame:
    """Pictures to be decoded for their look: rows of ``files`` whose look is not known.

    Which they are follows from the pictures that a camera has, and not from those looked at so far,
    so that it does not matter where a run was interrupted. Left out are the cameras whose flash
    tells day from night. One picture of each week and hour goes before a second one.

    Parameters
    ----------
    files
        Of `deerlog.ingest.store.stored_files.Stored`.
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
    quota = LOOKS_A_CAMERA + camera["path"].transform("size") // LOOKS_IN
    return order[(camera.cumcount() < quota) & order["look"].isna()]


def read_looks(folder: Path, wanted: pd.DataFrame) -> pd.Series:
    """Looks of pictures, by their labels in ``wanted``, told by their upper half.

    ``folder`` is the property's; a picture that cannot be read or decoded is left out.
    """
    looks: dict[int, float] = {}
    for label, camera, path in wanted[["camera", "path"]].itertuples():
        with suppress(OSError):
            look = look_of(upper_half((folder / CARDS / camera / path).read_bytes()))
            if look is not None:
                looks[label] = look
    return pd.Series(looks, dtype="float64")
