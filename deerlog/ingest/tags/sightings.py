"""Visits and sightings: what the photos and the tag sheets say together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.ingest.tags.tags import TagRows
from deerlog.property import Property


def visit_numbers(
    site: npt.NDArray[np.object_], time: npt.NDArray[np.datetime64], gap_minutes: float
) -> npt.NDArray[np.int64]:
    """Number of the visit each photo belongs to, from 0, in order of site and time.

    ``time``: instants (UTC, naive ``datetime64``), in any order, shape (n,) as ``site``. Photos at
    one site farther apart than ``gap_minutes`` belong to different visits. Thirty minutes is the
    usual choice (O'Brien, Kinnaird and Wibisono 2003, Animal Conservation 6:131; from memory).
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


def visit_table(photos: pd.DataFrame, tags: TagRows, place: Property) -> pd.DataFrame:
    """Every visit, one row each, in order of its number.

    ``visit``; ``site``; ``camera`` of its first photo; ``setting`` and ``bait`` of where that
    stood; ``first`` and ``last`` (local, aware); ``photos``, copies not counted; ``photo_id`` of
    the first; ``tagged``: someone looked at it; ``others``: whatever else its rows name; ``file``
    and ``row`` of its first row in a tag sheet (``""`` and NA if it has none).
    """
    counts = photos[(photos["visit"] >= 0) & photos["same_as"].isna()]
    counts = counts.sort_values(["visit", "time", "photo_id"], kind="stable")
    first = counts.drop_duplicates("visit", keep="first").reset_index(drop=True)
    last = counts.drop_duplicates("visit", keep="last").reset_index(drop=True)
    number = first["visit"].to_numpy()
    placed = place.placements.iloc[first["placement"].to_numpy()]
    tied = tags.table[tags.table["visit"] >= 0]
    others = _others_of(tied["visit"], tied["others"])
    rows = tied.drop_duplicates("visit").set_index("visit").reindex(number)
    said = pd.Series([others.get(visit, "") for visit in number.tolist()], dtype="str")
    return first[["visit", "site", "camera"]].assign(
        setting=placed["setting"].astype("str").to_numpy(),
        bait=placed["bait"].to_numpy(dtype=bool),
        first=first["local"],
        last=last["local"],
        photos=np.bincount(counts["visit"].to_numpy(), minlength=len(first))[number],
        photo_id=first["photo_id"],
        tagged=np.isin(number, tied.loc[tags.looked_at(tied), "visit"]),
        others=said,
        file=rows["file"].fillna("").astype("str").to_numpy(),
        row=pd.array(rows["row"].to_numpy(), dtype="Int64"),
    )


def _others_of(keys: Iterable[Hashable], said: Iterable[str]) -> dict[Hashable, str]:
    """Whatever else the rows of each key name, each once; by hand, as groups are slow."""
    each: dict[Hashable, dict[str, None]] = {}
    for key, text in zip(keys, said, strict=True):
        if text:
            each.setdefault(key, {})[text] = None
    return {key: "; ".join(texts) for key, texts in each.items()}


def sighting_table(photos: pd.DataFrame, visits: pd.DataFrame, tags: TagRows) -> pd.DataFrame:
    """Every buck in every visit he was tagged in, one row each, in order of buck and time.

    ``buck`` (aliases merged); ``site, camera, setting, bait`` and ``visit``; ``local``: time of his
    first tagged photo in it; ``photos``: his tagged photos in it; ``unsure``: every tag of his in
    it has a ``?``; ``others``: whatever else the rows name.
    """
    rows = tags.table[tags.table["visit"] >= 0]
    said = [
        (place, tags.known.canonical(tagged.name), tagged.unsure)
        for place, text in zip(rows.index.tolist(), rows["bucks"].tolist(), strict=True)
        for tagged in tags.cells[text].names
    ]
    named = rows.loc[[place for place, _, _ in said], ["visit", "photo_id", "others"]]
    named = named.reset_index(drop=True)
    named["buck"] = pd.Series([buck for _, buck, _ in said], dtype="str")
    named["unsure"] = np.array([unsure for _, _, unsure in said], dtype=bool)
    named["local"] = photos["local"].take(named["photo_id"].to_numpy()).reset_index(drop=True)
    named = named.sort_values(["buck", "local", "visit"], kind="stable")
    each = named.groupby(["buck", "visit"], sort=False, as_index=False).agg(
        local=("local", "first"), photos=("photo_id", "nunique"), unsure=("unsure", "all")
    )
    others = _others_of(zip(named["buck"], named["visit"], strict=True), named["others"])
    keys = zip(each["buck"], each["visit"], strict=True)
    each["others"] = pd.Series([others.get(key, "") for key in keys], dtype="str")
    about = visits.set_index("visit")[["site", "camera", "setting", "bait"]]
    table = each.join(about, on="visit")
    columns = ["buck", "site", "camera", "setting", "bait", "local", "visit"]
    return table[[*columns, "photos", "unsure", "others"]].reset_index(drop=True)


Touch = Callable[[pd.DataFrame], tuple[float, tuple[str, ...]]]
"""What some rows of `deerlog.ingest.field_log.logged_photos` touch: how many visits they belong to
(of those that belong to none for want of a true time or a site, how many they would make), and the
bucks tagged on them or in their visits, in order of name."""


def touch_of(tags: TagRows, gap_minutes: float) -> Touch:
    """A `Touch` that knows the tags; photos farther apart than the gap are different visits."""
    on_photo: dict[int, set[str]] = defaultdict(set)
    in_visit: dict[int, set[str]] = defaultdict(set)
    columns = (tags.table[name].tolist() for name in ("photo_id", "visit", "bucks"))
    for photo_id, visit, text in zip(*columns, strict=True):
        names = {tags.known.canonical(tagged.name) for tagged in tags.cells[text].names}
        if names:
            on_photo[photo_id] |= names
            in_visit[visit] |= names

    def touch(photos: pd.DataFrame) -> tuple[float, tuple[str, ...]]:
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
        return float(len(visits) + len(np.unique(would_be))), tuple(sorted(bucks))

    return touch
