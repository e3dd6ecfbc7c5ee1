"""Visits that nobody has looked at yet, in words.

What is wrong, or worth knowing, about the rows of the tag sheets.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.tags.tags import BucksCell, TagRows, TagSheet, several_in_one
from deerlog.property.cell_values import and_rows, counted
from deerlog.property.matching import BuckNames

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
            why=f"{counted(len(left), 'visit is', 'visits are')} not tagged yet, {when} ({where}). "
            "Until someone looks, nobody knows who came: the days about count as watched only as "
            "far as was looked at.",
            how="Name the bucks in the sheets in tags/; where you looked and there was none you "
            "know, write -.",
            must_mend=False,
            harm=float(len(left)),
            first_day=first,
            last_day=last,
        )
    ]


def tag_problems(
    sheets: Iterable[TagSheet],
    tags: TagRows,
    cells: Mapping[str, BucksCell],
    known: BuckNames,
    visits_of: Mapping[str, int],
) -> list[Problem]:
    """Problems of the tag sheets, sheet by sheet; rows with one fault are told together.

    Parameters
    ----------
    sheets, tags, cells, known
        The sheets, their rows tied to photos, their cells understood, and the bucks there are.
    visits_of
        How many visits each camera has: what a sheet that cannot be read takes away, where its
        rows cannot be counted.
    """
    problems: list[Problem] = []
    by_sheet = dict(list(tags.table.groupby(["file", "camera"], sort=True)))
    for sheet in sheets:
        if sheet.problem:
            lost = sheet.problem.harm or float(max(visits_of.get(sheet.camera, 0), 1))
            harm = lost if sheet.problem.must_mend else sheet.problem.harm
            problems.append(replace(sheet.problem, harm=harm))
        if sheet.table is None:
            continue
        problems.extend(replace(p, harm=max(p.harm, 1.0)) for p in sheet.table.problems)
        rows = by_sheet.get((sheet.file, sheet.camera))
        if rows is not None:
            problems.extend(_unknown_photos(sheet, rows, cells, known))
            problems.extend(_other_times(sheet, rows, cells, known))
            problems.extend(_no_visit(sheet, rows, cells, known))
            problems.extend(_names(sheet, rows, cells, known))
            problems.extend(_half_filled(sheet, rows))
    return problems


def _unknown_photos(
    sheet: TagSheet, rows: pd.DataFrame, cells: Mapping[str, BucksCell], known: BuckNames
) -> Iterable[Problem]:
    lost = rows[(rows["photo_id"] < 0) & (rows["times_there"] == "")]
    if len(lost):
        yield Problem(
            kind="tag-photo-unknown",
            file=sheet.file,
            row=int(lost["row"].iloc[0]),
            column="photo",
            value=str(lost["photo"].iloc[0]),
            why=f"The photo log knows no such photo of {sheet.camera}, neither by path nor by "
            f"file name and time{and_rows(lost['row'].tolist())}.",
            how="Correct the path, or the file name and taken; or put the pictures (or a CSV with "
            f"file,taken) back below cards/{sheet.camera}/ and run ingest.",
            harm=float(len(lost)),
            bucks=_bucks(lost, cells, known),
        )


def _other_times(
    sheet: TagSheet, rows: pd.DataFrame, cells: Mapping[str, BucksCell], known: BuckNames
) -> Iterable[Problem]:
    lost = rows[rows["times_there"] != ""]
    if len(lost):
        times = str(lost["times_there"].iloc[0])
        yield Problem(
            kind="tag-taken",
            file=sheet.file,
            row=int(lost["row"].iloc[0]),
            column="taken",
            value=str(lost["taken"].iloc[0]),
            why="That is the time of no photo that lies, or is known to have lain, at "
            f"{lost['photo'].iloc[0]} ({times}), as if another picture of the same name was meant; "
            f"the row counts for no visit{and_rows(lost['row'].tolist())}.",
            how="Write into taken the time of the photo that is meant, as YYYY-MM-DD HH:MM:SS; or "
            "correct the path in photo.",
            harm=float(len(lost)),
            bucks=_bucks(lost, cells, known),
        )


def _no_visit(
    sheet: TagSheet, rows: pd.DataFrame, cells: Mapping[str, BucksCell], known: BuckNames
) -> Iterable[Problem]:
    named = rows["bucks"].map(lambda text: bool(cells[text].names)).astype(bool)
    outside = rows[(rows["photo_id"] >= 0) & (rows["visit"] < 0) & named]
    if len(outside):
        yield Problem(
            kind="tag-outside-placement",
            file=sheet.file,
            row=int(outside["row"].iloc[0]),
            column="photo",
            value=str(outside["photo"].iloc[0]),
            why="The tagged photo belongs to no visit: its camera has no site in cameras.csv for "
            f"that time, or its time cannot be true{and_rows(outside['row'].tolist())}.",
            how="Correct start and end in cameras.csv, or the clock in clock.csv; the tag is kept.",
            harm=float(len(outside)),
            bucks=_bucks(outside, cells, known),
        )


def _bucks(rows: pd.DataFrame, cells: Mapping[str, BucksCell], known: BuckNames) -> tuple[str, ...]:
    """The bucks tagged in some rows, in order of name."""
    names = {tagged.name for text in rows["bucks"].unique() for tagged in cells[text].names}
    return tuple(sorted({known.canonical(name) for name in names}))


def _names(
    sheet: TagSheet, rows: pd.DataFrame, cells: Mapping[str, BucksCell], known: BuckNames
) -> Iterable[Problem]:
    where: dict[str, list[int]] = {}
    turned: dict[str, list[int]] = {}
    for row, text in zip(rows["row"].tolist(), rows["bucks"].tolist(), strict=True):
        for tagged in cells[text].names:
            where.setdefault(tagged.name, []).append(row)
        for part in cells[text].turned:
            turned.setdefault(part, []).append(row)
    for name, numbers in where.items():
        together = several_in_one(name, known)
        near = known.near(name)
        if known.listed(name) is None and together:
            yield Problem(
                kind="tag-separator",
                file=sheet.file,
                row=numbers[0],
                column="bucks",
                value=name,
                why=f"{' and '.join(together)} are in one name; names are separated by ';'"
                f"{and_rows(numbers)}.",
                how=f"Write {'; '.join(together)}.",
                harm=float(len(numbers)),
                bucks=tuple(dict.fromkeys(known.canonical(part) for part in together)),
            )
        elif near is None:
            continue
        elif known.listed(name) is not None:
            yield Problem(
                kind="tag-spelling",
                file=sheet.file,
                row=numbers[0],
                column="bucks",
                value=name,
                why=f"{name} has {near.why}; it is taken as {near.name}{and_rows(numbers)}.",
                how=f"Write {near.written_like}, so that the sheet can be sorted by name.",
                must_mend=False,
                harm=float(len(numbers)),
                bucks=(near.name,),
            )
        else:
            others = f" (or {', '.join(near.others)})" if near.others else ""
            yield Problem(
                kind="tag-typo",
                file=sheet.file,
                row=numbers[0],
                column="bucks",
                value=name,
                why=f"{name} is {near.why}{others}, and not in bucks.csv; until mended it counts "
                f"as another buck{and_rows(numbers)}.",
                how=f"Write {near.written_like} if he is meant; if not, add {name} to bucks.csv.",
                harm=float(len(numbers)),
                bucks=(near.name, *near.others),
            )
    for part, numbers in turned.items():
        yield Problem(
            kind="tag-turned",
            file=sheet.file,
            row=numbers[0],
            column="bucks",
            value=part,
            why=f"{part!r} is a date, a number or an error, such as spreadsheet programs make of "
            f"a name; it is taken for no buck{and_rows(numbers)}.",
            how="Format the column as text and write the name again; or, if this is his name, "
            "add it to bucks.csv.",
            harm=float(len(numbers)),
        )


def _half_filled(sheet: TagSheet, rows: pd.DataFrame) -> Iterable[Problem]:
    half = rows[(rows["bucks"] == "") & (rows["others"] != "")]
    if len(half):
        yield Problem(
            kind="tag-half-filled",
            file=sheet.file,
            row=int(half["row"].iloc[0]),
            column="bucks",
            value="",
            why=f"others is filled in and bucks is blank in {counted(len(half), 'row', 'rows')}"
            f"{and_rows(half['row'].tolist())}, so they count as not looked at yet.",
            how="Write - in bucks where there was no buck you know by name.",
            must_mend=False,
            harm=float(len(half)),
        )
