"""What people import from deerlog itself: there, documented, and costing nothing until used."""

from __future__ import annotations

import inspect
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from invented.small_property import LAST_DAY, make_small_property

import deerlog
from deerlog import study as inside
from deerlog.report.report_files import report_files
from deerlog.report.tables import TABLE_COLUMNS, table_text


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_small_property(tmp_path_factory.mktemp("public") / "hollow")


@pytest.fixture(scope="module")
def study(folder: Path) -> deerlog.Study:
    return deerlog.open_study(str(folder))


@pytest.fixture(scope="module")
def answers(folder: Path) -> inside.PropertyStudy:
    """The same property, as the commands open it."""
    return inside.open_study(folder)


@pytest.fixture(scope="module")
def written(answers: inside.PropertyStudy) -> dict[str, str]:
    return report_files(answers)


def methods() -> list[str]:
    return [n for n, f in inspect.getmembers(deerlog.Study, inspect.isfunction) if n[0] != "_"]


def test_everything_named_is_there_and_says_what_it_is() -> None:
    assert sorted(deerlog.__all__) == deerlog.__all__
    assert set(deerlog.__all__) <= set(dir(deerlog))
    things = {name: getattr(deerlog, name) for name in deerlog.__all__}
    things |= {name: getattr(deerlog.Study, name) for name in methods()}
    for name, thing in things.items():
        assert inspect.getdoc(thing), name
        if inspect.isfunction(thing):
            assert inspect.signature(thing).return_annotation != inspect.Signature.empty
    with pytest.raises(AttributeError, match="no attribute 'residency_tabel'"):
        _ = deerlog.residency_tabel  # type: ignore[attr-defined]


def test_importing_loads_nothing_heavy() -> None:
    code = (
        "import sys, deerlog; print(sorted({'pandas','numpy','scipy','click'} & set(sys.modules)))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"


def test_a_study_is_one_line_and_itself_alone(study: deerlog.Study, folder: Path) -> None:
    assert repr(study) == "<deerlog study of 'Hollow Fork', as of 2025-10-20>"
    assert len({study, study, deerlog.open_study(folder)}) == 2
    assert (study.name, study.folder, study.as_of) == ("Hollow Fork", folder, LAST_DAY)


def test_there_is_a_method_for_each_file_of_the_report() -> None:
    assert {name.removesuffix(".csv") for name in TABLE_COLUMNS} <= set(methods())


@pytest.mark.parametrize("file", [f for f in TABLE_COLUMNS if f != "plan.csv"])
def test_a_table_holds_what_the_file_holds(
    study: deerlog.Study, written: dict[str, str], file: str
) -> None:
    table = getattr(study, file.removesuffix(".csv"))()
    assert list(table.columns) == list(TABLE_COLUMNS[file])
    whole = {"residency.csv": study.labels, "daylight.csv": lambda: study.daylight(by_season=False)}
    rows = table_text(file, table).splitlines()
    if file in whole:
        rows += table_text(file, whole[file]().assign(season="all")).splitlines()[1:]
    assert sorted(rows) == sorted(written[file].splitlines())
    assert len(table) > 0 or file in ("shift.csv", "windows.csv")


@pytest.mark.parametrize("name", methods())
def test_a_column_is_of_one_type_in_every_table(study: deerlog.Study, name: str) -> None:
    table = getattr(study, name)()
    assert list(table.index) == list(range(len(table)))
    days = {"day", "week_start", "opens", "closes", "change_day", "first_seen", "last_seen"}
    days |= {"start", "end", "arrived", "left"}
    for column, dtype in table.dtypes.astype(str).items():
        assert dtype != "object", column
        assert (dtype == "datetime64[us]") == (column in days), column
        assert column != "season" or dtype == "int64"


def test_tables_merge_by_buck_and_season(study: deerlog.Study) -> None:
    weeks = study.weekly().merge(study.residency(), on=["buck", "season"])
    assert len(weeks) == len(study.weekly())
    assert len(study.visits().merge(study.daylight(), on=["buck", "season", "phase", "site"]))


def test_a_table_may_be_changed_without_harm(study: deerlog.Study) -> None:
    first = study.labels()
    before = first.copy()
    first["score"] = -1.0
    pd.testing.assert_frame_equal(study.labels(), before)
    replayed = study.replay(weeks=4)
    replayed["forecast"] = 2.0
    assert study.replay(weeks=4)["forecast"].max() < 1


def test_visits_are_those_every_figure_stands_on(study: deerlog.Study) -> None:
    visits = study.visits()
    assert visits["buck"].value_counts().to_dict() == (
        study.labels().set_index("buck")["visits"].to_dict()
    )
    assert visits["local"].dt.tz is not None
    assert visits.groupby("buck")["local"].apply(lambda t: t.is_monotonic_increasing).all()


def test_an_earlier_day_is_asked_by_as_of(study: deerlog.Study) -> None:
    early = deerlog.open_study(study.folder, as_of=date(2024, 10, 1))
    assert early.visits()["day"].max() <= pd.Timestamp("2024-10-01")
    assert early.photos()["local"].max().date() <= date(2024, 10, 1)
    assert len(early.photos()) < len(study.photos())
    at_seven = pd.Timestamp("2024-10-01 07:00")
    assert deerlog.open_study(study.folder, as_of=at_seven).as_of == early.as_of


def test_what_stood_where_and_took_what(study: deerlog.Study) -> None:
    cameras, photos = study.cameras(), study.photos()
    assert cameras["camera"].tolist() == ["c1", "c2", "c3"]
    assert cameras["end"].isna().tolist() == [True, True, False]
    assert set(photos["site"]) == set(study.sites()["site"])
    assert (study.folder / "cards").is_dir() and photos["path"].str.startswith("cards/c").all()
    assert photos["visit"].notna().all()


def test_every_coming_half_day_has_its_chance(
    study: deerlog.Study, answers: inside.PropertyStudy
) -> None:
    chances = study.chances()
    made = answers.forecast
    assert len(chances) == made.chance().size
    assert chances["day"].min() == answers.last_day + pd.Timedelta(days=1)
    row = chances.query("buck == 'Passer' and site == 'Beans' and half == 'PM'").iloc[25]
    place = (25, made.bucks.index("Passer"), made.sites.index("Beans"), 1)
    assert row["chance"] == made.chance()[place]
    assert row["around"] == made.around[place[:2]]
    assert row["day"] == made.days[25]
    assert (chances["low"] <= chances["chance"]).mean() > 0.99


def test_the_plan_is_as_long_as_asked(study: deerlog.Study) -> None:
    plan = study.plan(days=3)
    assert list(plan.columns) == list(TABLE_COLUMNS["plan.csv"])
    assert plan["day"].nunique() == 3
    with pytest.raises(ValueError, match="at least one"):
        study.plan(days=0)


def test_replayed_weeks_are_scored(study: deerlog.Study, answers: inside.PropertyStudy) -> None:
    replayed = study.replay(weeks=4)
    assert replayed["day"].min() > answers.last_day - pd.Timedelta(days=28)
    assert replayed["day"].max() == answers.last_day - pd.Timedelta(days=1)  # the last ran in part
    scores = study.chance_scores(weeks=4).set_index("rule")
    p, seen = replayed["forecast"], replayed["seen"].astype(float)
    assert scores.loc["forecast", "brier"] == pytest.approx(((p - seen) ** 2).mean())
    saved = 1 - scores.loc["forecast", "log_loss"] / scores.loc["all_time", "log_loss"]
    assert scores.loc["all_time", "gain"] == pytest.approx(saved)
    assert pd.isna(scores.loc["forecast", "gain"]) and pd.isna(scores.loc["all_time", "gain_low"])
    table = study.reliability(weeks=4)
    assert table["half_days"].sum() == len(replayed)
    assert table["came_true"].sum() == seen.sum() > 0
    with pytest.raises(ValueError, match="at least one"):
        study.replay(weeks=0)


def test_wrong_names_are_those_of_the_labels(
    study: deerlog.Study, answers: inside.PropertyStudy
) -> None:
    table, wrong = study.wrong_names(), answers.residency.wrong
    assert wrong is not None and len(table) == 1 + len(wrong.pairs)
    whole = table.iloc[0]
    assert (whole["share"], whole["low"], whole["high"]) == (wrong.share, wrong.low, wrong.high)
    assert whole["visits"] == len(answers.visits)
    for pair, (_, row) in zip(wrong.pairs, table.iloc[1:].iterrows(), strict=True):
        assert (row["buck"], row["other_buck"], row["chance"]) == (*pair.bucks, pair.chance)
        assert row["visits"] == answers.visits["buck"].isin(pair.bucks).sum()


def test_evidence_sums_up_to_the_score(study: deerlog.Study, answers: inside.PropertyStudy) -> None:
    evidence = study.evidence().groupby("buck")["evidence"].sum()
    odds = np.exp(pd.Series(answers.residency.prior_log_odds) + evidence)
    scores = study.labels().set_index("buck")["score"]
    assert (100 * odds / (1 + odds)).to_dict() == pytest.approx(scores.to_dict(), abs=0.01)


def test_problems_are_those_of_check(study: deerlog.Study, answers: inside.PropertyStudy) -> None:
    assert study.problems()["why"].tolist() == [problem.why for problem in answers.problems]


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (lambda study, folder: deerlog.Study(folder), "made by deerlog.open_study"),
        (
            lambda study, folder: deerlog.open_study(study),
            "folder must be the path .* not <deerlog",
        ),
        (lambda study, folder: deerlog.read_cards(None), "folder must be the path .* not None"),
        (
            lambda study, folder: deerlog.open_study(folder, as_of="2024-10-01"),
            "as_of must be a day",
        ),
        (lambda study, folder: deerlog.read_cards(folder, today=3), "today must be a day .* not 3"),
        (lambda study, folder: study.plan(days="7"), "days must be a whole number, not '7'"),
        (lambda study, folder: study.replay(weeks=2.5), "weeks must be a whole number, not 2.5"),
    ],
)
def test_a_wrong_argument_is_named(
    study: deerlog.Study, wrong: Callable[[deerlog.Study, Path], object], says: str
) -> None:
    with pytest.raises(TypeError, match=says):
        wrong(study, study.folder)


def test_cards_are_read_and_mistakes_are_one_kind_of_error(tmp_path: Path) -> None:
    folder = make_small_property(tmp_path / "hollow", tagged=False)
    for today in (date(2025, 10, 22), None):  # and of the day it is, which is later
        found = deerlog.read_cards(folder, today=today)
        assert {problem.kind for problem in found} == {"silent-stretch"}
    with pytest.raises(deerlog.DeerlogError, match="deerlog new"):
        deerlog.open_study(tmp_path / "nowhere")


def test_the_sample_is_not_put_into_a_folder_with_something_else(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(deerlog.DeerlogError):
        deerlog.open_sample(tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]
