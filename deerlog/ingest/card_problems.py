"""Cards that were copied over earlier ones: pictures of one name, of which the later is left.

How many visits it costs that a row of a table, or property.toml, cannot be used.

What is wrong, or worth knowing, about the photos of the log, camera by camera.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.clocks.clock_problems import Finding
from deerlog.ingest.clocks.impossible_times import impossible_times, lesser_times
from deerlog.ingest.copies import copy_problems
from deerlog.ingest.store.stored_files import Stored
from deerlog.ingest.tags.sightings import Touch
from deerlog.property import Property
from deerlog.property.cell_values import counted, days_in_words
from deerlog.property.matching import NameList, fold_name
from deerlog.property.placements import no_such_camera


def overwritten_photos(photos: pd.DataFrame) -> pd.DataFrame:
    """Photos whose file was replaced by another picture, and that are on the disk nowhere else.

    Parameters
    ----------
    photos
        Of `deerlog.ingest.field_log.logged_photos`.
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


_CAMERAS = "cameras.csv"
_OF_ALL = ("zone-longitude", "property-far-away")
"""Problems that make every figure wrong in which the sun or a site has a say."""


def table_problems(place: Property, photos: pd.DataFrame, touch: Touch) -> tuple[Problem, ...]:
    """The problems of a property's tables, with the visits that hang on them.

    Parameters
    ----------
    photos
        Of `deerlog.ingest.field_log.logged_photos`.
    touch
        What photos touch.
    """
    camera_of = {row: camera for camera, rows in place.left_out.items() for row in rows}
    return tuple(_with_visits(p, photos, touch, camera_of) for p in place.problems)


def _with_visits(
    problem: Problem, photos: pd.DataFrame, touch: Touch, camera_of: dict[int, str]
) -> Problem:
    if problem.kind in _OF_ALL:
        touched = touch(photos[photos["excluded"] == ""])
    elif problem.file.casefold() == _CAMERAS and problem.row in camera_of:
        touched = touch(_without_site(photos, [camera_of[problem.row]]))
    else:
        return problem
    if not touched.visits:
        return problem
    return replace(problem, harm=touched.visits, harm_in="visit", bucks=touched.bucks)


def _without_site(photos: pd.DataFrame, cameras: Iterable[str]) -> pd.DataFrame:
    """Photos of some cameras that belong to no site for want of a row."""
    folded = {fold_name(camera) for camera in cameras}
    lost = photos[(photos["placement"] < 0) & (photos["excluded"] == "")]
    return lost[[fold_name(camera) in folded for camera in lost["camera"]]]


def card_problems(
    stored: Stored, photos: pd.DataFrame, place: Property, touch: Touch
) -> list[Problem]:
    """Problems of the photo log.

    Parameters
    ----------
    stored
        What the photo log holds.
    photos
        Of `deerlog.ingest.field_log.logged_photos`.
    touch
        What photos touch.
    """
    listed = place.camera_names
    return [
        *_unknown_cameras(photos, listed, touch),
        *_outside_placements(photos, listed, touch),
        *with_harm(impossible_times(photos, place.clock_readings), touch),
        *copy_problems(stored.others, photos, listed, touch),
        *overwritten_problems(photos, touch),
        *_doubtful_hours(photos, touch),
        *_foreign_offsets(photos, touch),
        *with_harm(lesser_times(photos, place.clock_readings), touch),
        *_truncated(photos, touch),
        *_unreadable(stored.files),
    ]


def with_harm(findings: Iterable[Finding], touch: Touch) -> Iterator[Problem]:
    """Findings with the visits and bucks that their photos touch."""
    for problem, photos in findings:
        if photos is None:
            yield problem
        else:
            touched = touch(photos)
            yield replace(problem, harm=touched.visits, bucks=touched.bucks)


def _by_camera(table: pd.DataFrame, column: str = "camera") -> Iterator[tuple[str, pd.DataFrame]]:
    if len(table):  # grouping nothing takes as long as grouping much
        for camera, group in table.groupby(column, sort=True):
            yield str(camera), group


def _unknown_cameras(photos: pd.DataFrame, listed: NameList, touch: Touch) -> Iterable[Problem]:
    # Copies of another camera's photos, in a backup or of a dump since moved, count there.
    for camera, group in _by_camera(photos[photos["same_as"].isna()]):
        if listed.find(camera) is None:
            touched = touch(group)
            same = " The folder's name and the camera's name must be the same."
            yield Problem(
                kind="unknown-camera",
                file=f"cards/{camera}",
                why=f"{no_such_camera(camera, listed)}, so its "
                f"{counted(len(group), 'photo belongs', 'photos belong')} to no site. "
                f"{'It is' if len(group) == 1 else 'They are'} in the photo log.",
                how=listed.advice(camera, "cameras.csv")
                + ("" if listed.rows_left_out(camera) else same),
                # A row that was left out is a problem of its own, and that is what to mend.
                must_mend=not listed.rows_left_out(camera),
                harm=touched.visits,
                bucks=touched.bucks,
                camera=camera,
            )


def _outside_placements(photos: pd.DataFrame, listed: NameList, touch: Touch) -> Iterable[Problem]:
    outside = photos[
        (photos["placement"] < 0) & (photos["excluded"] == "") & photos["same_as"].isna()
    ]
    for camera, group in _by_camera(outside):
        if listed.find(camera) is not None:
            touched = touch(group)
            one, rows = len(group) == 1, listed.rows_left_out(camera)
            yield Problem(
                kind="outside-placement",
                file="cameras.csv",
                column="start, end",
                value=camera,
                why=f"{counted(len(group), 'photo', 'photos')} of {camera} "
                f"({days_in_words(group['local'])}) {'falls on a day' if one else 'fall on days'} "
                f"for which cameras.csv does not say where it stood; "
                f"{'it belongs' if one else 'they belong'} to no site.",
                how=f"First mend {rows} of cameras.csv, which could not be used."
                if rows
                else "Correct start and end of its rows, or add a row for that time; or, if the "
                "camera's clock was wrong, a row in clock.csv.",
                harm=touched.visits,
                bucks=touched.bucks,
                camera=camera,
            )


def _doubtful_hours(photos: pd.DataFrame, touch: Touch) -> Iterable[Problem]:
    doubtful = photos[
        (photos["time_fault"] != "") & (photos["excluded"] == "") & photos["same_as"].isna()
    ]
    for camera, group in _by_camera(doubtful):
        for fault, part in group.groupby("time_fault", sort=True):
            if fault == "twice":
                why = (
                    "in the hour that happens twice when clocks go back; the first of the two is "
                    "taken"
                )
            else:
                why = "in the hour that is skipped when clocks go forward; taken an hour later"
            touched = touch(part)
            yield Problem(
                kind=f"hour-{fault}",
                file=f"cards/{camera}",
                value=str(part["path"].iloc[0]),
                why=f"{counted(len(part), 'photo', 'photos')} of {camera} "
                f"({days_in_words(part['local'])}) {'shows' if len(part) == 1 else 'show'} a time "
                f"{why}.",
                how="If this camera's clock never changes, write its offset (such as UTC-5) in the "
                "clock column of cameras.csv.",
                must_mend=False,
                harm=touched.visits,
                bucks=touched.bucks,
                camera=camera,
            )


def _foreign_offsets(photos: pd.DataFrame, touch: Touch) -> Iterable[Problem]:
    foreign = photos["foreign_offset"] & (photos["excluded"] == "") & photos["same_as"].isna()
    for camera, group in _by_camera(photos[foreign]):
        touched = touch(group)
        yield Problem(
            kind="foreign-offset",
            file=f"cards/{camera}",
            value=str(group["path"].iloc[0]),
            why=f"{counted(len(group), 'photo', 'photos')} of {camera} "
            f"{'states' if len(group) == 1 else 'state'} a time zone that is not the property's; "
            "it is taken for a factory setting, and the time for local time.",
            how="Set the zone on the camera; or, if its times are really of another zone, write "
            "that (such as UTC-5) in the clock column of cameras.csv.",
            must_mend=False,
            harm=touched.visits,
            bucks=touched.bucks,
            camera=camera,
        )


def _truncated(photos: pd.DataFrame, touch: Touch) -> Iterable[Problem]:
    cut_off = (photos["reason"] == "truncated") & ~photos["gone"].astype(bool)
    for camera, group in _by_camera(photos[cut_off & photos["same_as"].isna()]):
        touched = touch(group)
        yield Problem(
            kind="truncated-photos",
            file=f"cards/{camera}",
            value=str(group["path"].iloc[0]),
            why=f"{counted(len(group), 'photo', 'photos')} of {camera} "
            f"{'is' if len(group) == 1 else 'are'} cut off (first {group['path'].iloc[0]}). "
            "The time could be read, so they count, but the picture may not open.",
            how="Copy them from the card again; if that gives the same, the card is failing.",
            must_mend=False,
            harm=touched.visits,
            bucks=touched.bucks,
            camera=camera,
        )


def _unreadable(stored: pd.DataFrame) -> Iterable[Problem]:
    lost = stored[(stored["kind"] == "unreadable") & ~stored["gone"]]
    for camera, group in _by_camera(lost):
        for reason, part in group.groupby("reason", sort=True):
            yield Problem(
                kind="unreadable-files",
                file=f"cards/{camera}",
                value=str(part["path"].iloc[0]),
                why=f"{counted(len(part), 'file is', 'files are')} not counted: {reason} (first "
                f"{part['path'].iloc[0]}).",
                how="Nothing to do if they are no photos of this camera; otherwise copy them from "
                "the card again, or list them with their times in a CSV (columns file,taken) "
                "beside them.",
                must_mend=False,
                camera=camera,
            )
