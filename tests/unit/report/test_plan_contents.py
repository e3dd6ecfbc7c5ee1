"""The report of a small property: the coming week, the map, the sits."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from invented.small_property import make_small_property

from deerlog.analysis.plan.past_sits import Aftermath
from deerlog.analysis.plan.planned_sits import sit_groups
from deerlog.report.page.buck_contents import ground_used
from deerlog.report.page.contents import plan_view, this_week
from deerlog.report.page.how_good_contents import after_words, cut_words, sits_view
from deerlog.study import PropertyStudy, open_study
from deerlog.study.plan import coming_plan
from deerlog.study.replay import sits_result


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> PropertyStudy:
    return open_study(make_small_property(tmp_path_factory.mktemp("contents") / "small"))


def test_the_week_on_the_page_is_the_week_of_the_plan(study: PropertyStudy) -> None:
    made = coming_plan(study)
    view = plan_view(made)
    assert (view["first"], view["last"], view["closed"]) == (made.first, made.last, None)
    groups = sit_groups(made.sits)
    assert [(s["stand"], s["low"], s["high"]) for s in view["sits"]] == [
        (g.best.place, g.low, g.high) for g in groups
    ]
    shown = [(s.day, s.half, s.place) for g in groups for s in g.sits]
    assert sorted(shown) == sorted((s.day, s.half, s.place) for s in made.sits if s.advice == "sit")
    assert view["sits"][0]["when"] == "Any evening, Tue 21 to Sat 25 Oct"
    assert view["sits"][0]["bucks"] == "Lantern"
    assert any(s["when"].startswith("Any ") for s in view["sits"])
    assert any(w.startswith("Ridge Ladder, 21 to 22 October") for w, _ in view["stay_outs"])
    assert view["sits"][0]["winds"] in ("", "N or NW")
    assert ("Wind: no forecast is given", "deerlog report --weather FILE") in this_week(study, [])[
        "left_out"
    ]


def test_the_page_says_whether_a_forecast_went_in(study: PropertyStudy) -> None:
    made = coming_plan(study)
    without, given = plan_view(made), plan_view(replace(made, goes_by_forecast=True))
    assert not without["goes_by_forecast"] and given["goes_by_forecast"]
    assert without["to_have_it"] == "deerlog report --weather FILE"


def test_the_map_counts_what_the_tables_hold(study: PropertyStudy) -> None:
    drawn = ground_used(study, "Lantern")
    assert drawn is not None and drawn["units"] == "imperial"
    assert [s["site"] for s in drawn["sites"]] == ["Ridge", "Beans", "Creek"]
    visits = study.visits[study.visits["buck"] == "Lantern"]
    uses = [use for uses in drawn["phases"].values() for use in uses.values()]
    assert sum(u["visits"] for u in uses) == len(visits)
    assert sum(u["shooting_light_visits"] for u in uses) == visits["in_light"].sum()
    assert sum(u["camera_days"] for u in uses) == pytest.approx(study.effort["camera_day"].sum())
    # Two hundred metres north of Ridge and west of it.
    ridge, beans = drawn["sites"][:2]
    assert beans["y_m"] - ridge["y_m"] == pytest.approx(0.003 * 111_040, abs=2)
    assert beans["x_m"] < ridge["x_m"]


def test_a_site_without_position_is_left_off_the_map(study: PropertyStudy) -> None:
    place = study.place
    lost = place.placements.assign(latitude=float("nan"))
    blind = PropertyStudy(place=replace(place, placements=lost), field_log=study.field_log,
                  as_of=study.as_of)  # fmt: skip
    assert ground_used(blind, "Lantern") is None


def test_sits_up_to_the_day_and_no_later(study: PropertyStudy) -> None:
    chances = {(date(2025, 10, 11), "PM", "Bean Blind"): 0.3}
    result = sits_result(study, chances)
    rows = {row["words"]: row for row in sits_view(result)["rows"]}
    # The sit of 25 October is not known yet.
    assert (rows["All sits"]["seen"], rows["All sits"]["sits"]) == (1, 3)
    assert rows["All sits"]["mean_chance"] == 0.3 and rows["All sits"]["given"] == 1
    assert rows["Mornings"]["sits"] == 1 and rows["Mornings"]["mean_chance"] is None
    assert rows["At food sites"]["mean_chance"] == 0.3 and rows["Rut"]["seen"] == 1
    rested = {r["stand"]: r["days_rested"] for r in sits_view(result)["rested"]}
    assert (rested["Ridge Ladder"], rested["Bean Blind"]) == (1, 9)


def test_no_sits_is_an_empty_table(study: PropertyStudy) -> None:
    none = replace(study.place, sits=study.place.sits.iloc[:0])
    empty = PropertyStudy(place=none, field_log=study.field_log, as_of=study.as_of)
    view = sits_view(sits_result(empty, {}))
    assert view["rows"] == [] and view["after"] is None
    assert [r["last_sit"] for r in view["rested"]] == [None, None]


@pytest.mark.parametrize(
    ("ratio", "low", "high", "words"),
    [
        (0.6, 0.4, 0.9, "0.6 times as often (0.4 to 0.9): sits keep them away."),
        (0.64, 0.39, 1.06, "it may be chance"),
        (1.5, 1.1, 2.0, "not fewer, but more"),
        (None, None, None, "Not enough to tell"),
    ],
)
def test_what_came_after(
    ratio: float | None, low: float | None, high: float | None, words: str
) -> None:
    after = Aftermath(
        sits=12, after_visits=9, after_camera_days=36.0, other_visits=60, other_camera_days=150.5,
        ratio=ratio, low=low, high=high,
    )  # fmt: skip
    text = after_words(after)
    assert text is not None and words in text
    assert "after 12 sits" in text and "9 times in 36 camera-days" in text
    assert after_words(replace(after, sits=0)) is None


def test_cuts_in_words() -> None:
    assert cut_words("half", "PM") == "Evenings"
    assert cut_words("setting", "food") == "At food sites"
    assert cut_words("phase", "pre-rut") == "Pre-rut"
