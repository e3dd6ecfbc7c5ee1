"""What is wrong, or worth knowing, about the rows of the tag sheets.

``visits`` are of `deerlog.ingest.tags.sightings.visit_table`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

import pandas as pd

from deerlog.errors import Problem
from deerlog.ingest.tags.bucks_cell import MOST_NAMES, several_in_one
from deerlog.ingest.tags.tag_workbooks import two_tags
from deerlog.ingest.tags.tags import TAGS, TagRows, TagSheet
from deerlog.property.cell_values import and_rows, rows_in_words
from deerlog.property.matching import BuckNames, fold_name, nearest_name
from deerlog.property.wording import agree, count

CAMERAS_NAMED = 3
NAMED = 12
"""Unlisted names told one by one before the rest is only counted (our choice)."""
_MOST_COMPARED = 100
_LONGEST_NAME = 60
"""Beyond so many letters a cell is no name, and not looked at for slips (our choice)."""
_REMARK = re.compile(r"(.+?) *[(\[](.*)[)\]]?")


def untagged_problems(visits: pd.DataFrame) -> Iterator[Problem]:
    """One thing worth knowing, or none where every visit was looked at."""
    left = visits[~visits["tagged"].astype(bool)]
    if left.empty:
        return
    by_camera = left.groupby("camera").size().sort_values(ascending=False, kind="stable")
    where = [f"{camera} {n}" for camera, n in by_camera.head(CAMERAS_NAMED).items()]
    more = len(by_camera) - len(where)
    where += [f"and {more} more"] * (more > 0)
    first, last = left["first"].min().date(), left["first"].max().date()
    when = f"on {first}" if first == last else f"from {first} to {last}"
    yield Problem(
        kind="not-tagged-yet",
        file="tags/",
        why=f"{count(len(left), 'visit is', 'visits are')} not tagged yet, {when} "
        f"({', '.join(where)}). Until someone looks, nobody knows who came: the days about count "
        "as watched only as far as was looked at.",
        how="Name the bucks on the pages tags/<camera>.html or in the sheets beside them; where "
        "you looked and there was none you know, write -.",
        must_mend=False,
        harm=float(len(left)),
        first_day=first,
        last_day=last,
    )


def tag_problems(tags: TagRows, visits: pd.DataFrame) -> Iterator[Problem]:
    """Problems of the tag sheets, sheet by sheet; rows with one fault are told together.

    What a sheet that cannot be read takes away, where its rows cannot be counted, is as many visits
    as its camera has.
    """
    visits_of = visits["camera"].value_counts()
    by_sheet = dict(list(tags.table.groupby(["file", "camera"], sort=True)))
    for sheet in tags.sheets:
        if sheet.problem:
            harm = sheet.problem.harm
            if sheet.problem.must_mend and not harm:
                harm = float(max(visits_of.get(sheet.camera, 0), 1))
            yield replace(sheet.problem, harm=harm)
        if sheet.table is None:
            continue
        yield from (replace(p, harm=max(p.harm, 1.0)) for p in sheet.table.problems)
        rows = by_sheet.get((sheet.file, sheet.camera))
        if rows is None:
            continue
        yield from _photos(sheet, rows, tags)
        yield from name_problems(rows, tags)
        half = rows.loc[(rows["bucks"] == "") & (rows["others"] != ""), "row"].tolist()
        if half:
            yield Problem(
                kind="tag-half-filled",
                file=sheet.file,
                row=half[0],
                column="bucks",
                value="",
                why=f"others is filled in and bucks is blank in {count(len(half), 'row')}"
                f"{and_rows(half)}, so they count as not looked at yet.",
                how="Write - in bucks where there was no buck you know by name.",
                must_mend=False,
                harm=float(len(half)),
            )
    n = len(tags.left_out)
    if n:
        yield Problem(
            kind="names-too-many",
            file=f"{TAGS}/",
            column="bucks",
            value=min(tags.left_out),
            why=f"{n + MOST_NAMES:,} different names in bucks are not in bucks.csv; so many cannot "
            "be bucks: it looks as if something else was written into that column. The "
            f"{MOST_NAMES} most used are taken for bucks, and the other {n:,} are left out of "
            "every figure.",
            how="Move notes into notes and other animals into others; add the bucks to bucks.csv.",
            harm=float(n),
        )
    yield from two_tags(tags)


def _photos(sheet: TagSheet, rows: pd.DataFrame, tags: TagRows) -> Iterator[Problem]:
    """Rows whose photo is not known, or belongs to no visit; and that a column is gone."""
    camera = sheet.camera
    lost, other = rows["photo_id"] < 0, rows["times_there"] != ""
    named = rows["bucks"].map(lambda text: bool(tags.cells[text].names)).astype(bool)
    unknown = rows[lost & ~other]
    column, why, how = (
        "photo",
        f"The photo log knows no such photo of {camera}, neither by path nor by file name and time",
        "Correct the path, or the file name and taken; or put the pictures (or a CSV with "
        f"file,taken) back below cards/{camera}/ and run ingest.",
    )
    if sheet.by_time:
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
        column, why = "taken", f"No photo of {camera} shows that time"
        how = "Correct taken, or put the column photo back."
    faults = [("tag-photo-unknown", unknown, column, why, how)]
    if other.any():
        first = rows[other].iloc[0]
        why = (
            "That is the time of no photo that lies, or is known to have lain, at "
            f"{first['photo']} ({first['times_there']}), as if another picture of the same name "
            "was meant; the row counts for no visit"
        )
        how = (
            "Write into taken the time of the photo that is meant, as YYYY-MM-DD HH:MM:SS; or "
            "correct the path in photo."
        )
        faults.append(("tag-taken", rows[other], "taken", why, how))
    why = (
        "The tagged photo belongs to no visit: its camera has no site in cameras.csv for that "
        "time, or its time cannot be true"
    )
    how = "Correct start and end in cameras.csv, or the clock in clock.csv; the tag is kept."
    outside = rows[~lost & (rows["visit"] < 0) & named]
    faults.append(("tag-outside-placement", outside, "photo", why, how))
    for kind, group, column, why, how in faults:
        if len(group):
            yield of_rows(kind, group, column, why, how, bucks=tags.bucks(group))


def of_rows(kind: str, rows: pd.DataFrame, column: str, why: str, how: str, **also: Any) -> Problem:
    """One problem of some rows of a sheet, which ``why`` names in place of its last full stop."""
    first, numbers = rows.iloc[0], rows["row"].tolist()
    about: dict[str, Any] = {"value": str(first[column]), "harm": float(len(numbers))} | also
    why = f"{why}{and_rows(numbers)}."
    place = {"file": first["file"], "row": numbers[0], "column": column}
    return Problem(kind=kind, why=why, how=how, **(place | about))


def name_problems(rows: pd.DataFrame, tags: TagRows) -> Iterator[Problem]:
    """Names of one sheet that are none, or not as in bucks.csv, each with all its rows."""
    where: dict[str, list[int]] = {}
    turned: dict[str, list[int]] = {}
    no_names: dict[tuple[str, str], list[int]] = {}
    for place, text in enumerate(rows["bucks"].tolist()):
        cell = tags.cells[text]
        for name in (tagged.name for tagged in cell.names):
            where.setdefault(name, []).append(place)
        for part in cell.turned:
            turned.setdefault(part, []).append(place)
        for word in cell.no_names:
            no_names.setdefault(word, []).append(place)
    for name, places in where.items():
        yield from _name(name, rows.iloc[places], tags.known)
    for part, places in turned.items():
        yield of_rows(
            "tag-turned",
            rows.iloc[places],
            "bucks",
            f"{part!r} is a date, a number or an error, such as spreadsheet programs make of a "
            "name; it is taken for no buck",
            "Format the column as text and write the name again; or, if this is his name, add it "
            "to bucks.csv.",
            value=part,
        )
    for (no_name, how), places in no_names.items():
        yield of_rows(
            "tag-no-name",
            rows.iloc[places],
            "bucks",
            f"{no_name} is no name of a buck; until mended it counts neither as a buck nor as a "
            "look that found none",
            f"{how} If it is a buck's name, add it to bucks.csv.",
            value=no_name,
        )


def _name(name: str, rows: pd.DataFrame, known: BuckNames) -> Iterator[Problem]:
    """What is wrong with a name as it stands in some rows."""
    listed = known.listed(name) is not None
    together, meant = ((), "") if listed else _listed_inside(name, known)
    near = known.near(name) if len(name) <= _LONGEST_NAME else None
    bucks: Iterable[str]
    if together:
        kind, bucks = "tag-separator", map(known.canonical, together)
        why = f"{' and '.join(together)} are in one name; names are separated by ';'"
        how = f"Write {'; '.join(together)}."
    elif meant:
        kind, bucks = "tag-remark", [known.canonical(meant)]
        why = f"{name} is {meant} with a remark, which makes another buck of him"
        how = f"Write {meant}, or {meant}? if it may be another; remarks go into notes."
    elif near and listed:
        kind, bucks = "tag-spelling", [near.name]
        why = f"{name} has {near.why}; it is taken as {near.name}"
        how = f"Write {near.written_like}, so that the sheet can be sorted by name."
    elif near:
        kind, bucks = "tag-typo", [near.name, *near.others]
        others = f" (or {', '.join(near.others)})" if near.others else ""
        why = (
            f"{name} is {near.why}{others}, and not in bucks.csv; until mended it counts as "
            "another buck"
        )
        how = f"Write {near.written_like} if he is meant; if not, add {name} to bucks.csv."
    else:
        return
    also = {"value": name, "bucks": tuple(dict.fromkeys(bucks)), "must_mend": not listed}
    yield of_rows(kind, rows, "bucks", why, how, **also)


def _listed_inside(name: str, known: BuckNames) -> tuple[tuple[str, ...], str]:
    """The listed names that an unlisted one is made of; and the one it is, with a remark."""
    remark = _REMARK.fullmatch(name)
    return several_in_one(name, known), remark[1] if remark and known.listed(remark[1]) else ""


def unlisted_names(tags: TagRows) -> Iterator[Problem]:
    """One item for all names that bucks.csv does not list; and each that is spelled in two ways.

    Those that have a problem of their own are left out: slips for a listed buck, several in one.
    """
    known = tags.known
    where: dict[str, dict[str, list[int]]] = {}
    columns = (tags.table[name].tolist() for name in ("file", "row", "bucks"))
    for file, row, text in zip(*columns, strict=True):
        for each in tags.cells[text].names:
            if known.listed(each.name) is None:
                name = known.canonical(each.name)
                where.setdefault(name, {}).setdefault(file, []).append(row)
    uses = {name: sum(map(len, files.values())) for name, files in where.items()}
    order = [
        name
        for name in sorted(where, key=lambda name: (-uses[name], name))
        if not any(_listed_inside(name, known))
        and (len(name) > _LONGEST_NAME or known.near(name) is None)
    ]
    if not order:
        return
    said = [f"{name} ({_places(where[name])})" for name in order[:NAMED]]
    more = f"; and {len(order) - NAMED:,} more" if len(order) > NAMED else ""
    names = count(len(order), "name is", "names are")
    yield Problem(
        kind="names-not-listed",
        file=f"{TAGS}/",
        column="bucks",
        value=order[0],
        why=f"{names} not in bucks.csv, most used first: {'; '.join(said)}{more}. "
        f"{agree(len(order), 'It counts as a buck', 'Each counts as a buck of its own')}.",
        how="Add those that are bucks to bucks.csv, one a row; correct what is a slip; write - "
        "where it is no buck.",
        must_mend=False,
        harm=float(sum(uses[name] for name in order)),
    )
    # Those that are probably another unlisted one, used as often or more.
    compared = [name for name in order if len(name) <= _LONGEST_NAME][:_MOST_COMPARED]
    for i, name in enumerate(compared):
        near = nearest_name(name, ((other, other) for other in compared[:i]))
        if near is not None and fold_name(name):
            file, rows = next(iter(where[name].items()))
            yield Problem(
                kind="names-alike",
                file=file,
                row=rows[0],
                column="bucks",
                value=name,
                why=f"{name} ({_places(where[name])}) {'is' if near.letters_off else 'has'} "
                f"{near.why}, which stands in {count(uses[near.name], 'row')}; neither is in "
                "bucks.csv, so they count as two bucks.",
                how=f"Write {near.name} if he is meant. If they are two bucks, add both to "
                "bucks.csv.",
                harm=float(uses[name]),
                bucks=tuple(sorted((name, near.name))),
            )


def _places(files: dict[str, list[int]]) -> str:
    return ", ".join(f"{file} {rows_in_words(rows)}" for file, rows in files.items())
