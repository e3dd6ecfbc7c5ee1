"""Each rule of the trade: that it forbids, that it does not, and that it can be switched off."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from typing import Any

import numpy as np
import pytest

from deerlog.analysis.plan.half_days import SitWind
from deerlog.analysis.plan.planned_sits import HalfDay, PlannedSit, StandPlace, Veto
from deerlog.analysis.plan.ranking import choose_sits, own_vetoes
from deerlog.analysis.plan.rules import PlanRules
from deerlog.analysis.plan.stand_chances import Behind

DAY = date(2025, 11, 8)
DAWN = datetime(2025, 11, 8, 6, 13, tzinfo=timezone(timedelta(hours=-6)))
BEHIND = Behind(
    recent_seen=2, recent_watched=30, past_seen=1, past_watched=22, phase="rut",
    recent_visits=9, recent_in_light=3,
)  # fmt: skip
SIT = PlannedSit(
    day=DAY, half="AM", stand="Oak", site="Ridge", buck="Lantern", chance=0.2, low=0.1, high=0.3,
    around=0.9, any_chance=0.2, n_bucks=2, behind=BEHIND, winds=("N",), wind_known=True,
    starts=DAWN, ends=DAWN + timedelta(hours=4),
)  # fmt: skip
PLACE = StandPlace(
    name="Oak", sites=(0,), settings=("travel",), winds=("N",), winds_degrees=(0.0,), rest_days=3
)
HALF_DAY = HalfDay(
    day=DAY, half="AM", phase="rut", starts=SIT.starts, ends=SIT.ends, is_open=True,
    wind=SitWind(np.array([0.0])),
)  # fmt: skip
ALL_OFF = PlanRules(
    mornings_at_food=True, wind=False, rest=False, season_dates=False, dark_spots=True
)
FOOD = replace(PLACE, settings=("travel", "food"))
SOUTH = replace(HALF_DAY, wind=SitWind(np.array([180.0])))
CLOSED = replace(HALF_DAY, is_open=False)
DARK = replace(SIT, chance=0.04, behind=replace(BEHIND, recent_visits=5, recent_in_light=0))
SAT = (DAY - timedelta(days=3), DAY - timedelta(days=9))


def vetoed_by(
    sit: PlannedSit = SIT,
    place: StandPlace = PLACE,
    half_day: HalfDay = HALF_DAY,
    rules: PlanRules | None = None,
    past: tuple[date, ...] = (),
) -> list[str]:
    return [veto.rule for veto in own_vetoes(sit, place, half_day, rules or PlanRules(), past)]


@pytest.mark.parametrize(
    ("vetoes", "case"),
    [
        ("mornings_at_food", {"place": FOOD}),
        ("wind", {"half_day": SOUTH}),
        ("rest", {"past": SAT}),
        ("season_dates", {"half_day": CLOSED}),
        ("dark_spots", {"sit": DARK}),
    ],
)
def test_each_rule_forbids_alone_and_can_be_switched_off(
    vetoes: str, case: dict[str, object]
) -> None:
    assert vetoed_by() == []
    assert vetoed_by(**case) == [vetoes]  # type: ignore[arg-type]
    assert vetoed_by(**case, rules=ALL_OFF) == []  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "changes",
    [
        {"chance": 0.05},
        {"behind": replace(DARK.behind, recent_in_light=1)},
        {"behind": replace(DARK.behind, recent_visits=4)},
    ],
)
def test_a_spot_is_dark_only_where_all_speaks_for_it(changes: dict[str, object]) -> None:
    assert vetoed_by(sit=replace(DARK, **changes)) == []  # type: ignore[arg-type]


def test_the_wind_named_is_the_wrong_one() -> None:
    turning = replace(HALF_DAY, wind=SitWind(np.array([0.0, 0.0, 180.0])))
    (veto,) = own_vetoes(SIT, PLACE, turning, PlanRules(), ())
    assert (veto.wind_degrees, veto.partly) == (pytest.approx(180.0), True)
    (veto,) = own_vetoes(SIT, PLACE, SOUTH, PlanRules(), ())
    assert not veto.partly


def test_evenings_at_food_are_no_trouble() -> None:
    evening = replace(HALF_DAY, half="PM")
    assert vetoed_by(place=FOOD, half_day=evening) == []


@pytest.mark.parametrize(("days_ago", "rests"), [(0, False), (1, True), (3, True), (4, False)])
def test_rest_lasts_its_days(days_ago: int, rests: bool) -> None:
    """Sat on in the morning, a stand may be sat on that evening; then it rests three full days."""
    past = (DAY - timedelta(days=days_ago),)
    found = own_vetoes(SIT, PLACE, HALF_DAY, PlanRules(), past)
    assert bool(found) is rests
    if rests:
        assert found[0].day == past[0] and found[0].free_from == past[0] + timedelta(days=4)


def test_no_shooting_light_is_no_sit_whatever_is_switched_off() -> None:
    dark = replace(HALF_DAY, starts=None, ends=None)
    assert vetoed_by(half_day=dark, rules=ALL_OFF) == ["light"]


def test_without_a_forecast_or_a_season_nothing_forbids() -> None:
    unknown = replace(HALF_DAY, wind=None, is_open=None)
    assert vetoed_by(half_day=unknown) == []
    calm = replace(HALF_DAY, wind=SitWind(np.empty(0)))
    assert vetoed_by(half_day=calm) == []


@pytest.mark.parametrize(
    ("rules", "advice"),
    [
        ((), "sit"),
        (("wind",), "stay out"),
        (("rest", "mornings_at_food"), "stay out"),
        (("season_dates", "wind"), ""),
        (("light",), ""),
        (("sit_at_least",), ""),
        (("better_stand",), ""),
    ],
)
def test_advice(rules: tuple[str, ...], advice: str) -> None:
    vetoes = tuple(Veto(rule=rule) for rule in rules)  # type: ignore[arg-type]
    assert replace(SIT, vetoes=vetoes).advice == advice


def sit(days: int, half: str, stand: str, chance: float) -> tuple[PlannedSit, StandPlace]:
    return (
        replace(SIT, day=DAY + timedelta(days=days), half=half, stand=stand, chance=chance),
        replace(PLACE, name=stand),
    )


def advice_of(*sits: tuple[PlannedSit, StandPlace]) -> dict[tuple[int, str, str], str]:
    return {
        ((s.day - DAY).days, s.half, s.stand): s.vetoes[0].rule if s.vetoes else "sit"
        for s in choose_sits(list(sits), PlanRules())
    }


def test_one_stand_a_half_day_and_the_other_is_named() -> None:
    found = choose_sits([sit(0, "AM", "Oak", 0.2), sit(0, "AM", "Elm", 0.3)], PlanRules())
    assert [(s.stand, s.advice) for s in found] == [("Elm", "sit"), ("Oak", "")]
    assert found[1].vetoes == (Veto(rule="better_stand", stand="Elm"),)


def test_a_stand_is_kept_for_its_best_day() -> None:
    assert advice_of(
        sit(0, "AM", "Oak", 0.2),
        sit(2, "AM", "Oak", 0.3),
        sit(2, "PM", "Oak", 0.1),
        sit(5, "AM", "Oak", 0.15),
        sit(6, "AM", "Oak", 0.14),
    ) == {
        (0, "AM", "Oak"): "better_day",
        (2, "AM", "Oak"): "sit",
        (2, "PM", "Oak"): "sit",
        (5, "AM", "Oak"): "better_day",
        (6, "AM", "Oak"): "sit",
    }


def test_a_small_chance_is_no_reason_to_walk_in() -> None:
    assert advice_of(sit(0, "AM", "Oak", 0.049)) == {(0, "AM", "Oak"): "sit_at_least"}
    assert advice_of(sit(0, "AM", "Oak", 0.05)) == {(0, "AM", "Oak"): "sit"}


def test_a_sit_that_is_barred_keeps_no_other_from_its_place() -> None:
    barred, place = sit(0, "AM", "Elm", 0.9)
    barred = replace(barred, vetoes=(Veto(rule="wind"),))
    found = choose_sits([(barred, place), sit(0, "AM", "Oak", 0.2)], PlanRules())
    assert [s.advice for s in found] == ["stay out", "sit"]


def tied(stand: str, chance: float, **more: object) -> tuple[PlannedSit, StandPlace]:
    one, place = sit(0, "PM", stand, chance)
    return replace(one, low=chance / 2, high=2 * chance, **more), place  # type: ignore[arg-type]


def first_of(*sits: tuple[PlannedSit, StandPlace], sat: dict[str, int] | None = None) -> PlannedSit:
    (first,) = [s for s in choose_sits(list(sits), PlanRules(), sat) if s.advice == "sit"]
    return first


def test_a_tie_is_broken_by_wind_then_rest_then_the_cooler_calmer_half() -> None:
    better, other = {"winds": ("N",), "wind_known": False, "unrest": 9.0}, {"unrest": 1.0}
    for more, sat, why in (
        (other | {"winds": (), "wind_known": False}, None, "wind"),
        (other | better | {"unrest": 9.0}, {"Elm": 3}, "less hunted"),
        (better | other, None, "cooler and calmer"),
    ):
        found = first_of(tied("Elm", 0.30, **better), tied("Oak", 0.29, **more), sat=sat)
        assert (found.stand, found.tie) == ("Oak", why)
    # Alike in all of these, or better in itself: nothing was broken.
    found = first_of(tied("Elm", 0.30, **better), tied("Oak", 0.29, **better))
    assert (found.stand, found.tie) == ("Elm", "")
    found = first_of(tied("Elm", 0.30, **better), tied("Oak", 0.05, **other))
    assert (found.stand, found.tie) == ("Elm", "")


@pytest.mark.parametrize("known", [{}, {"unrest": 3.0}])
def test_an_unknown_weather_breaks_no_tie(known: dict[str, float]) -> None:
    """Neither one that is not known of both, nor one that is known of one alone."""
    for best, other in ((known, {}), ({}, known)):
        found = first_of(tied("Elm", 0.30, **best), tied("Oak", 0.29, **other))
        assert (found.stand, found.tie) == ("Elm", "")


def test_a_sit_nobody_can_take_ties_with_none() -> None:
    """Within the doubt of a barred or lesser sit, not within that of the best that is left."""
    sure, cheap = {"low": 0.20, "high": 0.36}, {"low": 0.02, "high": 0.62, "unrest": -5.0}
    barred, place = tied("Ash", 0.30, unrest=9.0)
    oak, elm = tied("Oak", 0.28, unrest=9.0), tied("Elm", 0.22)
    free = [(replace(oak[0], **sure), oak[1]), (replace(elm[0], **cheap), elm[1])]
    assert first_of(*free).stand == "Oak"
    barred = replace(barred, vetoes=(Veto(rule="wind"),), low=0.0, high=1.0)
    found = choose_sits([(barred, place), *free], PlanRules())
    (sat,) = [each for each in found if each.advice == "sit"]
    assert (sat.stand, sat.tie) == ("Oak", "")


@pytest.mark.parametrize(
    ("opens", "closes", "hunted"),
    [
        (None, None, {(1, 1), (7, 4), (12, 31)}),
        ((10, 1), (11, 30), {(10, 1), (11, 30)}),
        ((11, 8), (11, 8), {(11, 8)}),
        ((12, 1), (1, 31), {(12, 1), (12, 31), (1, 1), (1, 31)}),
        ((11, 8), None, {(11, 8), (12, 31)}),
        (None, (11, 8), {(1, 1), (7, 4), (11, 8)}),
    ],
)
def test_a_stand_is_hunted_from_its_first_day_to_its_last(
    opens: tuple[int, int] | None, closes: tuple[int, int] | None, hunted: set[tuple[int, int]]
) -> None:
    place = replace(PLACE, opens=opens, closes=closes)
    around = {(m, d) for m, d in hunted if place.is_in_time(date(2025, m, d))}
    assert around == hunted
    for outside in ((9, 30), (12, 1), (11, 7), (11, 9), (11, 30), (2, 1)):
        day = date(2025, *outside)
        inside = (opens or (1, 1)) <= outside <= (closes or (12, 31))
        if opens and closes and closes < opens:
            inside = outside >= opens or outside <= closes
        assert place.is_in_time(day) is inside


def test_only_burnt_stands_count_sits_in_vain() -> None:
    (veto,) = own_vetoes(SIT, PLACE, SOUTH, PlanRules(), ())
    assert (veto.rule, veto.count, veto.partly) == ("wind", 0, False)


KNOWN = {"winds": ("N",), "wind_known": True}
UNKNOWN = {"winds": ("N",), "wind_known": False}
ANY = {"winds": (), "wind_known": False}
"""A stand on its winds, on what wind nobody knows, and one for any wind."""


@pytest.mark.parametrize(
    ("best", "second", "sat", "first"),
    [
        (KNOWN, KNOWN, {}, "Oak"), (KNOWN, ANY, {}, "Oak"), (ANY, KNOWN, {}, "Oak"),
        (ANY, ANY, {}, "Oak"), (UNKNOWN, UNKNOWN, {}, "Oak"), (KNOWN, UNKNOWN, {}, "Oak"),
        (UNKNOWN, KNOWN, {}, "Elm"), (UNKNOWN, ANY, {}, "Elm"),
        (KNOWN, KNOWN, {"Oak": 2, "Elm": 1}, "Elm"), (KNOWN, KNOWN, {"Oak": 1}, "Elm"),
        (KNOWN, KNOWN, {"Elm": 1}, "Oak"), (UNKNOWN, KNOWN, {"Elm": 9}, "Elm"),
    ],
)  # fmt: skip
@pytest.mark.parametrize(("gap", "tie"), [(0.04, True), (0.06, False)])
def test_of_sits_whose_chances_cannot_be_told_apart_the_one_that_costs_least(
    best: dict[str, Any], second: dict[str, Any], sat: dict[str, int], first: str,
    gap: float, tie: bool,
) -> None:  # fmt: skip
    """An interval of 0.2 is a doubt of 0.05; the wider one beside it is no judge."""
    oak, elm = sit(0, "AM", "Oak", 0.30), sit(0, "AM", "Elm", 0.30 - gap)
    asked = [
        (replace(oak[0], low=0.2, high=0.4, **best), oak[1]),
        (replace(elm[0], low=0.0, high=0.5, **second), elm[1]),
    ]
    for order in (asked, asked[::-1]):
        found = choose_sits(order, PlanRules(), sat)
        advised = [each.stand for each in found if each.advice == "sit"]
        assert advised == [first if tie else "Oak"]
