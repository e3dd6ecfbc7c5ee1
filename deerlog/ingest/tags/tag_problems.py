"""What is wrong, or worth knowing, about the rows of the tag sheets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.tags.name_problems import name_problems, of_rows, too_many_names
from deerlog.ingest.tags.tag_workbooks import two_tags
from deerlog.ingest.tags.tags import TagRows, TagSheet
from deerlog.property.cell_values import and_rows
from deerlog.property.wording import count

CAMERAS_NAMED = 3


def untagged_problems(visits: pd.DataFrame) -> list[Problem]:
    """One thing worth knowing, or none where every visit was looked at.

    Parameters
    ----------
    visits
        Of `deerlog.ingest.tags.sightings.visit_table`.
    """
    left = visits[~visits["tagged"].astype(bool)]
    if left.empty:
        return []
    by_camera = left.groupby("camera").size().sort_values(ascending=False, kind="stable")
    most = [f"{camera} {n}" for camera, n in by_camera.head(CAMERAS_NAMED).items()]
    more = len(by_camera) - len(most)
    where = ", ".join(most) + (f", and {more} more" if more else "")
    first, last = left["first"].min().date(), left["first"].max().date()
    when = f"on {first}" if first == last else f"from {first} to {last}"
    return [
        Problem(
            kind="not-tagged-yet",
            file="tags/",
            why=f"{count(len(left), 'visit is', 'visits are')} not tagged yet, {when} ({where}). "
            "Until someone looks, nobody knows who came: the days about count as watched only as "
            "far as was looked at.",
            how="Name the bucks on the pages tags/<camera>.html or in the sheets beside them; "
            "where you looked and there was none you know, write -.",
            must_mend=False,
            harm=float(len(left)),
            first_day=first,
            last_day=last,
        )
    ]


def tag_problems(tags: TagRows, visits: pd.DataFrame) -> list[Problem]:
    """Problems of the tag sheets, sheet by sheet; rows with one fault are told together.

    Parameters
    ----------
    visits
        Of `deerlog.ingest.tags.sightings.visit_table`. How many a camera has is what a sheet that
        cannot be read takes away, where its rows cannot be counted.
    """
    visits_of = visits["camera"].value_counts().to_dict()
    problems: list[Problem] = []
    by_sheet = dict(list(tags.table.groupby(["file", "camera"], sort=True)))
    for sheet in tags.sheets:
        if sheet.problem:
            harm = sheet.problem.harm
            if sheet.problem.must_mend and not harm:
                harm = float(max(visits_of.get(sheet.camera, 0), 1))
            problems.append(replace(sheet.problem, harm=harm))
        if sheet.table is None:
            continue
        problems.extend(replace(p, harm=max(p.harm, 1.0)) for p in sheet.table.problems)
        rows = by_sheet.get((sheet.file, sheet.camera))
        if rows is not None:
            problems.extend(_photos(sheet, rows, tags))
            problems.extend(name_problems(rows, tags))
            problems.extend(_half_filled(rows))
    return [*problems, *too_many_names(tags), *two_tags(tags)]


def _photos(sheet: TagSheet, rows: pd.DataFrame, tags: TagRows) -> Iterator[Problem]:
    """Rows whose photo is not known, or belongs to no visit."""
    camera = sheet.camera
    lost = rows["photo_id"] < 0
    unknown = rows[lost & (rows["times_there"] == "")]
    if sheet.by_time:
        yield from _by_time(sheet, rows, unknown, tags)
    elif len(unknown):
        yield of_rows(
            "tag-photo-unknown",
            unknown,
            "photo",
            f"The photo log knows no such photo of {camera}, neither by path nor by file name and "
            "time",
            "Correct the path, or the file name and taken; or put the pictures (or a CSV with "
            f"file,taken) back below cards/{camera}/ and run ingest.",
            bucks=tags.bucks(unknown),
        )
    other = rows[rows["times_there"] != ""]
    if len(other):
        yield of_rows(
            "tag-taken",
            other,
            "taken",
            "That is the time of no photo that lies, or is known to have lain, at "
            f"{other['photo'].iloc[0]} ({other['times_there'].iloc[0]}), as if another picture of "
            "the same name was meant; the row counts for no visit",
            "Write into taken the time of the photo that is meant, as YYYY-MM-DD HH:MM:SS; or "
            "correct the path in photo.",
            bucks=tags.bucks(other),
        )
    named = rows["bucks"].map(lambda text: bool(tags.cells[text].names)).astype(bool)
    outside = rows[~lost & (rows["visit"] < 0) & named]
    if len(outside):
        yield of_rows(
            "tag-outside-placement",
            outside,
            "photo",
            "The tagged photo belongs to no visit: its camera has no site in cameras.csv for that "
            "time, or its time cannot be true",
            "Correct start and end in cameras.csv, or the clock in clock.csv; the tag is kept.",
            bucks=tags.bucks(outside),
        )


def _by_time(
    sheet: TagSheet, rows: pd.DataFrame, unknown: pd.DataFrame, tags: TagRows
) -> Iterator[Problem]:
    """That a sheet has lost its ``photo`` column, and rows whose time no photo shows."""
    yield Problem(
        kind="tag-photo-column",
        file=sheet.file,
        column="photo",
        why="The column photo is gone, so each row is taken for the photo at the time in "
        f"taken: {len(rows) - len(unknown):,} of {count(len(rows), 'row')} have one. No new "
        "visits are added to the sheet.",
        how="Put the column back from a copy of the sheet.",
        harm=float(max(len(unknown), 1)),
    )
    if len(unknown):
        yield of_rows(
            "tag-photo-unknown",
            unknown,
            "taken",
            f"No photo of {sheet.camera} shows that time",
            "Correct taken, or put the column photo back.",
            bucks=tags.bucks(unknown),
        )


def _half_filled(rows: pd.DataFrame) -> Iterator[Problem]:
    half = rows[(rows["bucks"] == "") & (rows["others"] != "")]
    if len(half):
        numbers = half["row"].tolist()
        yield Problem(
            kind="tag-half-filled",
            file=half["file"].iloc[0],
            row=numbers[0],
            column="bucks",
            value="",
            why=f"others is filled in and bucks is blank in {count(len(half), 'row')}"
            f"{and_rows(numbers)}, so they count as not looked at yet.",
            how="Write - in bucks where there was no buck you know by name.",
            must_mend=False,
            harm=float(len(half)),
        )
