"""The numbers behind the sentences: what a label stands on, and what weeks to come would make."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest
from invented.buck_record import days, effort, visits

from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.residency.explain import (
    HORIZON_WEEKS,
    Reason,
    Stretch,
    WhatIf,
    reasons,
    what_if,
)
from deerlog.analysis.residency.residency import Residency, residency
from deerlog.timekeeping.seasons import SeasonCalendar

FIRST, LAST = "2022-06-01", "2024-05-31"
RECORDS = {
    "year-round": days("2022-06-04", "2024-05-20", 4),
    "fall": days("2022-09-18", "2023-02-20", 3) + days("2023-09-12", "2024-02-24", 3),
    "summer": days("2022-06-03", "2022-09-04", 3) + days("2023-06-02", "2023-09-04", 3),
    "rut": days("2022-11-10", "2022-11-19", 2) + days("2023-11-12", "2023-11-22", 2),
    "once": days("2023-10-03", "2023-10-03"),
}


def scored(seen: dict[str, list[pd.Timestamp]], as_of: str, **other: object) -> Residency:
    return residency(
        visits(seen), effort(FIRST, LAST), SeasonCalendar(), as_of=pd.Timestamp(as_of), **other
    )  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def told() -> dict[str, Reason]:
    result = scored(RECORDS, "2024-02-29")
    return reasons(result.table, result.weekly)


def test_a_resident_is_told_from_the_weeks_he_was_seen(told: dict[str, Reason]) -> None:
    reason = told["year-round"]
    assert (reason.label, reason.season) == ("resident", 2023)
    before, rut, after = reason.stretches
    assert [s.name for s in reason.stretches] == ["before the rut", "in the rut", "after the rut"]
    assert before.weeks_seen == before.weeks_watched == 23
    assert (rut.weeks_seen, rut.weeks_watched) == (3, 3)
    assert after.months_seen == (11, 12, 1, 2)
    assert before.evidence > 0
    assert before in reason.arguing
    assert reason.p_gone < 0.01


def test_a_fall_buck_is_counted_from_when_he_came(told: dict[str, Reason]) -> None:
    before = told["fall"].stretches[0]
    assert before.since == date(2023, 9, 11)
    assert before.weeks_seen == before.weeks_watched == 8
    assert told["year-round"].stretches[0].since is None


def test_a_visitor_is_told_from_the_weeks_he_was_missed(told: dict[str, Reason]) -> None:
    reason = told["rut"]
    assert reason.label == "visiting"
    assert {s.name for s in reason.arguing} >= {"after the rut"}
    assert all(s.evidence < 0 for s in reason.arguing)
    assert reason.last_seen == date(2023, 11, 22)
    # From Monday the 27th of November to Monday the 26th of February, both counted.
    assert reason.weeks_watched_since == 14


def test_a_buck_tagged_once_has_no_side(told: dict[str, Reason]) -> None:
    reason = told["once"]
    assert (reason.label, reason.days_seen) == ("undecided", 1)
    assert reason.arguing == ()


def test_a_season_too_young_to_speak_is_told_with_those_before_it() -> None:
    result = scored({k: [d for d in on if str(d) < "2023-07-01"] for k, on in RECORDS.items()
                     if k != "once"}, "2023-06-30")  # fmt: skip
    reason = reasons(result.table, result.weekly)["fall"]
    assert reason.season is None
    assert sum(s.weeks_watched for s in reason.stretches) > 52 - 20


def test_stretches_hold_all_the_evidence_of_watched_weeks() -> None:
    result = scored(RECORDS, "2024-02-29")
    told = reasons(result.table, result.weekly)
    for buck in ("year-round", "rut"):
        weeks = result.weekly[(result.weekly["buck"] == buck) & (result.weekly["season"] == 2023)]
        assert sum(s.evidence for s in told[buck].stretches) == pytest.approx(
            weeks["evidence"].sum()
        )


# ---- what if -----------------------------------------------------------------------------------

NO_WRONG_TAGS = Judgement(wrong_tag_share=1e-9)
"""So that weeks made up are judged exactly as the engine judges them once they are known."""


def alone(seen: list[pd.Timestamp], as_of: str) -> tuple[str, Residency]:
    result = scored({"Crab": seen}, as_of, judgement=NO_WRONG_TAGS)
    return result.table.set_index("season").at["all", "label"], result


def what_if_of(seen: list[pd.Timestamp], as_of: str) -> tuple[str, WhatIf]:
    label, result = alone(seen, as_of)
    assert result.standing is not None
    return label, what_if(result.standing, [label])["Crab"]


def test_weeks_without_him_change_the_label_when_the_engine_says_so() -> None:
    as_of = "2023-10-20"
    seen = days("2023-06-04", as_of, 5)
    label, found = what_if_of(seen, as_of)
    assert label == "resident"
    assert found.seen is None  # more of the same changes nothing
    change = found.unseen
    assert change is not None
    until = pd.Timestamp(change.until)
    assert (until - pd.Timestamp(as_of)).days == 7 * change.weeks
    assert alone(seen, f"{until:%Y-%m-%d}")[0] == change.label != label
    before = until - pd.Timedelta(days=7)
    assert alone(seen, f"{before:%Y-%m-%d}")[0] == label


def test_weeks_with_him_change_the_label_when_the_engine_says_so() -> None:
    as_of = "2023-10-20"
    seen = days("2023-06-04", "2023-09-02", 5)
    label, found = what_if_of(seen, as_of)
    assert label != "resident"
    change = found.seen
    assert change is not None
    now = pd.Timestamp(as_of)
    more = [now + pd.Timedelta(days=7 * w + 4) for w in range(change.weeks)]
    assert alone([*seen, *more], f"{pd.Timestamp(change.until):%Y-%m-%d}")[0] == change.label
    fewer = pd.Timestamp(change.until) - pd.Timedelta(days=7)
    assert alone([*seen, *more[:-1]], f"{fewer:%Y-%m-%d}")[0] == label


def test_nothing_is_foretold_beyond_the_season_or_the_horizon() -> None:
    seen = days("2023-06-04", "2024-05-20", 5)
    _, found = what_if_of(seen, "2024-05-28")
    assert found == WhatIf(unseen=None, seen=None)
    _, sure = what_if_of(seen[: len(seen) - 3], "2024-03-10")
    assert sure.unseen is None or sure.unseen.weeks <= HORIZON_WEEKS


def test_cameras_that_stand_idle_are_taken_as_on_a_usual_day() -> None:
    """A made-up watched week is watched, whatever ran lately."""
    seen = days("2023-06-04", "2023-10-01", 5)
    ran = effort(FIRST, LAST, without=days("2023-10-02", "2023-10-20"))
    result = residency(
        visits({"Crab": seen}), ran, SeasonCalendar(), as_of=pd.Timestamp("2023-10-20")
    )
    assert result.standing is not None
    assert result.standing.share[0] == 0
    found = what_if(result.standing, ["resident"])["Crab"]
    assert found.unseen is not None


def test_stretches_argue_for_the_side_they_are_on() -> None:
    usual = {"weeks_seen": 1, "weeks_watched": 2, "months_seen": ()}
    for_, against = (Stretch(name="x", evidence=e, **usual) for e in (1.0, -1.0))  # type: ignore[arg-type]
    none = Stretch(name="y", evidence=0.0, **usual)  # type: ignore[arg-type]
    for label, argues in (("resident", for_), ("visiting", against), ("undecided", None)):
        reason = Reason(
            buck="Crab", label=label, pattern="", score=50.0, season=None, days_seen=1, p_gone=0.0,
            stretches=(for_, against, none), last_seen=date(2023, 6, 1), weeks_watched_since=0,
        )  # fmt: skip
        assert reason.arguing == ((argues,) if argues else ())
