"""What is wrong, or worth knowing, about the photos of the log, and what it costs in visits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
import pandas as pd

from deerlog.errors import Problem, is_lately
from deerlog.ingest.cards.walk import CARDS
from deerlog.ingest.clocks.clock_problems import Finding, impossible_times, lesser_times
from deerlog.ingest.copies import copy_findings, folder_findings
from deerlog.ingest.store.stored_files import Stored
from deerlog.ingest.tags.sightings import Touch
from deerlog.property import Property
from deerlog.property.cell_values import days_in_words
from deerlog.property.matching import NameList, fold_name
from deerlog.property.placements import no_such_camera
from deerlog.property.wording import agree, count, listing

_OF_ALL = ("zone-longitude", "property-far-away")
"""Problems that make every figure wrong in which the sun or a site has a say."""


def table_findings(place: Property, photos: pd.DataFrame) -> Iterator[Finding]:
    """The problems of a property's tables, with the photos that hang on them.

    Parameters
    ----------
    photos
        Of `deerlog.ingest.field_log.logged_photos`.
    """
    camera_of = {row: camera for camera, rows in place.left_out.items() for row in rows}
    true = photos[photos["excluded"] == ""]
    for problem in place.problems:
        lost = None
        if problem.kind in _OF_ALL:
            lost = true
        elif problem.file.casefold() == "cameras.csv" and problem.row in camera_of:
            camera = fold_name(camera_of[problem.row])
            without_site = true[true["placement"] < 0]
            # A mask with a type: without one, none at all would pick columns in place of rows.
            mine = [fold_name(name) == camera for name in without_site["camera"]]
            lost = without_site[np.asarray(mine, dtype=bool)]
        if lost is not None and ((lost["visit"] >= 0) | lost["same_as"].isna()).any():
            yield replace(problem, harm_in="visit"), lost
        else:
            yield problem, None


def card_findings(stored: Stored, photos: pd.DataFrame, place: Property) -> Iterator[Finding]:
    """Problems of the photo log.

    Parameters
    ----------
    photos
        Of `deerlog.ingest.field_log.logged_photos`.
    """
    listed = place.camera_names
    counts = photos[photos["same_as"].isna()]
    true = counts[counts["excluded"] == ""]
    yield from _unknown_cameras(counts, listed)
    yield from _outside_placements(true[true["placement"] < 0], listed)
    yield from impossible_times(photos, place.clock_readings)
    yield from copy_findings(stored.others, photos, listed, place.folder / CARDS)
    yield from folder_findings(photos)
    yield from _overwritten(photos)
    yield from _doubtful_hours(true[true["time_fault"] != ""])
    yield from _foreign_offsets(true[true["foreign_offset"]])
    yield from lesser_times(photos, place.clock_readings)
    yield from _truncated(counts[(counts["reason"] == "truncated") & ~counts["gone"].astype(bool)])
    yield from _unreadable(stored.files)


def with_harm(findings: Iterable[Finding], touch: Touch) -> Iterator[Problem]:
    """Findings with the visits and bucks that their photos touch."""
    for problem, photos in findings:
        if photos is None:
            yield problem
        else:
            harm, bucks = touch(photos)
            yield replace(problem, harm=harm, bucks=bucks)


def _by_camera(table: pd.DataFrame) -> Iterator[tuple[str, pd.DataFrame]]:
    if len(table):  # grouping nothing takes as long as grouping much
        for camera, group in table.groupby("camera", sort=True):
            yield str(camera), group


def _note(kind: str, camera: str, group: pd.DataFrame, why: str, how: str) -> Finding:
    """What to know of some photos of a camera, ``why`` said after how many they are."""
    problem = Problem(
        kind=kind,
        file=f"cards/{camera}",
        value=str(group["path"].iloc[0]),
        why=f"{count(len(group), 'photo')} of {camera} {why}",
        how=how,
        must_mend=False,
        camera=camera,
    )
    return problem, group


def _unknown_cameras(photos: pd.DataFrame, listed: NameList) -> Iterator[Finding]:
    # Copies of another camera's photos, in a backup or of a dump since moved, count there.
    for camera, group in _by_camera(photos):
        if listed.find(camera) is None:
            same = " The folder's name and the camera's name must be the same."
            belong = count(len(group), "photo belongs", "photos belong")
            problem = Problem(
                kind="unknown-camera",
                file=f"cards/{camera}",
                why=f"{no_such_camera(camera, listed)}, so its {belong} to no site. "
                f"{agree(len(group), 'It is', 'They are')} in the photo log.",
                how=listed.advice(camera, "cameras.csv")
                + ("" if listed.rows_left_out(camera) else same),
                # A row that was left out is a problem of its own, and that is what to mend.
                must_mend=not listed.rows_left_out(camera),
                camera=camera,
            )
            yield problem, group


def _outside_placements(outside: pd.DataFrame, listed: NameList) -> Iterator[Finding]:
    for camera, group in _by_camera(outside):
        if listed.find(camera) is not None:
            rows = listed.rows_left_out(camera)
            fall = agree(len(group), "falls on a day", "fall on days")
            belong = agree(len(group), "it belongs", "they belong")
            problem = Problem(
                kind="outside-placement",
                file="cameras.csv",
                column="start, end",
                value=camera,
                why=f"{count(len(group), 'photo')} of {camera} ({days_in_words(group['local'])}) "
                f"{fall} for which cameras.csv does not say where it stood; {belong} to no site.",
                how=f"First mend {rows} of cameras.csv, which could not be used."
                if rows
                else "Correct start and end of its rows, or add a row for that time; or, if the "
                "camera's clock was wrong, a row in clock.csv.",
                camera=camera,
            )
            yield problem, group


def _overwritten(photos: pd.DataFrame) -> Iterator[Finding]:
    """Photos whose file was replaced by another picture, and that are on the disk nowhere else."""
    gone = photos["gone"].astype(bool)
    file = photos["listed_in"] == ""
    lost = photos[file & (photos["replaced"] > 0) & gone & photos["same_as"].isna()]
    # A copy in a folder of no camera does not count in its place, but it is the picture.
    elsewhere = photos.loc[file & ~gone & photos["same_as"].notna(), "same_as"]
    for camera, group in _by_camera(lost[~lost["photo_id"].isin(elsewhere)]):
        was, name, stay, is_gone = (
            ("was overwritten by another", "name", "It stays in the log with its time and its tag",
             "picture is")
            if len(group) == 1
            else ("were overwritten by others", "names",
                  "They stay in the log with their times and tags", "pictures are")
        )  # fmt: skip
        yield _note(
            "photos-overwritten",
            camera,
            group,
            f"({days_in_words(group['local'])}, first {group['path'].iloc[0]}) {was} of the same "
            f"{name}: it looks as if a card was copied over an earlier one. {stay}, but the "
            f"{is_gone} no longer on the disk.",
            "Copy each card into a folder of its own, such as "
            f"cards/{camera}/{group['local'].max().date()}/. The file numbers of the folder now "
            "tell no order, so they are not held against the clock.",
        )


_DOUBTFUL = {
    "never": "in the hour that is skipped when clocks go forward; taken an hour later",
    "twice": "in the hour that happens twice when clocks go back; the first of the two is taken",
}


def _doubtful_hours(doubtful: pd.DataFrame) -> Iterator[Finding]:
    for camera, group in _by_camera(doubtful):
        for fault, part in group.groupby("time_fault", sort=True):
            yield _note(
                f"hour-{fault}",
                camera,
                part,
                f"({days_in_words(part['local'])}) {agree(len(part), 'shows', 'show')} a time "
                f"{_DOUBTFUL[str(fault)]}.",
                "If this camera's clock never changes, write its offset (such as UTC-5) in the "
                "clock column of cameras.csv.",
            )


def _foreign_offsets(foreign: pd.DataFrame) -> Iterator[Finding]:
    for camera, group in _by_camera(foreign):
        yield _note(
            "foreign-offset",
            camera,
            group,
            f"{agree(len(group), 'states', 'state')} a time zone that is not the property's; it is "
            "taken for a factory setting, and the time for local time.",
            "Set the zone on the camera; or, if its times are really of another zone, write that "
            "(such as UTC-5) in the clock column of cameras.csv.",
        )


def _truncated(cut_off: pd.DataFrame) -> Iterator[Finding]:
    for camera, group in _by_camera(cut_off):
        yield _note(
            "truncated-photos",
            camera,
            group,
            f"{agree(len(group), 'is', 'are')} cut off (first {group['path'].iloc[0]}). The time "
            "could be read, so they count, but the picture may not open.",
            "Copy them from the card again; if that gives the same, the card is failing.",
        )


def _unreadable(stored: pd.DataFrame) -> Iterator[Finding]:
    """Files that give no photo, by reason; and cards that brought nothing but such."""
    there = stored[~stored["gone"]]
    card = (
        there["camera"]
        + "/"
        + [path.rpartition("/")[0].partition("/")[0] for path in there["path"]]
    )
    lost = there["kind"] == "unreadable"
    nothing = lost & ~card.isin(card[~lost])
    last = there["read_on"].max()
    for name, group in there[nothing].groupby(card[nothing], sort=True) if nothing.any() else ():
        reasons = listing(group["reason"].unique().tolist())
        problem = Problem(
            kind="card-brought-nothing",
            file=f"cards/{name}",
            why=f"No photo came from here: of {count(len(group), 'file')} none could be read "
            f"({reasons}; first {group['path'].iloc[0]}).",
            how="Look at the camera and its card. Copy the card again if there are photos on it.",
            must_mend=False,
            camera=str(group["camera"].iloc[0]),
            lately=is_lately(group["read_on"].max(), last),
        )
        yield problem, None
    for camera, group in _by_camera(there[lost & ~nothing]):
        for reason, part in group.groupby("reason", sort=True):
            first = part["path"].iloc[0]
            are = count(len(part), "file is", "files are")
            problem = Problem(
                kind="unreadable-files",
                file=f"cards/{camera}",
                value=str(first),
                why=f"{are} not counted: {reason} (first {first}).",
                how="Nothing to do if they are no photos of this camera; otherwise copy them from "
                "the card again, or list them with their times in a CSV (columns file,taken) "
                "beside them.",
                must_mend=False,
                camera=camera,
            )
            yield problem, None
