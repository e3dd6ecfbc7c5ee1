"""What is wrong, or worth knowing, about the photos of the log, and what it costs in visits.

``photos`` are rows of `deerlog.ingest.field_log.logged_photos`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
import pandas as pd

from deerlog.errors import Problem, is_lately
from deerlog.ingest.cards.walk import CARDS
from deerlog.ingest.clocks.clock_problems import (
    SUN_ELSEWHERE,
    Finding,
    groups,
    impossible_times,
    lesser_times,
    photo_finding,
)
from deerlog.ingest.copies import copy_findings, folder_findings
from deerlog.ingest.store.stored_files import Stored
from deerlog.ingest.tags.sightings import Touch
from deerlog.property import Property
from deerlog.property.cell_values import days_in_words
from deerlog.property.matching import NameList, fold_name
from deerlog.property.placements import no_such_camera
from deerlog.property.wording import agree, count, listing


def table_findings(place: Property, photos: pd.DataFrame) -> Iterator[Finding]:
    """The problems of a property's tables, with the photos that hang on them."""
    camera_of = {row: fold_name(camera) for camera, rows in place.left_out.items() for row in rows}
    true = photos[photos["excluded"] == ""]
    for problem in place.problems:
        lost = true[:0]
        if problem.kind in SUN_ELSEWHERE:
            lost = true
        elif problem.file.casefold() == "cameras.csv" and problem.row in camera_of:
            lost = true[true["placement"] < 0]
            # A mask with a type: without one, none at all would pick columns in place of rows.
            mine = [fold_name(name) == camera_of[problem.row] for name in lost["camera"]]
            lost = lost[np.asarray(mine, dtype=bool)]
        if ((lost["visit"] >= 0) | lost["same_as"].isna()).any():
            yield replace(problem, harm_in="visit"), lost
        else:
            yield problem, None


def card_findings(stored: Stored, photos: pd.DataFrame, place: Property) -> Iterator[Finding]:
    """Problems of the photo log."""
    listed, readings = place.camera_names, place.clock_readings
    counts = photos[photos["same_as"].isna()]
    true = counts[counts["excluded"] == ""]
    yield from _unknown_cameras(counts, listed)
    yield from _outside_placements(true[true["placement"] < 0], listed)
    yield from impossible_times(photos, readings)
    yield from copy_findings(stored.others, photos, listed, place.folder / CARDS)
    yield from folder_findings(photos)
    yield from _overwritten(photos)
    for (_, fault), group in groups(true[true["time_fault"] != ""], "camera", "time_fault"):
        yield photo_finding(
            f"hour-{fault}",
            group,
            f"({days_in_words(group['local'])}) {agree(len(group), 'shows', 'show')} a time "
            f"{_DOUBTFUL[fault]}.",
            "If this camera's clock never changes, write its offset (such as UTC-5) in the clock "
            "column of cameras.csv.",
        )
    for _, group in groups(true[true["foreign_offset"]], "camera"):
        yield photo_finding(
            "foreign-offset",
            group,
            f"{agree(len(group), 'states', 'state')} a time zone that is not the property's; it is "
            "taken for a factory setting, and the time for local time.",
            "Set the zone on the camera; or, if its times are really of another zone, write that "
            "(such as UTC-5) in the clock column of cameras.csv.",
        )
    yield from lesser_times(photos, readings)
    cut_off = counts[(counts["reason"] == "truncated") & ~counts["gone"].astype(bool)]
    for _, group in groups(cut_off, "camera"):
        yield photo_finding(
            "truncated-photos",
            group,
            f"{agree(len(group), 'is', 'are')} cut off (first {group['path'].iloc[0]}). The time "
            "could be read, so they count, but the picture may not open.",
            "Copy them from the card again; if that gives the same, the card is failing.",
        )
    yield from _unreadable(stored.files)


def with_harm(findings: Iterable[Finding], touch: Touch) -> Iterator[Problem]:
    """Findings with the visits and bucks that their photos touch."""
    for problem, photos in findings:
        harm, bucks = (problem.harm, problem.bucks) if photos is None else touch(photos)
        yield replace(problem, harm=harm, bucks=bucks)


def _unknown_cameras(photos: pd.DataFrame, listed: NameList) -> Iterator[Finding]:
    # Copies of another camera's photos, in a backup or of a dump since moved, count there.
    for (camera,), group in groups(photos, "camera"):
        if listed.find(camera) is None:
            # A row that was left out is a problem of its own, and that is what to mend.
            left_out = bool(listed.rows_left_out(camera))
            same = "" if left_out else " The folder's name and the camera's name must be the same."
            belong = count(len(group), "photo belongs", "photos belong")
            problem = Problem(
                kind="unknown-camera",
                file=f"cards/{camera}",
                why=f"{no_such_camera(camera, listed)}, so its {belong} to no site. "
                f"{agree(len(group), 'It is', 'They are')} in the photo log.",
                how=f"{listed.advice(camera, 'cameras.csv')}{same}",
                must_mend=not left_out,
                camera=camera,
            )
            yield problem, group


def _outside_placements(outside: pd.DataFrame, listed: NameList) -> Iterator[Finding]:
    for (camera,), group in groups(outside, "camera"):
        if listed.find(camera) is not None:
            rows = listed.rows_left_out(camera)
            fall = agree(len(group), "falls on a day", "fall on days")
            belong = agree(len(group), "it belongs", "they belong")
            yield photo_finding(
                "outside-placement",
                group,
                f"({days_in_words(group['local'])}) {fall} for which cameras.csv does not say "
                f"where it stood; {belong} to no site.",
                f"First mend {rows} of cameras.csv, which could not be used."
                if rows
                else "Correct start and end of its rows, or add a row for that time; or, if the "
                "camera's clock was wrong, a row in clock.csv.",
                file="cameras.csv",
                column="start, end",
                value=camera,
                must_mend=True,
            )


def _overwritten(photos: pd.DataFrame) -> Iterator[Finding]:
    """Photos whose file was replaced by another picture, and that are on the disk nowhere else."""
    gone = photos["gone"].astype(bool)
    file = photos["listed_in"] == ""
    lost = photos[file & (photos["replaced"] > 0) & gone & photos["same_as"].isna()]
    # A copy in a folder of no camera does not count in its place, but it is the picture.
    elsewhere = photos.loc[file & ~gone & photos["same_as"].notna(), "same_as"]
    for (camera,), group in groups(lost[~lost["photo_id"].isin(elsewhere)], "camera"):
        n, days = len(group), days_in_words(group["local"])
        was = agree(n, "was overwritten by another", "were overwritten by others")
        stay = agree(
            n,
            "It stays in the log with its time and its tag, but the picture is",
            "They stay in the log with their times and tags, but the pictures are",
        )
        yield photo_finding(
            "photos-overwritten",
            group,
            f"({days}, first {group['path'].iloc[0]}) {was} of the same "
            f"{agree(n, 'name', 'names')}: it looks as if a card was copied over an earlier one. "
            f"{stay} no longer on the disk.",
            "Copy each card into a folder of its own, such as "
            f"cards/{camera}/{group['local'].max().date()}/. The file numbers of the folder now "
            "tell no order, so they are not held against the clock.",
        )


_DOUBTFUL = {
    "never": "in the hour that is skipped when clocks go forward; taken an hour later",
    "twice": "in the hour that happens twice when clocks go back; the first of the two is taken",
}


def _unreadable(stored: pd.DataFrame) -> Iterator[Finding]:
    """Files that give no photo, by reason; and cards that brought nothing but such."""
    there = stored[~stored["gone"]]
    below = [path.rpartition("/")[0].partition("/")[0] for path in there["path"]]
    there = there.assign(card=there["camera"] + "/" + below)
    lost = there["kind"] == "unreadable"
    nothing = lost & ~there["card"].isin(there.loc[~lost, "card"])
    last = there["read_on"].max()
    for (name,), group in groups(there[nothing], "card"):
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
    for (camera, reason), group in groups(there[lost & ~nothing], "camera", "reason"):
        first = str(group["path"].iloc[0])
        are = count(len(group), "file is", "files are")
        problem = Problem(
            kind="unreadable-files",
            file=f"cards/{camera}",
            value=first,
            why=f"{are} not counted: {reason} (first {first}).",
            how="Nothing to do if they are no photos of this camera; otherwise copy them from "
            "the card again, or list them with their times in a CSV (columns file,taken) "
            "beside them.",
            must_mend=False,
            camera=camera,
        )
        yield problem, None
