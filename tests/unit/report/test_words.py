from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from invented.invented_page import chances
from invented.small_property import SETTINGS

from deerlog.property.settings import settings_from_text
from deerlog.report.words import words


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (date(2025, 11, 7), date(2025, 11, 16), "7 to 16 November 2025"),
        (date(2025, 10, 28), date(2025, 11, 3), "28 October to 3 November 2025"),
        (date(2025, 12, 28), date(2026, 1, 3), "28 December 2025 to 3 January 2026"),
        (date(2025, 11, 7), date(2025, 11, 7), "7 November 2025"),
    ],
)
def test_days_in_plain_words(first: date, last: date, said: str) -> None:
    assert words.span(first, last) == said


@pytest.mark.parametrize(
    ("share_found", "said"),
    [
        (0.0, "0%"),
        (0.0049, "under 1%"),
        (0.005, "0%"),
        (0.273, "27%"),
        (0.996, "over 99%"),
        (1.0, "100%"),
        (None, "not known"),
    ],
)
def test_percent(share_found: float | None, said: str) -> None:
    assert words.percent(share_found) == said


@pytest.mark.parametrize(
    ("score", "said"),
    [
        (0.0, "under 1"),
        (0.4, "under 1"),
        (0.6, "1"),
        (79.6, "80"),
        (99.4, "99"),
        (100.0, "over 99"),
    ],
)
def test_no_score_is_told_as_certain(score: float, said: str) -> None:
    assert words.score(score) == said


def test_a_share_of_nothing_is_no_rate() -> None:
    assert words.share_words(None, None, None) == "no visits"


@pytest.mark.parametrize(
    ("when", "said"),
    [
        (date(2025, 11, 16), "today"),
        (date(2025, 11, 15), "yesterday"),
        (date(2025, 11, 3), "13 days ago"),
        (date(2025, 11, 2), "2 weeks ago"),
        (date(2025, 3, 2), "on 2 March 2025"),
        (date(2025, 11, 17), "on 17 November 2025"),
        (None, "never"),
    ],
)
def test_ago(when: date | None, said: str) -> None:
    assert words.ago(when, date(2025, 11, 16)) == said


def test_counts() -> None:
    assert words.count(1, "visit") == "1 visit"
    assert words.count(12000, "visit") == "12,000 visits"
    assert words.number(8.5) == "8.5"
    assert words.number(142.0) == "142"
    assert words.listing(["a", "b", "c"]) == "a, b and c"
    assert words.listing([]) == ""


def test_undecided_says_so_and_with_what() -> None:
    facts = {"label": "undecided", "days_seen": 3, "weeks_seen": 2, "weeks_watched": 30,
             "p_gone": 0.1}  # fmt: skip
    assert words.answer(facts) == (
        "Not enough to tell yet. Seen in 2 of 30 watched weeks: "
        "that fits a resident as well as a visitor."
    )


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (0.1, 0.56, "10 to 56%"),
        (0.0, 0.04, "0 to 4%"),
        (0.0012, 0.0035, "0.1 to 0.4%"),
        (0.9951, 0.9992, "99.5 to 99.9%"),
        (0.33, 1.0, "33 to 100%"),
        (None, 0.5, "not known"),
    ],
)
def test_an_interval_is_never_nothing_to_nothing(
    low: float | None, high: float | None, said: str
) -> None:
    assert words.interval(low, high) == said


def test_chances_ahead_in_words() -> None:
    assert words.chance_words(chances(0.12)) == (
        "17 November 2025 to 31 May 2026: at most 18%, on 28 November 2025 at Seep, evening"
    )


def test_last_seen() -> None:
    today = date(2025, 11, 16)
    last = {"day": date(2025, 11, 15), "site": "Seep", "in_light": False}
    assert words.last_seen_words(last, today) == "Last seen yesterday at Seep, in the dark."
    assert words.last_seen_words(None, today) == "Not seen yet."


def test_definitions_carry_the_property_s_own_settings() -> None:
    own = {"light_after_sunset_minutes": 0, "visit_gap_minutes": 45, "watched_share": 0.4}
    settings, _ = settings_from_text(SETTINGS, folder_name="x")
    said = dict(words.definitions(replace(settings, **own)))
    assert "to 0 minutes after sunset" in said["Shooting light"]
    assert "45 minutes" in said["Visit"]
    assert "40%" in said["Not watched"]


def test_safety_lines_say_what_must_be_said() -> None:
    said = " ".join(words.SAFETY).lower()
    for word in ("no safety or legal advice", "season", "hours", "licence", "permission"):
        assert word in said
    for word in ("beyond it", "harness", "from the ground up", "tell someone"):
        assert word in said


def test_days_nobody_watched_are_said() -> None:
    today = date(2025, 11, 16)
    said = words.not_watched_since
    assert said(today, today) is None and said(None, today) is None
    assert said(date(2025, 11, 15), today) == (
        "Cameras are known to have run up to 15 November 2025. The day since, 16 November 2025, is "
        "not watched."
    )
    assert (said(date(2025, 10, 20), today) or "").endswith(
        "The 27 days since, 21 October to 16 November 2025, are not watched."
    )


@pytest.mark.parametrize(
    ("text", "short"),
    [
        ("tags/cam-02.csv row 998, column bucks", "tags/cam-02.csv row 998, column bucks"),
        ("cards/c/" + "x" * 40 + "/" + "y" * 20 + "/a.jpg row 3", "cards/c/…/a.jpg row 3"),
        ("z" * 80, "z" * 27 + "…" + "z" * 27),
    ],
)
def test_a_long_path_gives_way_in_the_middle(text: str, short: str) -> None:
    assert words.shortened_place(text) == short
