"""The sentences of why, what would change a label, and what would settle one."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from deerlog.analysis.residency.explain import LabelChange, Reason, Stretch, WhatIf
from deerlog.analysis.residency.standing import Settling
from deerlog.report.words.label_words import label_question, reason_sentence

BEFORE = Stretch(
    name="before the rut", weeks_seen=9, weeks_watched=11, months_seen=(8, 9, 10), evidence=4.0
)
RUT = Stretch(name="in the rut", weeks_seen=3, weeks_watched=3, months_seen=(11,), evidence=-0.2)
AFTER = Stretch(name="after the rut", weeks_seen=2, weeks_watched=12, months_seen=(1,), evidence=1)
REASON = Reason(
    buck="Crab",
    label="resident",
    pattern="year-round",
    score=99.0,
    season=2025,
    stretches=(BEFORE, RUT, AFTER),
    days_seen=30,
    last_seen=date(2026, 1, 20),
    weeks_watched_since=4,
    p_gone=0.01,
)
NOTHING = WhatIf(unseen=None, seen=None)


def test_a_resident() -> None:
    assert reason_sentence(REASON) == (
        "Seen in 9 of 11 watched weeks before the rut and in January; a visitor would not be."
    )


def test_a_resident_seen_in_many_months_and_all_weeks() -> None:
    many = replace(AFTER, weeks_seen=12, months_seen=(11, 12, 1, 2))
    spoken = replace(REASON, stretches=(BEFORE, replace(RUT, evidence=0.5), many))
    assert reason_sentence(spoken) == (
        "Seen in 9 of 11 watched weeks before the rut, in all 3 watched weeks of the rut and in "
        "all 12 watched weeks after the rut; a visitor would not be."
    )


def test_a_fall_buck_is_told_from_when_he_came() -> None:
    came = replace(BEFORE, since=date(2025, 9, 14), weeks_seen=5, weeks_watched=6)
    assert reason_sentence(replace(REASON, pattern="fall", stretches=(came,))) == (
        "Seen in 5 of 6 watched weeks from 14 September to the rut; a visitor would not be."
    )


def test_all_seasons_together() -> None:
    assert reason_sentence(replace(REASON, season=None)) == (
        "All seasons together: seen in 9 of 11 watched weeks before the rut and in January; "
        "a visitor would not be."
    )


def test_a_rut_visitor() -> None:
    missed = replace(BEFORE, weeks_seen=0, evidence=-3.0)
    seldom = replace(AFTER, weeks_seen=1, evidence=-2.0)
    reason = replace(
        REASON, label="visiting", score=1.0, pattern="rut", stretches=(missed, RUT, seldom)
    )
    assert reason_sentence(reason) == (
        "Seen in all 3 watched weeks of the rut, but not seen in 11 watched weeks before the rut "
        "and seen in only 1 of 12 watched weeks after the rut; a buck who lives here would have "
        "shown more often."
    )
    assert reason_sentence(replace(reason, stretches=(missed,))) == (
        "Not seen in 11 watched weeks before the rut; a buck who lives here would have shown more "
        "often."
    )


def test_a_summer_buck() -> None:
    reason = replace(
        REASON, label="visiting", score=1.0, pattern="summer", last_seen=date(2025, 9, 4)
    )
    assert reason_sentence(reason) == (
        "Not seen since 4 September 2025, through 4 watched weeks; a buck who lives here would "
        "have been."
    )


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"days_seen": 1}, "He was tagged on one day only, and one tag may be another buck."),
        (
            {"p_gone": 0.7},
            "Not seen since 20 January 2026, through 4 watched weeks: more likely than not he "
            "is dead or gone.",
        ),
        ({"p_gone": 0.7, "weeks_watched_since": 0}, None),
        ({}, None),
    ],
)
def test_an_undecided_buck(changes: dict[str, float], sentence: str | None) -> None:
    assert reason_sentence(replace(REASON, label="undecided", **changes)) == sentence  # type: ignore[arg-type]


def test_a_sentence_claims_no_more_than_the_score() -> None:
    likely = reason_sentence(replace(REASON, score=84.0))
    assert likely is not None and likely.endswith("a visitor would hardly be.")
    missed = replace(BEFORE, weeks_seen=0, evidence=-3.0)
    visits = replace(REASON, label="visiting", pattern="rut", score=15.0, stretches=(missed,))
    said = reason_sentence(visits)
    assert said is not None and said.endswith("would most likely have shown more often.")


def test_a_buck_who_is_gone() -> None:
    gone = replace(REASON, label="gone", p_gone=0.93)
    assert reason_sentence(gone) == (
        "Not seen since 20 January 2026, through 4 watched weeks: most likely dead or gone for good."
    )
    assert reason_sentence(replace(gone, weeks_watched_since=0)) is None


def test_nothing_argues_for_the_label_plainly() -> None:
    assert reason_sentence(replace(REASON, stretches=(RUT,))) is None
    assert (
        reason_sentence(replace(REASON, label="visiting", score=1.0, pattern="rut", stretches=()))
        is None
    )


# ---- open questions ----------------------------------------------------------------------------


def test_what_would_change_a_decided_label() -> None:
    unseen = LabelChange(weeks=2, until=date(2025, 10, 20), label="undecided")
    got = label_question("resident", WhatIf(unseen=unseen, seen=None), None)
    assert got is not None
    assert got[0] == "What would change the label?"
    assert got[1] == (
        "Two more watched weeks without him, to 20 October 2025, would make him undecided."
    )
    assert label_question("resident", NOTHING, None) is None
    assert label_question("resident", None, None) is None


def test_what_would_settle_an_undecided_one() -> None:
    what_if = WhatIf(
        unseen=LabelChange(weeks=3, until=date(2025, 11, 21), label="visiting"),
        seen=LabelChange(weeks=1, until=date(2025, 11, 7), label="resident"),
    )
    settling = Settling(
        buck="Crab", days=14, as_it_is=0.35, with_camera={"Oak Flat": 0.52, "Seep": 0.4}, draws=1000
    )
    got = label_question("undecided", what_if, settling)
    assert got is not None
    assert got[0] == "Does he live here or does he visit?"
    assert got[1] == (
        "As the cameras stand, the next two weeks settle it with a chance of 35%; with one more "
        "camera at Oak Flat, 52%. "
        "Three more watched weeks without him, to 21 November 2025, would make him visiting. "
        "One more week with a day on camera, to 7 November 2025, would make him a resident."
    )


def test_a_camera_that_adds_little_is_not_recommended() -> None:
    settling = Settling(
        buck="Crab", days=9, as_it_is=0.35, with_camera={"Oak Flat": 0.36}, draws=1000
    )
    got = label_question("undecided", NOTHING, settling)
    assert got is not None
    assert got[1] == (
        "As the cameras stand, the next 9 days settle it with a chance of 35%; one more camera at "
        "a site he has used would add little."
    )


def test_an_undecided_buck_at_the_season_s_end() -> None:
    got = label_question("undecided", NOTHING, None)
    assert got is not None
    assert got[1] == "More watched weeks, next season too."


def test_what_is_less_than_sure_is_said_with_less() -> None:
    assert str(reason_sentence(replace(REASON, score=90.0))).endswith("a visitor would hardly be.")
