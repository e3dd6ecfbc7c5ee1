"""plan.ics, read back with a general iCalendar library."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import settings as budget
from hypothesis import strategies as st
from icalendar import Calendar

from deerlog.analysis.plan.planned_sits import PlannedSit, Veto
from deerlog.analysis.plan.stand_chances import Behind
from deerlog.report.plan_files import calendar_text
from deerlog.report.words.words import SAFETY

ZONE = ZoneInfo("America/Chicago")
MADE = datetime(2025, 11, 8, 6, 0, tzinfo=UTC)
SIT = PlannedSit(
    day=date(2025, 11, 8), half="AM", stand="Ford; ladder, north\\side", site="Ford",
    buck="Lantern Jaw", chance=0.137, low=0.06, high=0.26, around=0.93, any_chance=0.2,
    n_bucks=2, winds=("N", "NW"), wind_known=False,
    behind=Behind(recent_seen=3, recent_watched=27, past_seen=1, past_watched=22, phase="rut",
                  recent_visits=9, recent_in_light=4),
    starts=datetime(2025, 11, 8, 6, 13, tzinfo=ZONE),
    ends=datetime(2025, 11, 8, 10, 13, tzinfo=ZONE),
)  # fmt: skip
EVENING = replace(
    SIT, half="PM", stand="Öak 🦌" * 20, starts=SIT.starts + timedelta(hours=7),  # type: ignore[operator]
    ends=SIT.ends + timedelta(hours=7),  # type: ignore[operator]
)  # fmt: skip
OUT = replace(SIT, day=date(2025, 11, 9), vetoes=(Veto(rule="rest"),))


def text(*sits: PlannedSit, name: str = "Hollow Fork") -> str:
    return calendar_text(sits, property_name=name, made=MADE, positions={SIT.stand: (40.31, -92.3)})


def test_one_event_a_recommended_sit_from_and_to_as_planned() -> None:
    parsed = Calendar.from_ical(text(SIT, OUT, EVENING))
    assert parsed["VERSION"] == "2.0" and not parsed.errors
    events = parsed.walk("VEVENT")
    assert [e.decoded("DTSTART") for e in events] == [SIT.starts, EVENING.starts]
    assert [e.decoded("DTEND") for e in events] == [SIT.ends, EVENING.ends]
    assert events[0].decoded("DTSTART").tzinfo is not None
    assert events[0].decoded("DTSTAMP") == MADE
    assert events[0]["LOCATION"] == SIT.stand
    assert events[0]["SUMMARY"] == f"{SIT.stand}, morning sit: Lantern Jaw 14%"
    assert events[0]["GEO"].latitude == 40.31 and events[0]["GEO"].longitude == -92.3
    assert "3 of the last 27 mornings watched" in events[0]["DESCRIPTION"]
    assert events[1]["LOCATION"] == EVENING.stand and "GEO" not in events[1]
    assert not any(e.errors for e in events)


def test_safety_once() -> None:
    written = text(SIT, EVENING)
    parsed = Calendar.from_ical(written)
    assert parsed["DESCRIPTION"] == " ".join(SAFETY)
    assert written.replace("\r\n ", "").count("harness") == 1


def test_lines_end_and_fold_as_the_standard_has_it() -> None:
    written = text(SIT, EVENING)
    assert written.endswith("END:VCALENDAR\r\n")
    assert "\n" not in written.replace("\r\n", "") and "\r" not in written.replace("\r\n", "")
    assert max(len(line.encode()) for line in written.split("\r\n")) == 75


def test_same_plan_same_bytes_and_lasting_identifiers() -> None:
    assert text(SIT, EVENING) == text(SIT, EVENING)

    def identifiers(*sits: PlannedSit, name: str = "x") -> list[str]:
        return [str(e["UID"]) for e in Calendar.from_ical(text(*sits, name=name)).walk("VEVENT")]

    first = identifiers(SIT, EVENING)
    assert len(set(first)) == 2
    # A plan made anew, with other chances, replaces the event rather than adding one.
    assert identifiers(replace(SIT, chance=0.5, buck="Other"), EVENING) == first
    assert not set(identifiers(SIT, EVENING, name="y")) & set(first)


def test_no_sit_is_a_calendar_too() -> None:
    parsed = Calendar.from_ical(text(OUT))
    assert parsed.walk("VEVENT") == []


@budget(max_examples=60, deadline=None)
@given(st.text(max_size=90))
def test_any_name_comes_back(name: str) -> None:
    (event,) = Calendar.from_ical(text(replace(SIT, stand=name, site="s"))).walk("VEVENT")
    expected = name or "s"
    # A carriage return becomes a line feed, other control characters a space.
    expected = expected.replace("\r\n", "\n").replace("\r", "\n")
    expected = "".join(c if (c >= " " and c != "\x7f") or c == "\n" else " " for c in expected)
    assert str(event["LOCATION"]) == expected


def test_a_naive_time_is_refused() -> None:
    # A naive time would be taken for the zone of the machine.
    with pytest.raises(ValueError, match="aware"):
        calendar_text(
            [replace(SIT, starts=datetime(2025, 11, 8, 6, 13))],  # noqa: DTZ001
            property_name="x", made=MADE, positions={},
        )  # fmt: skip
