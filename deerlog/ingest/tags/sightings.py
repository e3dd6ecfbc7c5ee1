"""Visits and sightings: what the photos and the tag sheets say together."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from deerlog.ingest.tags.tag_cells import BucksCell, read_bucks_cell
from deerlog.ingest.tags.tags import TagRows
from deerlog.property import Property
from deerlog.property.matching import BuckNames


def read_cells(tags: TagRows, known: BuckNames) -> dict[str, BucksCell]:
    """Every different ``bucks`` cell of the tag sheets, understood."""
    return {text: read_bucks_cell(text, known) for text in tags.table["bucks"].unique()}


def visit_table(
    photos: pd.DataFrame, tags: TagRows, cells: Mapping[str, BucksCell], place: Property
) -> pd.DataFrame:
    """Every visit, one row each, in order of its number.

    Returns
    -------
    DataFrame
        ``visit``; ``site``; ``camera`` of its first photo; ``setting`` and ``bait`` of where that
        stood; ``first`` and ``last`` (local, aware); ``photos``, copies not counted; ``photo_id``
        of the first; ``tagged``: someone looked at it; ``others``: whatever else its rows name;
        ``file`` and ``row`` of its first row in a tag sheet (``""`` and NA if it has none).
    """
    counts = photos[(photos["visit"] >= 0) & photos["same_as"].isna()]
    counts = counts.sort_values(["visit", "time", "photo_id"], kind="stable")
    first = counts.drop_duplicates("visit", keep="first").reset_index(drop=True)
    last = counts.drop_duplicates("visit", keep="last").reset_index(drop=True)
    number = first["visit"].to_numpy()
    placed = place.placements.iloc[first["placement"].to_numpy()]
    looked_at = np.array(
        [cells[text].looked_at for text in tags.table["bucks"].tolist()], dtype=bool
    )
    rows = tags.table[tags.table["visit"] >= 0].drop_duplicates("visit").set_index("visit")
    rows = rows.reindex(number)
    table = pd.DataFrame(
        {
            "visit": number,
            "site": first["site"],
            "camera": first["camera"],
            "setting": placed["setting"].astype("str").to_numpy(),
            "bait": placed["bait"].to_numpy(dtype=bool),
            "first": first["local"],
            "last": last["local"],
            "photos": np.bincount(counts["visit"].to_numpy(), minlength=len(first))[number],
            "photo_id": first["photo_id"],
            "tagged": np.isin(number, tags.table["visit"].to_numpy()[looked_at]),
            "others": _others_by_visit(tags.table).reindex(number, fill_value="").to_numpy(),
            "file": rows["file"].fillna("").astype("str").to_numpy(),
            "row": pd.array(rows["row"].to_numpy(), dtype="Int64"),
        }
    )
    return table.astype({"others": "str"})


def _others_by_visit(rows: pd.DataFrame) -> pd.Series:
    said = rows[(rows["visit"] >= 0) & (rows["others"] != "")]
    # Joined by hand, as below.
    each: dict[int, dict[str, None]] = {}
    for visit, text in zip(said["visit"].tolist(), said["others"].tolist(), strict=True):
        each.setdefault(visit, {})[text] = None
    return pd.Series({visit: "; ".join(texts) for visit, texts in each.items()}, dtype="object")


def sighting_table(
    photos: pd.DataFrame,
    visits: pd.DataFrame,
    tags: TagRows,
    cells: Mapping[str, BucksCell],
    known: BuckNames,
) -> pd.DataFrame:
    """Every buck in every visit he was tagged in, one row each.

    Returns
    -------
    DataFrame
        In order of buck and time: ``buck`` (aliases merged); ``site, camera, setting, bait`` and
        ``visit``; ``local``: time of his first tagged photo in it; ``photos``: his tagged photos
        in it; ``unsure``: every tag of his in it has a ``?``; ``others``: whatever else the
        rows name.
    """
    rows = tags.table[tags.table["visit"] >= 0]
    number: list[int] = []
    bucks: list[str] = []
    unsure: list[bool] = []
    for place, text in zip(rows.index.tolist(), rows["bucks"].tolist(), strict=True):
        for tagged in cells[text].names:
            number.append(place)
            bucks.append(known.canonical(tagged.name))
            unsure.append(tagged.unsure)
    named = rows.loc[number, ["visit", "photo_id", "others"]].reset_index(drop=True)
    named["buck"] = pd.Series(bucks, dtype="str")
    named["unsure"] = np.array(unsure, dtype=bool)
    named["local"] = photos["local"].take(named["photo_id"].to_numpy()).reset_index(drop=True)
    named = named.sort_values(["buck", "local", "visit"], kind="stable")
    each = named.groupby(["buck", "visit"], sort=False, as_index=False).agg(
        local=("local", "first"),
        photos=("photo_id", "nunique"),
        unsure=("unsure", "all"),
    )
    # Joined by hand: a function called for each group is slow.
    said = named[named["others"] != ""]
    together: dict[tuple[str, int], dict[str, None]] = {}
    for buck, visit, text in zip(said["buck"], said["visit"], said["others"], strict=True):
        together.setdefault((buck, visit), {})[text] = None
    each["others"] = [
        "; ".join(together.get(key, ())) for key in zip(each["buck"], each["visit"], strict=True)
    ]
    each["others"] = each["others"].astype("str")
    about = visits.set_index("visit")[["site", "camera", "setting", "bait"]]
    table = each.join(about, on="visit")
    columns = ["buck", "site", "camera", "setting", "bait", "local", "visit"]
    return table[[*columns, "photos", "unsure", "others"]].reset_index(drop=True)
