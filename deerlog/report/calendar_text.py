"""The recommended sits as an iCalendar file (RFC 5545): one event a sit."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime

from deerlog.analysis.plan.planned_sits import PlannedSit
from deerlog.report.plan_words import part_of_day, why
from deerlog.report.words import SAFETY, interval, percent

LINE_OCTETS = 75
"""Longest line, without its end (RFC 5545, section 3.1)."""


def calendar_text(
    sits: Iterable[PlannedSit],
    *,
    property_name: str,
    made: datetime,
    positions: Mapping[str, tuple[float, float]],
) -> str:
    """The calendar. The same plan gives the same bytes: no clock is read.

    An event runs from the first to the last minute of the sit, both in shooting light. Its
    identifier hangs on the property, stand, day and half alone, so that a plan made anew replaces
    the event of the old one.

    Parameters
    ----------
    sits
        Those with the advice ``sit`` become events, in the order given.
    made
        The moment the plan stands on (aware): the end of the last day it knows.
    positions
        Latitude and longitude of the stands that have them, degrees.

    Raises
    ------
    ValueError
        A time is not aware.
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
        if sit.advice == "sit" and sit.starts is not None and sit.ends is not None:
            lines += _event(sit, property_name, made, positions.get(sit.place))
    lines.append("END:VCALENDAR")
    return "".join(f"{part}\r\n" for line in lines for part in _folded(line))


def _event(
    sit: PlannedSit, property_name: str, made: datetime, position: tuple[float, float] | None
) -> list[str]:
    assert sit.starts is not None and sit.ends is not None
    title = f"{sit.place}, {part_of_day(sit.half)} sit: {sit.buck} {percent(sit.chance)}"
    words = (
        f"{percent(sit.chance)} ({interval(sit.low, sit.high)}): the chance of at least one visit "
        f"on camera in shooting light in that half of the day. {why(sit)}."
    )
    lines = [
        "BEGIN:VEVENT",
        f"UID:{_identifier(property_name, sit.place, sit.day, sit.half)}",
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


def _identifier(property_name: str, place: str, day: date, half: str) -> str:
    key = "\n".join((property_name, place, day.isoformat(), half))
    return f"{hashlib.sha256(key.encode()).hexdigest()[:32]}@deerlog"


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
