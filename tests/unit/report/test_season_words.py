"""A buck's season in words."""

from __future__ import annotations

from datetime import date

import pandas as pd

from deerlog.analysis.season.stays import Whereabouts
from deerlog.report.words.season_words import calendar_words, verdict, whereabouts_words


def test_a_season_of_his_calendar_is_told_with_its_days() -> None:
    states = ["not watched"] * 3 + ["not seen"] * 4 + ["seen in the dark", "seen in light"]
    days = pd.DataFrame({"day": pd.date_range("2025-09-01", periods=9), "state": states})
    told = calendar_words(days, [date(2025, 9, 5)])
    assert told["words"] == (
        "seen on 2 of 6 days watched, 1 in light; 3 not watched; first 8 September, "
        "last 9 September; most likely new ground about 5 September"
    )
    assert [(sign, day.day) for sign, day, _ in told["marks"]] == [
        ("changed", 5), ("first", 8), ("last", 9),
    ]  # fmt: skip
    none = calendar_words(days[:7], [])
    assert none == {"words": "seen on 0 of 4 days watched, 0 in light; 3 not watched", "marks": []}


def ways(state: str) -> pd.DataFrame:
    one = {"state": [state], "way": ["fall food"], "chance": [0.04]}
    return pd.DataFrame(one | {"opens": [pd.Timestamp("2026-09-20")]})


def test_nobody_is_left_alone_for_what_the_first_season_has_not_shown_yet() -> None:
    assert verdict(ways("no"), 0.05).startswith("leave him alone this season")
    assert verdict(ways("no"), 0.05, first_season=True) == "too early to say"
    # What is open is told as ever.
    for state in ("open", "not yet"):
        assert verdict(ways(state), 0.05, first_season=True) == verdict(ways(state), 0.05)


def test_one_who_has_gone_is_not_told_twice_that_it_is_over() -> None:
    gone = Whereabouts(
        buck="Ash", state="gone", since=date(2026, 11, 16), days=6, watched_days=6,
        longest_days=None, seasons=3,
    )  # fmt: skip
    said = f"{verdict(ways('over'), 0.05)}. {whereabouts_words(gone)}"
    assert said == (
        "leave him alone this season: his days are past. here until 16 November, as in past seasons"
    )
