"""Past weeks of a small property replayed, and the chances given for its sits."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from invented.small_property import make_small_property

from deerlog.analysis.backtest.correction import Correction
from deerlog.study import PropertyStudy, open_study
from deerlog.study.plan import coming_plan
from deerlog.study.replay import recent_replay, replay, sits_result
from deerlog.study.study import LEAST_WEEKS, RECENT_WEEKS


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> PropertyStudy:
    return open_study(make_small_property(tmp_path_factory.mktemp("replay") / "small"))


def test_the_chance_given_for_a_sit_is_that_of_the_plan_of_the_week_before(
    study: PropertyStudy,
) -> None:
    played = replay(study, first=pd.Timestamp("2025-10-01"))
    key = (date(2025, 10, 11), "PM", "Bean Blind")
    assert set(played.given) == {key, (date(2025, 10, 19), "PM", "Ridge Ladder")}
    # Monday 6 October: what a plan made on Sunday evening said.
    before = PropertyStudy(place=study.place, field_log=study.field_log, as_of=date(2025, 10, 5))
    # The first week replayed has none before it to be corrected by.
    before.__dict__["correction"] = Correction()
    (sit,) = (s for s in coming_plan(before).sits if (s.day, s.half, s.place) == key)
    # Not to the last digit: use goes straight between some of the days asked for together.
    assert played.given[key] == pytest.approx(sit.chance, rel=0.05)


def test_what_came_later_changes_nothing(study: PropertyStudy) -> None:
    log = study.field_log
    sightings = log.sightings.copy()
    later = sightings["local"] >= pd.Timestamp("2025-10-13", tz="America/Chicago")
    sightings.loc[later, ["site", "buck"]] = ["Beans", "Passer"]
    planted = PropertyStudy(
        place=study.place, field_log=replace(log, sightings=sightings), as_of=study.as_of
    )
    first = pd.Timestamp("2025-10-06")
    plain, other = (replay(s, first=first) for s in (study, planted))
    key = (date(2025, 10, 11), "PM", "Bean Blind")
    assert other.given[key] == pytest.approx(plain.given[key], rel=1e-9)
    early = [
        t.backtest.half_days[t.backtest.half_days["day"] < "2025-10-13"] for t in (plain, other)
    ]
    np.testing.assert_allclose(early[0]["forecast"], early[1]["forecast"], rtol=1e-9)


def test_recent_weeks(study: PropertyStudy) -> None:
    short = PropertyStudy(place=study.place, field_log=study.field_log, as_of=date(2024, 11, 17))
    recent = recent_replay(short)
    assert (recent.last - recent.first).days == 7 * RECENT_WEEKS - 1
    # The first four weeks of a record have nothing to forecast from.
    assert recent.backtest.weeks == 12
    assert set(recent.backtest.half_days["buck"].unique()) == {"Lantern", "Passer"}
    row = sits_result(short, recent.given).summary.iloc[0]
    assert (row["sits"], row["given"], row["given_seen"]) == (1, 1, 1)


def test_a_large_property_replays_fewer_weeks(
    study: PropertyStudy, monkeypatch: pytest.MonkeyPatch
) -> None:
    def weeks(work: int) -> float:
        monkeypatch.setattr("deerlog.study.study.RECENT_WORK", work)
        fresh = PropertyStudy(place=study.place, field_log=study.field_log, as_of=study.as_of)
        return ((fresh.last_day - fresh.recent_first).days + 1) / 7

    # Three bucks and three sites.
    assert [weeks(work) for work in (3000, 45, 8)] == [RECENT_WEEKS, 5, LEAST_WEEKS]


def test_plan_and_windows_are_corrected_by_the_weeks_that_the_report_tells_of(
    study: PropertyStudy,
) -> None:
    fresh = PropertyStudy(place=study.place, field_log=study.field_log, as_of=study.as_of)
    learned = fresh.correction
    assert learned == recent_replay(fresh).backtest.correction and learned.weeks > 0
    plain = PropertyStudy(place=study.place, field_log=study.field_log, as_of=study.as_of)
    plain.__dict__["correction"] = Correction()
    there, here = (
        s.forecast.chance_if_around() * s.forecast.around[:, :, None, None] for s in (plain, fresh)
    )
    np.testing.assert_allclose(here, learned.of(there), rtol=0.05, atol=1e-4)
    assert np.abs(here / there - 1).max() > 0.01


def test_the_whole_record_tells_its_progress(study: PropertyStudy) -> None:
    short = PropertyStudy(place=study.place, field_log=study.field_log, as_of=date(2024, 9, 15))
    told: list[tuple[int, int]] = []
    whole = replay(short, progress=lambda done, total: told.append((done, total)))
    assert whole.first == date(2024, 8, 1)
    assert told == [(n, whole.backtest.weeks) for n in range(1, whole.backtest.weeks + 1)]


def test_nothing_tagged_has_nothing_to_replay(tmp_path: Path) -> None:
    bare = open_study(make_small_property(tmp_path / "bare", tagged=False))
    played = replay(bare)
    assert played.given == {} and played.backtest.half_days.empty
