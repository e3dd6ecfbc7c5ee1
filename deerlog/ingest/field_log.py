"""The photo log with all that the property's tables and the tag sheets decide, as tables."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.card_problems import card_findings, table_findings, with_harm
from deerlog.ingest.changes import Outcome
from deerlog.ingest.clocks.clock_problems import clock_findings
from deerlog.ingest.clocks.retime import corrected_times, excluded_times
from deerlog.ingest.copies import same_pictures
from deerlog.ingest.effort.effort import camera_effort, silence_problems
from deerlog.ingest.store.store import read_log
from deerlog.ingest.store.store_file import FILE
from deerlog.ingest.store.stored_files import PICTURES, Stored, stored_files
from deerlog.ingest.tags.sightings import (
    Touch,
    sighting_table,
    touch_of,
    visit_numbers,
    visit_table,
)
from deerlog.ingest.tags.tag_problems import tag_problems, unlisted_names, untagged_problems
from deerlog.ingest.tags.tag_sources import lost_tags, stray_tags
from deerlog.ingest.tags.tag_workbooks import read_tag_workbooks
from deerlog.ingest.tags.tags import TagRows, TagSheet, find_photos, read_tag_sheets, tag_paths
from deerlog.property import Property
from deerlog.property.matching import BuckNames, fold_name
from deerlog.property.placements import placement_rows


def logged_photos(
    stored: pd.DataFrame, place: Property, tag_paths: Mapping[str, Collection[str]] | None = None
) -> pd.DataFrame:
    """Photos, videos and CSV rows of the photo log, with corrected times, sites and visits.

    ``stored``: see `deerlog.ingest.store.stored_files.Stored`. Of copies of one picture, one with a
    row in ``tag_paths`` (of `deerlog.ingest.tags.tags.tag_paths`) counts.

    Returns
    -------
    DataFrame
        One row a photo in order of camera, path (copies included); index 0, 1, ...:

        - ``photo_id`` int, its place in this order; ``camera`` as in cameras.csv; ``folder`` below
          cards/; ``path`` below that; ``listed_in``, ``replaced``, ``kind``, ``reason``, ``look``,
          ``flash``, ``gone`` as in the photo log
        - ``shown`` (naive, what the camera showed), ``time`` (UTC), ``local`` (in the property's
          zone), ``time_source``, ``time_fault`` (``""``, ``twice``, ``never``), ``by_row``
          (clock.csv set it), ``foreign_offset``
        - ``excluded``: why its time cannot be true (``""`` if it can). Such a photo has no site
          and no visit until a row of clock.csv mends it
        - ``site`` (``""`` outside any placement), ``placement`` (row number, -1 for none)
        - ``same_as``: photo_id it is a copy of, NA for one that counts
        - ``visit``: number in order of site and time, -1 for none; a copy has its original's
    """
    zone = place.settings.timezone
    photos = stored[stored["kind"].isin(PICTURES)].reset_index(drop=True)
    folder = photos["camera"].to_numpy(dtype=object)
    called = cameras_of([*dict.fromkeys(folder)], place)
    camera = np.array([called[name] for name in folder], dtype=object)
    shown = np.asarray(photos["shown"], dtype="datetime64[us]")
    offset = photos["offset_minutes"].to_numpy()
    times = corrected_times(camera, shown, offset, place.placements, place.clock_readings, zone)
    utc = times.utc + photos["fraction_us"].to_numpy().astype("timedelta64[us]")
    time = pd.DatetimeIndex(utc).tz_localize("UTC")
    local = time.tz_convert(zone)
    wall = np.asarray(local.tz_localize(None), dtype="datetime64[us]")
    excluded = excluded_times(wall, photos["read_on"])
    placement = placement_rows(camera, wall, place.placements)
    placement[excluded != ""] = -1
    sites = np.append(place.placements["site"].to_numpy(dtype=object), "")
    site = sites[placement]
    flash = photos["flash"].to_numpy()
    has_tag_row = np.zeros(len(camera), dtype=bool)
    for name, paths in (tag_paths or {}).items():
        mine = np.flatnonzero(camera == name)
        has_tag_row[mine] = photos["path"].iloc[mine].isin(paths).to_numpy()
    listed_camera = np.isin(camera, place.placements["camera"].unique())
    same = same_pictures(photos, listed_camera=listed_camera, has_tag_row=has_tag_row)
    # The cameras of one site are pooled.
    visit = np.full(len(photos), -1, dtype=np.int64)
    counts = (site != "") & (same < 0)
    visit[counts] = visit_numbers(site[counts], utc[counts], place.settings.visit_gap_minutes)
    visit = np.where(same < 0, visit, visit[same])
    return pd.DataFrame(
        {
            "photo_id": np.arange(len(photos), dtype=np.int64),
            "camera": pd.Series(camera, dtype="str"),
            "folder": pd.Series(folder, dtype="str"),
            "path": photos["path"].astype("str"),
            "listed_in": photos["listed_in"].astype("str"),
            "replaced": photos["replaced"],
            "kind": photos["kind"].astype("str"),
            "reason": photos["reason"].astype("str"),
            "look": photos["look"],
            "flash": pd.arrays.BooleanArray(flash == 1, np.isnan(flash)),
            "gone": photos["gone"],
            "shown": shown,
            "time": time,
            "local": local,
            "time_source": photos["time_source"].astype("str"),
            "time_fault": pd.Series(times.fault, dtype="str"),
            "by_row": times.by_row,
            "foreign_offset": times.foreign_offset,
            "excluded": pd.Series(excluded, dtype="str"),
            "site": pd.Series(site, dtype="str"),
            "placement": placement,
            "same_as": pd.arrays.IntegerArray(np.maximum(same, 0), same < 0),
            "visit": visit,
        }
    )


def cameras_of(folders: Iterable[str], place: Property) -> dict[str, str]:
    """Camera of each card folder: the name in cameras.csv it equals, but for case and spaces.

    Folders that differ in no more than that are one camera, in cameras.csv or not: what lies in a
    folder that was renamed is still its own. Where two lie on the disk, `card_findings` says so.
    """
    names = sorted(set(place.placements["camera"]))
    folded: dict[str, str] = {}
    for name in (*names, *sorted(folders)):
        folded.setdefault(fold_name(name), name)
    return {name: name if name in names else folded[fold_name(name)] for name in folders}


@dataclass(frozen=True)
class TaggedLog:
    """Photos, visits and tags tied together: what new rows are worked out from."""

    photos: pd.DataFrame
    visits: pd.DataFrame
    tags: TagRows


@dataclass(frozen=True)
class FieldLog:
    """The record of a property; each table is that of the function that makes it.

    ``photos``: `logged_photos`; ``visits``, ``sightings``: `deerlog.ingest.tags.sightings`;
    ``effort``, ``stretches``, ``silent``: ``camera_days`` and the rest of
    `deerlog.ingest.effort.effort.Effort`; ``unreadable``: ``camera, path, reason, gone`` of files
    that could not be read; ``problems``: what a person should mend or know about all of it, but for
    clocks that look wrong; ``touch``: what some photos touch.
    """

    photos: pd.DataFrame
    visits: pd.DataFrame
    sightings: pd.DataFrame
    effort: pd.DataFrame
    stretches: pd.DataFrame
    silent: pd.DataFrame
    unreadable: pd.DataFrame
    problems: list[Problem]
    touch: Touch

    def clock_problems(self, place: Property) -> tuple[Problem, ...]:
        """Clocks that look wrong, which takes a while to find out."""
        return tuple(with_harm(clock_findings(self.photos, self.sightings, place), self.touch))


def read_field_log(place: Property) -> FieldLog:
    """Read the photo log and the tag sheets of a property. Nothing is written.

    StoreError where the photo log is locked, damaged, or from a newer version.
    """
    stored = read_stored(place)
    return whole_field_log(stored, tagged_log(stored.files, place), place)


def read_stored(place: Property) -> Stored:
    """The photo log; where there is none yet, an empty one whose problem says so."""
    try:
        return read_log(place.folder)
    except FileNotFoundError:
        none = Problem(
            kind="no-photo-log",
            file=FILE,
            why="There is no photo log yet, so there are no photos, visits or camera-days.",
            how="Put the card dumps below cards/<camera>/ and run `deerlog ingest`.",
        )
        return Stored(stored_files([]), (none,))


def whole_field_log(stored: Stored, tagged: TaggedLog, place: Property) -> FieldLog:
    """`field_log_of` with what an ingest does not tell of one by one."""
    log = field_log_of(stored, tagged, place)
    log.problems.extend(unlisted_names(tagged.tags))
    log.problems.extend(untagged_problems(log.visits))  # which an ingest counts for each camera
    return log


def field_log_of(stored: Stored, tagged: TaggedLog, place: Property) -> FieldLog:
    """All that follows from the photo log and the tags tied to it, with every problem of theirs."""
    photos, visits, tags = tagged.photos, tagged.visits, tagged.tags
    effort = camera_effort(photos, place)
    sightings = sighting_table(photos, visits, tags)
    touch = touch_of(tags, place.settings.visit_gap_minutes)
    last = Outcome.from_text(stored.outcome)
    unreadable = stored.files[stored.files["kind"] == "unreadable"].reset_index(drop=True)
    dtypes = {"camera": "str", "path": "str", "reason": "str", "gone": "bool"}
    problems = [
        *with_harm(table_findings(place, photos), touch),
        *stored.csv_problems,
        *with_harm(card_findings(stored, photos, place), touch),
        *tag_problems(tags, visits),
        *stray_tags(place.folder, tags),
        *lost_tags(tags, last.tags if last else {}),
        *silence_problems(effort, sightings),
    ]
    return FieldLog(
        photos=photos,
        visits=visits,
        sightings=sightings,
        effort=effort.camera_days,
        stretches=effort.stretches,
        silent=effort.silent,
        unreadable=unreadable[[*dtypes]].astype(dtypes),
        problems=problems,
        touch=touch,
    )


def tagged_log(stored: pd.DataFrame, place: Property) -> TaggedLog:
    """Tie stored photos (`deerlog.ingest.store.stored_files.Stored`) to visits and to tag rows."""
    # Which copy of a picture counts hangs on the tag sheets too.
    cameras = cameras_of(stored["camera"].unique(), place).values()
    sheets = read_tag_sheets(place.folder, sorted({*place.placements["camera"], *cameras}))
    return with_tags(logged_photos(stored, place, tag_paths(sheets)), place, sheets)


def with_tags(
    photos: pd.DataFrame, place: Property, sheets: list[TagSheet] | None = None
) -> TaggedLog:
    """Tie photos to the rows of the tag sheets: as just read, or as these lie on the disk now."""
    cameras = sorted({*place.placements["camera"], *photos["camera"].unique()})
    if sheets is None:
        sheets = read_tag_sheets(place.folder, cameras)
    return tied(photos, place, [*sheets, *read_tag_workbooks(place.folder, cameras)])


def tied(photos: pd.DataFrame, place: Property, sheets: Sequence[TagSheet]) -> TaggedLog:
    """Tie photos to the rows of some sheets and workbooks."""
    tags = find_photos(sheets, photos, BuckNames(place.bucks), place.settings.no_names)
    return TaggedLog(photos, visit_table(photos, tags, place), tags)
