"""The files of one plan: plan.csv, and the recommended sits as an iCalendar file (RFC 5545)."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path

import pandas as pd

from deerlog.analysis.plan.planned_sits import PlannedSit
from deerlog.report.tables import TABLE_COLUMNS, table_text
from deerlog.report.words.plan_words import why
from deerlog.report.words.words import SAFETY, half, interval, percent
from deerlog.report.write import PLAN_FILES, write_report
from deerlog.study import PropertyStudy
from deerlog.study.plan import ComingPlan, every_site

LINE_OCTETS = 75
"""Longest line, without its end (RFC 5545, section 3.1)."""


def calendar_text(
    sits: Iterable[PlannedSit],
    *,
    property_name: str,
    made: datetime,
    positions: Mapping[str, tuple[float, float]],
) -> str:
    """The calendar: an event for each sit that is advised. The same plan gives the same bytes: no
    clock is read.

    An event runs from the first to the last minute of the sit, both in shooting light. Its
    identifier hangs on the property, stand, day and half alone, so that a plan made anew replaces
    the event of the old one. ``made`` is the moment the plan stands on (aware): the end of the last
    day it knows; ``positions`` are latitude and longitude of stands, degrees.
    """
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//deerlog//plan//EN",
        "CALSCALE:GREGORIAN",
        # NAME and DESCRIPTION of a calendar: RFC 7986, section 5.
        f"NAME:{_text(f'Sits at {property_name}')}",
        f"DESCRIPTION:{_text(' '.join(SAFETY))}",
    ]
    for sit in sits:
        if sit.advice == "sit":
            lines += _event(sit, property_name, made, positions.get(sit.place))
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in _folded(line))


def _event(
    sit: PlannedSit, property_name: str, made: datetime, position: tuple[float, float] | None
) -> list[str]:
    assert sit.starts is not None and sit.ends is not None
    key = "\n".join((property_name, sit.place, sit.day.isoformat(), sit.half))
    title = f"{sit.place}, {half(sit.half)} sit: {sit.buck} {percent(sit.chance)}"
    words = (
        f"{percent(sit.chance)} ({interval(sit.low, sit.high)}): the chance of at least one visit "
        f"on camera in shooting light in that half of the day. {why(sit)}."
    )
    lines = [
        "BEGIN:VEVENT",
        f"UID:{hashlib.sha256(key.encode()).hexdigest()[:32]}@deerlog",
        f"DTSTAMP:{_instant(made)}",
        f"DTSTART:{_instant(sit.starts)}",
        f"DTEND:{_instant(sit.ends)}",
        f"SUMMARY:{_text(title)}",
        f"LOCATION:{_text(sit.place)}",
        f"DESCRIPTION:{_text(words)}",
        # A suggestion takes no one's time until it is accepted.
        "TRANSP:TRANSPARENT",
    ]
    if position is not None:
        lines.append(f"GEO:{position[0]:.6f};{position[1]:.6f}")
    return [*lines, "END:VEVENT"]


def _instant(when: datetime) -> str:
    if when.tzinfo is None:
        raise ValueError("the times of a sit must be aware")
    return when.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")


def _text(value: str) -> str:
    """A TEXT value, escaped (RFC 5545, section 3.3.11); other control characters have no place."""
    escaped = value.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    escaped = escaped.replace("\r\n", "\n").replace("\r", "\n").replace("\n", "\\n")
    return "".join(c if c >= " " and c != "\x7f" else " " for c in escaped)


def _folded(line: str) -> Iterator[str]:
    """A line in parts of at most `LINE_OCTETS` octets, never inside a character (section 3.1)."""
    part, size = "", 0
    for character in line:
        octets = len(character.encode())
        if size + octets > LINE_OCTETS:
            yield part
            # The space that marks a continued line counts.
            part, size = " ", 1
        part += character
        size += octets
    yield part


COLUMNS = list(TABLE_COLUMNS["plan.csv"])


def plan_rows(made: ComingPlan) -> pd.DataFrame:
    """One row a stand and half-day, in the plan's order."""
    rows = [[*(getattr(sit, name) for name in COLUMNS[:-1]), why(sit)] for sit in made.sits]
    return pd.DataFrame(rows, columns=COLUMNS)


def site_rows(made: ComingPlan, every: pd.DataFrame) -> pd.DataFrame:
    """One row a running site, buck and half-day, in order of time; ``every`` is of
    `deerlog.study.plan.every_site`.

    A row of a site that a stand covers bears the advice for that stand; of several stands, that of
    the better one.
    """
    of_stand = {(sit.day, sit.half, sit.place): rank for rank, sit in enumerate(made.sits)}
    rows = []
    for row in every.to_dict("records"):
        row["day"] = row["day"].date()
        keys = [(row["day"], row["half"], p) for p in row["stands"] or (row["site"],)]
        ranks = [of_stand[key] for key in keys if key in of_stand]
        told = {"stand": "", "advice": "", "why": ""}
        if ranks:
            best = made.sits[min(ranks)]
            told = {"stand": best.stand, "advice": best.advice, "why": why(best)}
        rows.append(row | told)
    return pd.DataFrame(rows, columns=COLUMNS)


def plan_files(
    study: PropertyStudy, made: ComingPlan, *, all_sites: bool = False, places: bool = False
) -> dict[str, str]:
    """plan.csv, with ``all_sites`` of `site_rows`, and plan.ics; the same study and plan give the
    same bytes.

    The calendar goes to others who hold or read it: coordinates of stands only where ``places``
    asks for them.
    """
    rows = site_rows(made, every_site(study, made)) if all_sites else plan_rows(made)
    stands = study.place.stands.dropna(subset=["latitude", "longitude"])
    where = zip(stands["latitude"], stands["longitude"], strict=True)
    return {
        "plan.csv": table_text("plan.csv", rows),
        "plan.ics": calendar_text(
            made.sits,
            property_name=study.place.settings.name,
            made=study.last_moment.to_pydatetime(),
            positions=dict(zip(stands["stand"], where, strict=True)) if places else {},
        ),
    }


def write_plan(
    study: PropertyStudy, made: ComingPlan, *, all_sites: bool = False, places: bool = False
) -> Path:
    """Write ``reports/<day before the plan>/``, which is returned; a report there is kept."""
    folder = study.place.folder / "reports" / made.as_of.isoformat()
    files = plan_files(study, made, all_sites=all_sites, places=places)
    return write_report(folder, files, own=PLAN_FILES)
