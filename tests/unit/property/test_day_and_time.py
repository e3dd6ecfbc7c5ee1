"""Days and times, also as spreadsheet programs rewrite them."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import settings as budget
from hypothesis import strategies as st

from deerlog.property.cell_values import CellError
from deerlog.property.day_and_time import parse_day, parse_moment, parse_time

APRIL_13 = date(2025, 4, 13)


@pytest.mark.parametrize(
    "text",
    [
        "2025-04-13",
        "2025-4-13",
        "2025/04/13",
        "2025.04.13",
        "13/04/2025",
        "4/13/2025",
        "13.04.2025",
        "13-4-2025",
        "4/13/25",
        "13-Apr-2025",
        "13-Apr-25",
        "13 April 2025",
        "13. April 2025",
        "13th April, 2025",
        "Apr 13, 2025",
        "April 13 2025",
        "Apr. 13, 2025",
        "Sunday, April 13, 2025",
        "Sun 13 Apr 2025",
        "2025-Apr-13",
        "2025-04-13 00:00:00",
        "4/13/2025 0:00",
    ],
)
def test_days(text: str) -> None:
    assert parse_day(text) == APRIL_13


@pytest.mark.parametrize(
    ("text", "time"),
    [
        ("2025-04-13 19:05", (19, 5, 0)),
        ("2025-04-13T19:05:09", (19, 5, 9)),
        ("2025-04-13  7:05", (7, 5, 0)),
        ("2025:04:13 19:05:09", (19, 5, 9)),
        ("13/04/2025 19:05", (19, 5, 0)),
        ("4/13/2025 7:05 PM", (19, 5, 0)),
        ("4/13/2025 7:05:09\u202fPM", (19, 5, 9)),
        ("4/13/2025, 7:05 p.m.", (19, 5, 0)),
        ("4/13/2025 12:05 AM", (0, 5, 0)),
        ("4/13/2025 12:05 PM", (12, 5, 0)),
        ("13-Apr-2025 19:05", (19, 5, 0)),
        ("Apr 13, 2025 7:05am", (7, 5, 0)),
    ],
)
def test_times(text: str, time: tuple[int, int, int]) -> None:
    assert parse_time(text) == datetime(2025, 4, 13, *time)  # noqa: DTZ001


def test_a_part_of_a_second_is_kept() -> None:
    assert parse_time("2025-04-13 19:05:09.25").microsecond == 250_000


@pytest.mark.parametrize(
    ("text", "readings"),
    [
        ("03/04/2025", ("2025-03-04", "2025-04-03")),
        ("3-4-2025", ("2025-03-04", "2025-04-03")),
        ("13/04/25", ("2013-04-25", "2025-04-13")),
    ],
)
def test_an_ambiguous_day_is_refused_with_what_it_may_mean(
    text: str, readings: tuple[str, ...]
) -> None:
    for written in (text, f"{text} 19:05"):
        with pytest.raises(CellError) as caught:
            parse_moment(written)
        assert "two ways" in caught.value.what
        assert all(reading in caught.value.how for reading in readings)


def test_the_same_figure_twice_is_not_ambiguous() -> None:
    assert parse_day("04/04/2025") == date(2025, 4, 4)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not a day or time"),
        ("soon", "not a day or time"),
        ("2025-02-29", "not a day or time that there is"),
        ("31/02/2025", "not a day of the calendar"),
        ("2025-13-01", "not a day or time that there is"),
        ("2025-04-13 24:00", "not a day or time that there is"),
        ("2025-04-13 13:05 PM", "no clock shows"),
        ("2025-04-13 19:05Z", "time zone"),
        ("2025-04-13 19:05 -06:00", "time zone"),
        ("45760", "perhaps 2025-04-13"),
        ("45760.795", "spreadsheet's day number"),
        ("13-Apr", "no year"),
        ("Apr-13", "no year"),
        ("13-Abr-2025", "not a month"),
        ("4/13/88", "year is not clear"),
        ("1066-10-14", "outside 1970 to 2100"),
        ("20250413", "not a day or time"),
        ("2025-W15-1", "not a day or time"),
        ("٢٠٢٥-٠٤-١٣", "not a day or time"),
    ],
)
def test_what_is_no_day_is_refused_in_words(text: str, words: str) -> None:
    with pytest.raises(CellError) as caught:
        parse_moment(text)
    assert words in caught.value.what
    assert caught.value.how


def test_a_day_is_no_time_and_a_time_is_no_day() -> None:
    with pytest.raises(CellError, match="no time of day"):
        parse_time("2025-04-13")
    with pytest.raises(CellError, match="a day is wanted"):
        parse_day("2025-04-13 19:05")


def test_a_zone_is_read_where_allowed() -> None:
    moment = parse_moment("2025-04-13T19:05:00-06:00", zone_allowed=True)
    assert moment.time.utcoffset() == timedelta(hours=-6)
    assert parse_moment("2025-04-13 19:05 Z", zone_allowed=True).time.tzinfo == timezone.utc  # noqa: UP017
    with pytest.raises(CellError, match="not a time zone"):
        parse_moment("2025-04-13 19:05 +99:00", zone_allowed=True)


def test_a_bare_day_closes_an_interval_after_its_end() -> None:
    day, time = parse_moment("2025-04-13"), parse_moment("2025-04-13 10:00")
    assert day.time == datetime(2025, 4, 13)  # noqa: DTZ001
    assert day.ends == datetime(2025, 4, 14)  # noqa: DTZ001
    assert time.time == time.ends == datetime(2025, 4, 13, 10)  # noqa: DTZ001


@budget(max_examples=100, deadline=None)
@given(st.datetimes(datetime(1971, 1, 1), datetime(2099, 1, 1)))  # noqa: DTZ001
def test_every_form_is_read_rightly_or_refused(time: datetime) -> None:
    time = time.replace(microsecond=0)
    hour = time.hour % 12 or 12
    half = "AM" if time.hour < 12 else "PM"
    day_first, month_first = f"{time:%d/%m/%Y}", f"{time.month}/{time.day}/{time.year}"
    assert parse_time(f"{time:%Y-%m-%d %H:%M:%S}") == time
    assert parse_time(f"{time:%d-%b-%Y} {hour}:{time:%M:%S} {half}") == time
    for written in (day_first, month_first):
        if time.day <= 12 and time.day != time.month:
            with pytest.raises(CellError):
                parse_day(written)
        else:
            assert parse_day(written) == time.date()


@budget(max_examples=200, deadline=None)
@given(st.text(max_size=20))
def test_no_text_leads_to_a_traceback(text: str) -> None:
    try:
        parse_moment(text, zone_allowed=True)
    except CellError as error:
        assert error.how
