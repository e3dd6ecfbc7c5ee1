"""Terminal tables: 80 columns also with long names, nothing that steers the terminal."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from deerlog.errors import Problem
from deerlog.ingest.summary import CameraIntake, IngestSummary
from deerlog.report.ingest_text import ingest_text, workbook_text
from deerlog.report.terminal import (
    WIDTH,
    problem_text,
    residency_text,
    score_text,
    shortened,
    text_table,
)

LONG = "The one with the split brow tine from behind the old red barn"


def residency(*bucks: str) -> pd.DataFrame:
    rows = [
        {
            "buck": buck,
            "season": "all",
            "target": number == 0,
            "score": 99.97,
            "label": "undecided",
            "pattern": "year-round",
            "weeks_seen": 102,
            "weeks_watched": 240,
            "days_seen": 1229,
            "shooting_light_visits": 1088,
            "visits": 3301,
            "last_seen": date(2025, 11, 16),
        }
        for number, buck in enumerate(bucks)
    ]
    return pd.DataFrame(rows)


def test_a_table_stands_under_its_heads() -> None:
    assert text_table(("Buck", "Days"), [("Ash", "7"), ("Mud Lark", "12")], right="nr") == (
        "Buck      Days\nAsh          7\nMud Lark    12"
    )


def test_long_names_give_way_and_numbers_do_not() -> None:
    lines = residency_text(residency(LONG, "Ash", "🦌" * 30), {LONG, "Ash"}).splitlines()
    assert max(len(line) for line in lines) <= WIDTH
    assert lines[1].startswith("* The one") and "…" in lines[1]
    for line in lines[1:]:
        assert "102/240" in line and "1088/3301" in line and "2025-11-16" in line
    assert len({line.index("2025") + line.count("🦌") for line in lines[1:]}) == 1


def test_targets_and_new_bucks_are_marked() -> None:
    lines = residency_text(residency("Ladle", "Ash", "Newcomer"), {"Ladle", "Ash"}).splitlines()
    assert [line[:4] for line in lines[1:]] == ["* La", "  As", "+ Ne"]


@pytest.mark.parametrize(
    ("score", "said"), [(100.0, ">99"), (99.6, ">99"), (99.4, "99"), (0.3, "<1"), (0.0, "<1")]
)
def test_no_score_is_certain(score: float, said: str) -> None:
    assert score_text(score) == said


def test_a_name_cannot_steer_the_terminal() -> None:
    assert "\x1b" not in text_table(("Buck",), [("\x1b[2JAsh",)])
    problem = Problem(kind="x", file="tags/\x1b]0;x\x07.csv", why="a\x1b[31m", how="b")
    assert "\x1b" not in problem_text(problem, 1)


def test_a_row_to_paste_stands_on_a_line_of_its_own_in_one_piece() -> None:
    row = f"{LONG},2024-11-12 06:20,2024-11-12 05:20,2024-11-03 02:00,2024-12-01 00:00:01"
    problem = Problem(
        kind="clock-light", file="clock.csv", why="It is off.", how=f"Add to clock.csv: {row}",
        paste=row,
    )  # fmt: skip
    assert f"   Add to clock.csv:\n   {row}" in problem_text(problem, 1)


def test_shortened_counts_wide_letters() -> None:
    assert shortened("abcdef", 6) == "abcdef"
    assert shortened("abcdefg", 6) == "abcde…"
    assert shortened("🦌🦌🦌", 4) == "🦌…"


def test_what_ingest_says_fits_and_counts() -> None:
    summary = IngestSummary(
        cameras=(
            CameraIntake(camera=LONG, new_photos=123_456, known=1_234_567, new_visits=9_999),
            CameraIntake(camera="cam-2", gone=1, unreadable={"zero bytes": 2}),
        ),
        ignored=0,
        photos=1,
        visits=1,
        problems=(),
        to_tag={LONG: 12_000, "cam-2": 1},
    )
    text = ingest_text(summary)
    assert max(len(line) for line in text.splitlines()) <= WIDTH
    said = " ".join(text.split())
    assert "12,001 visits to tag" in said
    assert "1 file is no longer on the disk; its photos stay in the log." in said
    assert "The log holds 1 photo in 1 visit." in said
    assert "cam-2: 2 x zero bytes" in said
    assert workbook_text(None, summary).startswith("No new workbook")
