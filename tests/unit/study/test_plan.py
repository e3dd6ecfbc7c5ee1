"""The coming sits of a small property on disk: with everything, and with each thing missing."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from invented.small_property import LAST_DAY, SETTINGS, TABLES, make_small_property

from deerlog.errors import PropertyError
from deerlog.report.plan_files import plan_files, plan_rows, site_rows
from deerlog.report.tables import table_text
from deerlog.study import PropertyStudy, open_study
from deerlog.study.plan import ComingPlan, coming_plan, every_site
from deerlog.study.plan_inputs import read_forecast

pytestmark = pytest.mark.usefixtures("few_weeks")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_small_property(tmp_path_factory.mktemp("small") / "whole")


@pytest.fixture(scope="module")
def study(folder: Path) -> PropertyStudy:
    return open_study(folder)


@pytest.fixture(scope="module")
def whole(study: PropertyStudy) -> ComingPlan:
    return coming_plan(study)


@pytest.fixture(scope="module")
def changed(folder: Path) -> Callable[[dict[str, str | None]], PropertyStudy]:
    """The same property with some tables changed or gone; the photo log stays as it is."""

    def change(tables: dict[str, str | None]) -> PropertyStudy:
        for name, text in (TABLES | tables).items():
            path = folder / name
            if text is None:
                path.unlink(missing_ok=True)
            else:
                path.write_text(text, encoding="utf-8", newline="\n")
        return open_study(folder)

    return change


def aside(made: ComingPlan) -> str:
    return " / ".join(f"{item.what} ({item.missing})" for item in made.not_considered)


def vetoes(made: ComingPlan) -> dict[tuple[date, str, str], list[str]]:
    return {(s.day, s.half, s.place): [b.rule for b in s.vetoes] for s in made.sits}


def test_the_days_the_bucks_and_the_stands(study: PropertyStudy, whole: ComingPlan) -> None:
    assert (whole.first, whole.last, whole.as_of) == (
        date(2025, 10, 21), date(2025, 10, 27), LAST_DAY,
    )  # fmt: skip
    assert whole.bucks == ("Lantern", "Passer")
    assert {s.stand for s in whole.sits} == {"Ridge Ladder", "Bean Blind"}
    assert len(whole.sits) == 7 * 2 * 2
    assert study.running_sites == ("Ridge", "Beans")
    assert {s.buck for s in whole.sits} == {"Lantern"}
    assert all(0 < s.low < s.chance < s.high < 1 for s in whole.sits)


def test_rules_forbid_where_they_should(whole: ComingPlan) -> None:
    found = vetoes(whole)
    # Sat on the 19th, three days of rest; the sit of the 25th is not known yet.
    for day in (20, 21, 22, 23, 24, 25, 26, 27):
        ridge = found.get((date(2025, 10, day), "AM", "Ridge Ladder"), [])
        assert ("rest" in ridge) == (day in (21, 22))
    for day in range(21, 28):
        assert "mornings_at_food" in found[date(2025, 10, day), "AM", "Bean Blind"]
        assert "mornings_at_food" not in found[date(2025, 10, day), "PM", "Bean Blind"]


def test_sits_come_first_and_go_together(whole: ComingPlan) -> None:
    advice = [s.advice for s in whole.sits]
    assert advice == sorted(advice, key=["sit", "", "stay out"].index)
    sits = [s for s in whole.sits if s.advice == "sit"]
    assert sits
    assert len({(s.day, s.half) for s in sits}) == len(sits)
    again = [(a, b) for a in sits for b in sits if a.place == b.place and a.day < b.day]
    assert again, "no stand comes twice: this would show nothing"
    for a, b in again:
        assert (b.day - a.day).days > {"Ridge Ladder": 3, "Bean Blind": 2}[a.place]


def test_without_a_forecast_the_wind_is_not_considered(whole: ComingPlan) -> None:
    assert "Wind: no forecast is given (--weather FILE)" in aside(whole)
    assert not any(s.wind_known for s in whole.sits)


def test_a_forecast_is_kept_to(study: PropertyStudy, tmp_path: Path) -> None:
    rows = "".join(f"2025-10-{d} {h:02d}:00,{'S' if d == 24 else 'N'},6\n"
                   for d in range(21, 26) for h in range(24))  # fmt: skip
    path = tmp_path / "forecast.csv"
    path.write_text("time,wind_from,wind_mph\n" + rows, encoding="utf-8")
    weather, problems = read_forecast(study, path)
    assert problems == []
    made = coming_plan(study, weather=weather)
    found = vetoes(made)
    assert "wind" in found[date(2025, 10, 24), "AM", "Ridge Ladder"]
    assert "wind" not in found[date(2025, 10, 23), "AM", "Ridge Ladder"]
    # The blind can be hunted on any wind.
    assert "wind" not in found[date(2025, 10, 24), "PM", "Bean Blind"]
    assert "Wind on 4 of 14 half-days: the forecast gives no direction for them" in aside(made)


def test_weather_that_earned_its_place_moves_the_chances(
    changed: Callable[[dict[str, str | None]], PropertyStudy],
) -> None:
    """Colder than normal means more visits; of a day without a forecast nothing is changed."""
    rows = "".join(f"{day:%Y-%m-%d},{50 + 9 * (n % 3)},4\n" for n, day in enumerate(
        pd.date_range("2024-08-01", "2025-10-20")))  # fmt: skip
    study = changed({"weather.csv": "time,temperature_f,wind_mph\n" + rows})
    plain = {(s.day, s.half, s.place): s.chance for s in coming_plan(study).sits}
    effects = study.weather_effects
    assert effects is not None
    study.__dict__["weather_effects"] = dataclasses.replace(
        effects, kept=np.array([-0.5, 0.0, 0.0])
    )
    forecast = pd.DataFrame(
        {
            "time": pd.to_datetime(["2025-10-21 12:00", "2025-10-22 12:00"]),
            "temperature_c": [-10.0, 30.0],
            "wind_ms": 2.0,
            "wind_from_deg": float("nan"),
            "pressure_hpa": float("nan"),
        }
    )
    made = coming_plan(study, weather=forecast)
    assert made.effects is not None
    for sit in made.sits:
        before = plain[sit.day, sit.half, sit.place]
        if sit.day == date(2025, 10, 21):
            assert sit.chance > 1.3 * before
        elif sit.day == date(2025, 10, 22):
            assert sit.chance < 0.7 * before
        else:
            assert sit.chance == before
    # Nothing kept: nothing changed.
    study.__dict__["weather_effects"] = dataclasses.replace(effects, kept=np.zeros(3))
    again = coming_plan(study, weather=forecast)
    assert {(s.day, s.half, s.place): s.chance for s in again.sits} == plain
    changed({"weather.csv": None})


def test_a_forecast_that_cannot_be_used_is_an_error(study: PropertyStudy, tmp_path: Path) -> None:
    path = tmp_path / "forecast.csv"
    path.write_text("day,cloud\n2025-10-21,3\n", encoding="utf-8")
    with pytest.raises(PropertyError, match=r"time"):
        read_forecast(study, path)
    assert read_forecast(study, None) == (None, [])


def test_one_buck_or_one_stand(study: PropertyStudy) -> None:
    # An alias, in other capitals; a buck who is no target.
    assert coming_plan(study, buck="lamp").bucks == ("Lantern",)
    assert coming_plan(study, buck="summers").bucks == ("Summers",)
    made = coming_plan(study, stand="bean  blind")
    assert {s.stand for s in made.sits} == {"Bean Blind"}
    with pytest.raises(PropertyError, match="Write Lantern"):
        coming_plan(study, buck="Lanten")
    with pytest.raises(PropertyError, match="Ridge Ladder, Bean Blind"):
        coming_plan(study, stand="Nowhere")


def test_every_site_has_every_buck_and_half(study: PropertyStudy, whole: ComingPlan) -> None:
    table = every_site(study, whole)
    assert len(table) == 7 * 2 * 2 * 2
    rows = site_rows(whole, table)
    assert set(rows["stand"]) == {"Ridge Ladder", "Bean Blind"}
    lantern = rows[(rows["buck"] == "Lantern") & (rows["stand"] == "Ridge Ladder")]
    alone = {(s.day, s.half): s for s in whole.sits if s.stand == "Ridge Ladder"}
    for row in lantern.to_dict("records"):
        sit = alone[row["day"], row["half"]]
        assert row["advice"] == sit.advice
        assert row["chance"] <= sit.chance + 1e-12
    assert table_text("plan.csv", rows).startswith("day,half,stand,site,buck,chance,")
    assert len(plan_rows(whole)) == len(whole.sits)


def test_nothing_after_the_day_before_counts(folder: Path, study: PropertyStudy) -> None:
    """A plan for a past day does not change with what came later."""
    before = open_study(folder, as_of=date(2024, 11, 9))
    made = coming_plan(before)
    text = plan_files(before, made)
    # All later visits are moved to one spot, and a sit is added: nothing of it may show.
    log = before.field_log
    later = log.sightings["local"] >= pd.Timestamp("2024-11-10", tz="America/Chicago")
    sightings = log.sightings.copy()
    sightings.loc[later, ["site", "buck"]] = ["Beans", "Passer"]
    changed_log = dataclasses.replace(log, sightings=sightings)
    other = PropertyStudy(place=before.place, field_log=changed_log, as_of=before.as_of)
    assert plan_files(other, coming_plan(other)) == text


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        ({"stands.csv": None, "sits.csv": None}, "Stands: none is given"),
        ({"sits.csv": None}, "Rest after a sit: no sits are known (sits.csv)"),
        ({"bucks.csv": None}, "Targets: no buck is marked as one"),
        (
            {"bucks.csv": "buck,target\nLantern,yes\nGhost,yes\n"},
            "Ghost: no sure tag of him yet (tags/)",
        ),
        (
            {"property.toml": SETTINGS.split("[[")[0]},
            "Season dates: none is given ([[hunting]] in property.toml)",
        ),
        (
            {"stands.csv": "stand,sites\nRidge Ladder,Ridge\nNew Stand,Pond\n",
             "cameras.csv": TABLES["cameras.csv"] + "c4,Pond,water,40.1,-91.2,2025-10-25,\n"},
            "New Stand: no camera has run yet at Pond",
        ),
    ],
)  # fmt: skip
def test_what_is_missing_is_said_and_the_rest_goes_on(
    changed: Callable[[dict[str, str | None]], PropertyStudy],
    tables: dict[str, str | None],
    words: str,
) -> None:
    made = coming_plan(changed(tables))
    assert words in aside(made)
    assert made.sits and any(s.advice == "sit" for s in made.sits)
    if tables.get("stands.csv", "") is None:
        assert {s.place for s in made.sits} == {"Ridge", "Beans"}
        assert all(s.stand == "" for s in made.sits)
    if tables.get("bucks.csv", "") is None:
        assert set(made.bucks) == {"Lantern", "Passer", "Summers"}


BAD_STANDS = (
    "stand,sites,winds\nRidge Ladder,Ridge,northish\nBean Blind,Beans,\nPond Stand,Nowhere,\n"
)


def test_a_stand_whose_row_is_left_out_is_named(
    changed: Callable[[dict[str, str | None]], PropertyStudy],
) -> None:
    study = changed({"stands.csv": BAD_STANDS, "sits.csv": None})
    made = coming_plan(study)
    assert {s.stand for s in made.sits} == {"Bean Blind"}
    for name, row in (("Ridge Ladder", 2), ("Pond Stand", 4)):
        assert f"{name}: the row of this stand is left out until it is mended (stands.csv row" in (
            aside(made)
        )
        assert f"stands.csv row {row}; `deerlog check`" in aside(made)
        with pytest.raises(PropertyError, match=f"{name} is left out until its row is mended"):
            coming_plan(study, stand=name.lower())
    # Who asks for one stand is not told of the others.
    assert "left out" not in aside(coming_plan(study, stand="Bean Blind"))


def test_no_stand_left_is_not_no_stand_given(
    changed: Callable[[dict[str, str | None]], PropertyStudy],
) -> None:
    only_bad = "".join(BAD_STANDS.splitlines(keepends=True)[:2])
    made = coming_plan(changed({"stands.csv": only_bad, "sits.csv": None}))
    assert "Stands: no row can be used" in aside(made) and "none is given" not in aside(made)
    changed({})


def test_closed_season(changed: Callable[[dict[str, str | None]], PropertyStudy]) -> None:
    closed = SETTINGS.replace('"10-01"', '"11-15"')
    made = coming_plan(changed({"property.toml": closed}))
    assert made.opens_next == (date(2025, 11, 15), "bow")
    assert {s.advice for s in made.sits} == {""}
    # Across the turn of the year it is open; on the rule's word only.
    made = coming_plan(changed({"property.toml": closed + "[plan]\nseason_dates = false\n"}))
    assert made.opens_next is None and any(s.advice == "sit" for s in made.sits)


def test_rules_of_the_property_are_kept(
    changed: Callable[[dict[str, str | None]], PropertyStudy],
) -> None:
    rules = SETTINGS + "[plan]\nmornings_at_food = true\nrest = false\nsit_at_least = 0.9\n"
    made = coming_plan(changed({"property.toml": rules}))
    assert {rule for found in vetoes(made).values() for rule in found} == {"sit_at_least"}
    with pytest.raises(PropertyError, match="no rule named 'winds'"):
        coming_plan(changed({"property.toml": SETTINGS + "[plan]\nwinds = true\n"}))


def test_no_tags_no_plan(tmp_path: Path) -> None:
    study = open_study(make_small_property(tmp_path / "bare", tagged=False))
    made = coming_plan(study)
    assert made.sits == () and made.bucks == ()
    assert "Lantern: no sure tag of him yet" in aside(made)
    assert every_site(study, made).empty


def test_days_of_which_no_card_has_told_are_said(
    changed: Callable[[dict[str, str | None]], PropertyStudy], folder: Path
) -> None:
    changed({})
    late = coming_plan(open_study(folder, as_of=date(2025, 11, 8)))
    assert "The 19 days since 2025-10-20: no camera is known to have run (cards/)" in aside(late)
    assert "no camera is known" not in aside(coming_plan(open_study(folder)))


def test_the_season_s_end_is_the_end_of_the_plan(
    changed: Callable[[dict[str, str | None]], PropertyStudy], folder: Path
) -> None:
    changed({})
    study = open_study(folder, as_of=date(2025, 5, 29))
    made = coming_plan(study)
    assert made.last == date(2025, 5, 31)
    assert "Days after 2025-05-31" in aside(made)
    last = coming_plan(open_study(folder, as_of=date(2025, 5, 31)))
    assert last.sits == ()


def test_a_forecast_of_other_days_is_said_to_be_none(study: PropertyStudy) -> None:
    first = study.last_day + pd.Timedelta(days=20)
    weather = pd.DataFrame(
        {
            "time": pd.date_range(first, periods=5, freq="D", unit="us"),
            "temperature_c": 5.0,
            "wind_ms": 3.0,
            "wind_from_deg": 270.0,
            "pressure_hpa": 1015.0,
        }
    )
    far, none = coming_plan(study, weather=weather), coming_plan(study)
    assert not far.goes_by_forecast
    assert far.sits == none.sits
    told = [item.what for item in far.not_considered if "forecast" in item.what]
    assert len(told) == 1
    assert str(first.date()) in told[0] and str(far.first) in told[0]
    near = weather.assign(time=weather["time"] - pd.Timedelta(days=19))
    assert coming_plan(study, weather=near).goes_by_forecast
