"""Photos into visits: a gap longer than allowed starts a new one.

Visits and sightings: what the photos and the tag sheets say together.

How many visits some photos belong to, or would, and whose they are.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.ingest.tags.tags import BucksCell, TagRows, read_bucks_cell
from deerlog.property import Property
from deerlog.property.matching import BuckNames


def visit_numbers(
    site: npt.NDArray[np.object_], time: npt.NDArray[np.datetime64], gap_minutes: float
) -> npt.NDArray[np.int64]:
    """Number of the visit each photo belongs to, from 0, in order of site and time.

    Parameters
    ----------
    site
        Site of each photo, shape (n,).
    time
        Instant of each photo (UTC, naive ``datetime64``), shape (n,), in any order.
    gap_minutes
        Photos at one site farther apart than this belong to different visits. Thirty minutes is
        the usual choice (O'Brien, Kinnaird and Wibisono 2003, Animal Conservation 6:131; from
        memory).
    """
    number = np.zeros(len(time), dtype=np.int64)
    if len(time) == 0:
        return number
    _, code = np.unique(np.asarray(site, dtype=str), return_inverse=True)
    instant = np.asarray(time, dtype="datetime64[us]")
    order = np.lexsort((instant, code))
    gap = np.timedelta64(round(gap_minutes * 60_000_000), "us")
    new = np.ones(len(order), dtype=bool)
    new[1:] = (np.diff(instant[order]) > gap) | (np.diff(code[order]) != 0)
    number[order] = np.cumsum(new) - 1
    return number


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


@dataclass(frozen=True)
class Touched:
    """What a problem touches.

    Attributes
    ----------
    visits
        Visits the photos belong to; of those that belong to none for want of a true time or a
        site, how many they would make.
    bucks
        Tagged on the photos or in their visits, in order of name.
    """

    visits: float
    bucks: tuple[str, ...]


Touch = Callable[[pd.DataFrame], Touched]
"""What some rows of `deerlog.ingest.field_log.logged_photos` touch."""


def touch_of(
    tags: TagRows, cells: Mapping[str, BucksCell], known: BuckNames, gap_minutes: float
) -> Touch:
    """Makes a `Touch` that knows the tags.

    Parameters
    ----------
    gap_minutes
        Photos farther apart than this are different visits.
    """
    on_photo: dict[int, set[str]] = defaultdict(set)
    in_visit: dict[int, set[str]] = defaultdict(set)
    table = tags.table
    for photo_id, visit, text in zip(
        table["photo_id"].tolist(), table["visit"].tolist(), table["bucks"].tolist(), strict=True
    ):
        names = {known.canonical(tagged.name) for tagged in cells[text].names}
        if names:
            on_photo[photo_id] |= names
            in_visit[visit] |= names

    def touch(photos: pd.DataFrame) -> Touched:
        visits = set(photos.loc[photos["visit"] >= 0, "visit"].tolist())
        without = photos[(photos["visit"] < 0) & photos["same_as"].isna()]
        would_be = visit_numbers(
            without["camera"].to_numpy(dtype=object),
            np.asarray(without["time"].dt.tz_localize(None), dtype="datetime64[us]"),
            gap_minutes,
        )
        bucks: set[str] = set()
        bucks = bucks.union(*(on_photo[i] for i in on_photo.keys() & {*photos["photo_id"]}))
        bucks = bucks.union(*(in_visit[i] for i in in_visit.keys() & visits))
        return Touched(float(len(visits) + len(np.unique(would_be))), tuple(sorted(bucks)))

    return touch
