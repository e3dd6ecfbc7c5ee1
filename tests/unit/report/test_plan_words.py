"""The plan in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from deerlog.analysis.plan.planned_sits import PlannedSit, Veto, sit_groups
from deerlog.analysis.plan.stand_chances import Behind
from deerlog.report.plan_text import CAUTION, plan_text
from deerlog.report.words.plan_words import (
    closed_words,
    group_chance,
    group_days,
    group_why,
    no_sit_words,
    stay_outs,
    why,
)
from deerlog.report.words.words import days_span
from deerlog.study.plan import ComingPlan
from deerlog.study.plan_inputs import WEATHER_OPTION, NotConsidered

DAY = date(2025, 11, 8)
BEHIND = Behind(
    recent_seen=3, recent_watched=27, past_seen=5, past_watched=44, phase="rut",
    recent_visits=9, recent_in_light=4,
)  # fmt: skip
SIT = PlannedSit(
    day=DAY, half="AM", stand="Oak Ladder", site="Oak", buck="Lantern", chance=0.137, low=0.06,
    high=0.26, around=0.93, any_chance=0.2, n_bucks=3, behind=BEHIND, winds=("N", "NW"),
    wind_known=False, starts=None, ends=None,
)  # fmt: skip


def test_a_sit_says_whom_it_is_about_what_it_rests_on_and_its_winds() -> None:
    assert why(SIT) == (
        "Lantern (around 93%): he came in light on 3 of the last 27 mornings watched, in the rut "
        "of past seasons on 5 of 44; any target 20%; hunt it on N or NW wind"
    )
    assert "wind" not in why(replace(SIT, wind_known=True))
    assert "wind" not in why(replace(SIT, winds=()))
    assert "any target" not in why(replace(SIT, n_bucks=1))


@pytest.mark.parametrize(
    ("recent", "past", "words"),
    [
        (0, 44, "not watched in the last 30 days, he came in light in the rut of past"),
        (27, 0, "he came in light on 3 of the last 27 mornings watched"),
        (0, 0, "not watched in the last 30 days"),
    ],
)
def test_what_was_not_watched_is_said(recent: int, past: int, words: str) -> None:
    behind = replace(BEHIND, recent_watched=recent, past_watched=past)
    text = why(replace(SIT, behind=behind, winds=()))
    assert text.split(": ")[1].startswith(words)
    assert ("past seasons" in text) == bool(past)


@pytest.mark.parametrize(
    ("veto", "words"),
    [
        (Veto(rule="wind", wind_degrees=158.0), "wind from the SSE, hunt it on N or NW wind"),
        (
            Veto(rule="wind", wind_degrees=90.0, partly=True),
            "wind from the E for a part of it, hunt it on N or NW wind",
        ),
        (
            Veto(rule="rest", day=DAY, free_from=DAY + timedelta(days=4)),
            "sat on 8 November, let it rest until 12 November",
        ),
        (Veto(rule="better_stand", stand="Elm"), "Elm is the better choice that morning"),
        (Veto(rule="better_day", day=DAY), "kept for the better sit on Sat 8 Nov"),
        (Veto(rule="dark_spots"), "9 visits here in the last 30 days, all in the dark"),
        (Veto(rule="season_dates"), "hunting is closed"),
        (Veto(rule="light"), "no shooting light"),
        (Veto(rule="mornings_at_food"), "deer feed here before light"),
        (Veto(rule="sit_at_least"), "the chance is too small to walk in for"),
    ],
)
def test_every_rule_is_named_when_it_forbids(veto: Veto, words: str) -> None:
    assert why(replace(SIT, vetoes=(veto,))).startswith(words)


def test_days() -> None:
    assert days_span(DAY, DAY) == "8 November"
    assert days_span(DAY, DAY + timedelta(days=3)) == "8 to 11 November"
    assert days_span(DAY, DAY + timedelta(days=30)) == "8 November to 8 December"
    assert closed_words(DAY, "bow").endswith("bow opens on 8 November 2025.")


def test_sits_that_are_much_the_same_are_one_line() -> None:
    days = [DAY + timedelta(days=n) for n in range(4)]
    later = Veto(rule="better_day", day=days[0])
    sits = [
        replace(SIT, day=day, chance=0.137 - 0.005 * n, vetoes=(later,) if n in (1, 2) else (),
                rest_days=2)
        for n, day in enumerate(days)
    ]  # fmt: skip
    (group,) = sit_groups(sits)
    assert group_days(group) == "Sat 8 to Tue 11 Nov"
    assert group_chance(group) == "12 to 14%"
    assert group.best.buck == "Lantern"
    assert group_why(group).endswith(
        "; the plan takes 8 and 11 November, with 2 days of rest between"
    )
    (alone,) = sit_groups(sits[:1])
    assert (group_days(alone), group_chance(alone)) == ("Sat 8 Nov", "14%")
    assert group_why(alone) == why(sits[0])
    assert group_days(replace(group, last=date(2025, 12, 2))) == "Sat 8 Nov to Tue 2 Dec"


def test_where_no_sit_stands_out_the_nearest_are_named() -> None:
    small = [
        replace(SIT, stand=stand, chance=chance, vetoes=(Veto(rule="sit_at_least"),))
        for stand, chance in (("A", 0.04), ("A", 0.03), ("B", 0.03), ("C", 0.02), ("D", 0.01))
    ]
    windy = replace(SIT, stand="W", vetoes=(Veto(rule="wind", wind_degrees=0.0),))
    assert no_sit_words([windy, *small]) == (
        "No sit stands out. The nearest: A on Sat 8 Nov, morning (4%); B on Sat 8 Nov, morning "
        "(3%); C on Sat 8 Nov, morning (2%)."
    )
    assert no_sit_words([windy]) == "No sit stands out."


def out(day: int, half: str, stand: str, *vetoes: Veto) -> PlannedSit:
    return replace(SIT, day=date(2025, 11, day), half=half, stand=stand, vetoes=vetoes)


def test_stay_outs_are_gathered() -> None:
    rest = Veto(rule="rest", day=date(2025, 11, 7), free_from=date(2025, 11, 11))
    food, dark = Veto(rule="mornings_at_food"), Veto(rule="dark_spots")
    south, east = (Veto(rule="wind", wind_degrees=d) for d in (180.0, 90.0))
    small = replace(out(8, "AM", "Small", south), chance=0.01)
    found = dict(
        stay_outs(
            [
                *(out(d, h, "Elm", rest, south) for d in (8, 9, 10) for h in ("PM", "AM")),
                *(out(d, "AM", "Blind", food) for d in (10, 8, 9)),
                out(8, "PM", "Ash", south),
                out(12, "AM", "Ash", east),
                out(14, "AM", "Ash", south),
                out(15, "AM", "Ash", south),
                out(15, "PM", "Ash", south),
                small,
                replace(small, stand="Dark", vetoes=(dark,)),
                replace(SIT, stand="Open"),
                out(9, "AM", "Closed", Veto(rule="season_dates"), food),
            ],
            0.05,
        )
    )
    assert set(found) == {
        "Elm, 8 to 10 November",
        "Blind, mornings of 8 to 10 November",
        "Ash, 15 November, mornings of 12 and 14 November, 8 November evening",
        "Dark, 8 November morning",
    }
    assert found["Elm, 8 to 10 November"] == "sat on 7 November, let it rest until 11 November"
    ash = "Ash, 15 November, mornings of 12 and 14 November, 8 November evening"
    assert found[ash] == "wrong wind, hunt it on N or NW wind"


def made(**changes: object) -> ComingPlan:
    plain = ComingPlan(
        first=DAY, last=DAY + timedelta(days=6), as_of=DAY - timedelta(days=1), bucks=("Lantern",),
        sits=(
            SIT,
            replace(SIT, stand="A stand with a name far longer than any column", buck="B" * 40),
            out(9, "AM", "Elm", Veto(rule="wind", wind_degrees=180.0)),
            out(9, "PM", "Elm", Veto(rule="sit_at_least")),
        ),
        not_considered=(
            NotConsidered(what="Wind: no forecast is given", missing=WEATHER_OPTION),
        ),
        opens_next=None, sit_at_least=0.05,
    )  # fmt: skip
    return replace(plain, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "changes", [{}, {"sits": ()}, {"bucks": (), "sits": ()}, {"opens_next": (DAY, "bow")}]
)
def test_the_terminal_is_eighty_wide_and_warns_once(changes: dict[str, object]) -> None:
    text = plan_text(made(**changes), "Hollow Fork", "metric")
    assert max(map(len, text.splitlines())) <= 80
    assert text.splitlines().count(CAUTION) == 1


def test_the_terminal_says_what_there_is() -> None:
    text = plan_text(made(), "Hollow Fork", "metric")
    for words in ("Sat 8 Nov", "14%  (6 to 26%)", "Stay out", "Elm, 9 November morning",
                  "1 more row in plan.csv", "Not considered",
                  "Wind: no forecast is given (plan --weather FILE)."):  # fmt: skip
        assert words in text
    printed = plan_text(made(), "Hollow Fork", "metric", in_file="")
    assert "plan.csv" not in printed and "1 more half-day at a stand: neither sit" in printed
    assert "No buck has a sure tag yet" in plan_text(made(bucks=(), sits=()), "x", "metric")
    assert "No sit stands out." in plan_text(made(sits=made().sits[2:]), "x", "metric")
    assert "bow opens on 8 November 2025" in plan_text(made(opens_next=(DAY, "bow")), "x", "metric")


def test_the_bracket_of_several_days_is_not_called_the_interval_of_one_chance() -> None:
    text = " ".join(plan_text(made(), "Hollow Fork", "metric").split())
    assert (
        "In brackets its 95% interval; for several days together, from the lowest end to the "
        "highest over them."
    ) in text
