"""stands.csv."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from deerlog.property import Settings
from deerlog.property.stands import DTYPES, read_stands
from deerlog.property.table_rows import frame_of

Write = Callable[[str, str], Path]
SITES = ("Oak Flat", "Saddle")
HEAD = "stand,sites,latitude,longitude,use,winds,rest_days,notes\n"


def test_all_columns(write: Write, settings: Settings) -> None:
    stands, problems = read_stands(
        write("stands.csv", HEAD + "Ladder,oak flat; Saddle,40.1,-91.2,AM,nw;N;NW,5,quiet\n"),
        settings,
        SITES,
    )
    assert problems == []
    assert list(stands.columns) == list(DTYPES)
    row = stands.iloc[0]
    assert row["sites"] == ("Oak Flat", "Saddle")
    assert row["winds"] == ("N", "NW")
    assert (row["use"], row["rest_days"], row["latitude"]) == ("morning", 5, 40.1)


def test_blank_means_any_wind_either_half_three_days(write: Write, settings: Settings) -> None:
    stands, problems = read_stands(
        write("stands.csv", "stand,sites\nLadder,Saddle\n"), settings, SITES
    )
    assert problems == []
    row = stands.iloc[0]
    assert (row["use"], row["winds"], row["rest_days"]) == ("either", (), 3)
    assert np.isnan(row["latitude"])
    assert stands.dtypes.to_dict() == frame_of([], DTYPES).dtypes.to_dict()


def test_an_unknown_site_is_passed_over_or_costs_the_stand(
    write: Write, settings: Settings
) -> None:
    stands, problems = read_stands(
        write("stands.csv", "stand,sites\nA,Saddel;Oak Flat\nB,Bog\n"), settings, SITES
    )
    assert stands["stand"].tolist() == ["A"]
    assert stands["sites"].tolist() == [("Oak Flat",)]
    assert [(p.kind, p.row, p.value) for p in problems] == [
        ("unknown-site", 2, "Saddel"),
        ("unknown-site", 3, "Bog"),
    ]
    assert "Write Saddle" in problems[0].how
    assert "left out" in problems[1].why


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("A,Saddle,,,noon,,,", "use"),
        ("A,Saddle,,,,NORTH,,", "winds"),
        ("A,,,,,,,", "sites"),
    ],
)
def test_what_could_send_someone_wrong_costs_the_stand(
    write: Write, settings: Settings, row: str, column: str
) -> None:
    stands, (problem,) = read_stands(write("stands.csv", f"{HEAD}{row}\n"), settings, SITES)
    assert stands.empty
    assert (problem.row, problem.column) == (2, column)


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("A,Saddle,,,,,-1,", "rest_days"),
        ("A,Saddle,40.1,91.2,,,,", "latitude, longitude"),
        ("A,Saddle,40.1,,,,,", "latitude, longitude"),
    ],
)
def test_what_can_be_done_without_costs_only_itself(
    write: Write, settings: Settings, row: str, column: str
) -> None:
    stands, (problem,) = read_stands(write("stands.csv", f"{HEAD}{row}\n"), settings, SITES)
    assert stands["rest_days"].tolist() == [3]
    assert stands["latitude"].isna().all() and stands["longitude"].isna().all()
    assert problem.column == column


def test_a_stand_listed_twice(write: Write, settings: Settings) -> None:
    stands, (problem,) = read_stands(
        write("stands.csv", "stand,sites\nA,Saddle\na,Oak Flat\n"), settings, SITES
    )
    assert stands["sites"].tolist() == [("Saddle",)]
    assert (problem.kind, problem.row) == ("stand-twice", 3)


def test_other_words_for_the_halves_are_understood_and_the_rest_says_which(
    write: Write, settings: Settings
) -> None:
    rows = "".join(f"{word},Saddle,{word}\n" for word in ("am", "PM", "both", "any", "afternoons"))
    stands, (problem,) = read_stands(
        write("stands.csv", "stand,sites,use\n" + rows), settings, SITES
    )
    assert stands["use"].tolist() == ["morning", "evening", "either", "either"]
    assert "morning, evening, either" in problem.why and "am, pm, both, any" in problem.how


def test_a_range_of_winds_is_refused_with_the_words_there_are(
    write: Write, settings: Settings
) -> None:
    stands, (problem,) = read_stands(
        write("stands.csv", "stand,sites,winds\nA,Saddle,S-SW\n"), settings, SITES
    )
    assert stands.empty and "S, SSW, SW" in problem.how and "S;SSW;SW" in problem.how
