"""A card nobody has looked at is no card without the buck."""

from __future__ import annotations

import csv
from pathlib import Path

import pandas as pd
import pytest
from invented.small_property import make_small_property

from deerlog.study import PropertyStudy, open_study

SINCE = "2025-09-29"
"""A Monday; the record ends on 20 October."""


def with_late_tags(folder: Path, cell: str) -> PropertyStudy:
    """The small property with the same in every cell ``bucks`` from `SINCE` on."""
    place = make_small_property(folder)
    for sheet in (place / "tags").glob("*.csv"):
        with sheet.open(encoding="utf-8-sig", newline="") as file:
            header, *rows = list(csv.reader(file))
        taken, bucks = header.index("taken"), header.index("bucks")
        for row in rows:
            if row[taken] >= SINCE:
                row[bucks] = cell
        with sheet.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([header, *rows])
    return open_study(place)


@pytest.fixture(scope="module")
def blank(tmp_path_factory: pytest.TempPathFactory) -> PropertyStudy:
    return with_late_tags(tmp_path_factory.mktemp("blank") / "p", "")


@pytest.fixture(scope="module")
def looked(tmp_path_factory: pytest.TempPathFactory) -> PropertyStudy:
    return with_late_tags(tmp_path_factory.mktemp("looked") / "p", "-")


def late_states(study: PropertyStudy) -> set[str]:
    weekly = study.residency.weekly
    late = weekly[(weekly["buck"] == "Lantern") & (weekly["week_start"] >= SINCE)]
    return set(late["state"])


def score(study: PropertyStudy) -> float:
    table = study.residency.table
    return float(
        table.loc[(table["buck"] == "Lantern") & (table["season"] == "all"), "score"].iloc[0]
    )


def test_weeks_nobody_looked_at_are_no_data(blank: PropertyStudy, looked: PropertyStudy) -> None:
    assert late_states(looked) == {"not seen"}
    assert late_states(blank) == {"not watched"}
    assert score(looked) < score(blank)


def test_what_ran_is_the_same(blank: PropertyStudy, looked: PropertyStudy) -> None:
    pd.testing.assert_frame_equal(blank.effort, looked.effort)
    assert blank.watched["camera_day"].sum() < looked.watched["camera_day"].sum()
    pd.testing.assert_frame_equal(looked.watched, looked.effort)


def test_it_is_said_how_many(blank: PropertyStudy, looked: PropertyStudy) -> None:
    said = [p for p in blank.problems if p.kind == "not-tagged-yet"]
    assert len(said) == 1 and said[0].harm > 0
    assert not any(p.kind == "not-tagged-yet" for p in looked.problems)
