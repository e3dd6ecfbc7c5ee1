"""Everything the cameras and the tag sheets recorded, as tables."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.card_problems import card_problems
from deerlog.ingest.effort.effort import camera_effort
from deerlog.ingest.effort.silence_problems import silence_problems
from deerlog.ingest.logged_photos import cameras_of, logged_photos
from deerlog.ingest.store.store import read_log
from deerlog.ingest.store.store_file import FILE
from deerlog.ingest.store.stored_files import Stored, stored_files
from deerlog.ingest.table_harm import table_problems
from deerlog.ingest.tags.sightings import read_cells, sighting_table, visit_table
from deerlog.ingest.tags.tag_problems import tag_problems
from deerlog.ingest.tags.tag_workbooks import (
    WorkbookSheet,
    read_tag_workbooks,
    two_tags,
    with_workbook_rows,
)
from deerlog.ingest.tags.tags import TagRows, TagSheet, find_photos, read_tag_sheets, tag_paths
from deerlog.ingest.tags.touched import touch_of
from deerlog.ingest.tags.untagged import untagged_problems
from deerlog.property import Property
from deerlog.property.matching import BuckNames


@dataclass(frozen=True)
class FieldLog:
    """The record of a property.

    Attributes
    ----------
    photos
        See `deerlog.ingest.logged_photos.logged_photos`.
    visits
        See `deerlog.ingest.tags.sightings.visit_table`.
    sightings
        See `deerlog.ingest.tags.sightings.sighting_table`.
    effort, stretches, silent
        See `deerlog.ingest.effort.effort.Effort` (``camera_days``, ``stretches`` and ``silent``).
    unreadable
        ``camera, path, reason, gone`` of files that could not be read.
    problems
        What a person should mend or know about all of it.
    table_problems
        Those of the property's tables, with the visits that hang on them.
    """

    photos: pd.DataFrame
    visits: pd.DataFrame
    sightings: pd.DataFrame
    effort: pd.DataFrame
    stretches: pd.DataFrame
    silent: pd.DataFrame
    unreadable: pd.DataFrame
    problems: list[Problem]
    table_problems: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class TaggedLog:
    """Photos, visits and tag sheets tied together: what new rows are worked out from."""

    photos: pd.DataFrame
    visits: pd.DataFrame
    sheets: list[TagSheet]
    tags: TagRows
    workbooks: list[WorkbookSheet]

    @property
    def visits_of(self) -> dict[str, int]:
        """How many visits each camera has."""
        return {str(name): int(n) for name, n in self.visits["camera"].value_counts().items()}


def read_field_log(place: Property) -> FieldLog:
    """Read the photo log and the tag sheets of a property. Nothing is written.

    Raises
    ------
    StoreError
        The photo log is locked, damaged, or from a newer version.
    """
    problems: list[Problem] = []
    try:
        log = read_log(place.folder)
    except FileNotFoundError:
        log = Stored(stored_files([]))
        problems.append(
            Problem(
                kind="no-photo-log",
                file=FILE,
                why="There is no photo log yet, so there are no photos, visits or camera-days.",
                how="Put the card dumps below cards/<camera>/ and run `deerlog ingest`.",
            )
        )
    stored = log.files
    tagged = tagged_log(stored, place)
    known = BuckNames(place.bucks)
    cells = read_cells(tagged.tags, known)
    effort = camera_effort(tagged.photos, place)
    problems += log.csv_problems
    touch = touch_of(tagged.tags, cells, known, place.settings.visit_gap_minutes)
    of_tables = table_problems(place, tagged.photos, touch)
    problems += card_problems(log, tagged.photos, place, touch)
    problems += tag_problems(
        [*tagged.sheets, *tagged.workbooks], tagged.tags, cells, known, tagged.visits_of
    )
    problems += two_tags(tagged.tags, tagged.workbooks, cells, known)
    sightings = sighting_table(tagged.photos, tagged.visits, tagged.tags, cells, known)
    problems += silence_problems(effort.found, sightings)
    problems += untagged_problems(tagged.visits)
    unreadable = stored.loc[stored["kind"] == "unreadable", ["camera", "path", "reason", "gone"]]
    unreadable = unreadable.astype({"camera": "str", "path": "str", "reason": "str", "gone": bool})
    return FieldLog(
        photos=tagged.photos,
        visits=tagged.visits,
        sightings=sightings,
        effort=effort.camera_days,
        stretches=effort.stretches,
        silent=effort.silent,
        unreadable=unreadable.reset_index(drop=True),
        problems=problems,
        table_problems=of_tables,
    )


def tagged_log(stored: pd.DataFrame, place: Property) -> TaggedLog:
    """Tie stored photos to visits and to the rows of the tag sheets.

    Parameters
    ----------
    stored
        See `deerlog.ingest.store.stored_files.Stored`.
    """
    # Which copy of a picture counts hangs on the tag sheets too.
    cameras = cameras_of(stored["camera"].unique(), place).values()
    sheets = read_tag_sheets(place.folder, sorted({*place.placements["camera"], *cameras}))
    return with_tags(logged_photos(stored, place, tag_paths(sheets)), place, sheets)


def with_tags(
    photos: pd.DataFrame, place: Property, sheets: list[TagSheet] | None = None
) -> TaggedLog:
    """Tie photos to the rows of the tag sheets as these lie on the disk now.

    Parameters
    ----------
    photos
        Of `deerlog.ingest.logged_photos.logged_photos`.
    sheets
        The tag sheets, where they have just been read.
    """
    cameras = {*place.placements["camera"], *photos["camera"].unique()}
    if sheets is None:
        sheets = read_tag_sheets(place.folder, sorted(cameras))
    workbooks = read_tag_workbooks(place.folder, sorted(cameras))
    tags = with_workbook_rows(find_photos(sheets, photos), find_photos(workbooks, photos))
    visits = visit_table(photos, tags, read_cells(tags, BuckNames(place.bucks)), place)
    return TaggedLog(photos=photos, visits=visits, sheets=sheets, tags=tags, workbooks=workbooks)
