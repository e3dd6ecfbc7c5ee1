"""A card nobody has looked at is no card without the buck."""

from __future__ import annotations

import csv
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from invented.small_property import make_small_property

from deerlog.study import PropertyStudy, open_study
from deerlog.study.plan import coming_plan

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


@pytest.fixture(scope="module")
def by_day(tmp_path_factory: pytest.TempPathFactory) -> PropertyStudy:
    """The small property, nothing that came in the dark looked at."""
    place = make_small_property(tmp_path_factory.mktemp("by day") / "p")
    whole = open_study(place)
    photos = whole.field_log.photos
    lit = whole.in_light(photos.assign(buck=""))
    dark = set(lit.loc[~lit["in_light"], "photo_id"])
    taken = {photos.loc[n, "local"].strftime("%Y-%m-%d %H:%M:%S") for n in dark}
    for sheet in (place / "tags").glob("*.csv"):
        with sheet.open(encoding="utf-8-sig", newline="") as file:
            header, *rows = list(csv.reader(file))
        at, bucks = header.index("taken"), header.index("bucks")
        for row in rows:
            row[bucks] = "" if row[at] in taken else row[bucks] or "-"
        with sheet.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([header, *rows])
    return open_study(place)


def test_who_looks_at_daylight_only_has_watched_in_daylight(
    by_day: PropertyStudy, looked: PropertyStudy
) -> None:
    visits = by_day.field_log.visits
    assert 0.8 < visits["tagged"].mean() < 0.95
    assert by_day.light_only and not looked.light_only
    assert by_day.visits["in_light"].all() and len(by_day.visits)
    pd.testing.assert_frame_equal(by_day.watched, by_day.effort)
    assert not by_day.names_only, "in daylight he marks nobody with a dash"
    said = [line.what for line in coming_plan(by_day).not_considered]
    assert any(line.startswith("Visits in the dark") for line in said)


def test_where_blanks_name_nobody_the_dark_was_looked_at(by_day: PropertyStudy) -> None:
    place = by_day.place
    settings = replace(place.settings, blank_means="nobody named")
    told = replace(by_day, place=replace(place, settings=settings))
    assert not told.light_only
