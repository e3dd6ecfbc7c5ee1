"""What people import from deerlog itself: there, documented, and costing nothing until used."""

from __future__ import annotations

import inspect
import subprocess
import sys
from datetime import date
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from invented.small_property import LAST_DAY, make_small_property

import deerlog
from deerlog.report.report_files import report_files
from deerlog.report.tables import TABLE_COLUMNS, table_text


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> deerlog.Study:
    folder = make_small_property(tmp_path_factory.mktemp("public") / "hollow")
    return deerlog.open_study(str(folder))


def test_everything_named_is_there_and_says_what_it_is() -> None:
    assert sorted(deerlog.__all__) == deerlog.__all__
    assert set(deerlog.__all__) <= set(dir(deerlog))
    for name in deerlog.__all__:
        thing = getattr(deerlog, name)
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


TABLES = {
    "residency.csv": "residency_table",
    "weekly.csv": "weekly_table",
    "daylight.csv": "daylight_table",
    "shift.csv": "shift_table",
    "windows.csv": "window_table",
    "effort.csv": "effort_table",
    "plan.csv": "plan_table",
}


def test_there_is_a_function_for_each_file_of_the_report() -> None:
    assert set(TABLES) == set(TABLE_COLUMNS)


@pytest.mark.parametrize("file", TABLES)
def test_a_table_holds_what_the_file_holds(study: deerlog.Study, file: str) -> None:
    table = getattr(deerlog, TABLES[file])(study)
    assert list(table.columns) == list(TABLE_COLUMNS[file])
    assert list(table.index) == list(range(len(table)))
    written = report_files(study)
    # plan.csv is written by `plan` alone; every other table is a file of the report.
    assert (file in written) == (file != "plan.csv")
    if file in written:
        assert table_text(file, table) == written[file]
        assert len(table) > 0 or file in ("shift.csv", "windows.csv")


def test_a_table_may_be_changed_without_harm(study: deerlog.Study) -> None:
    first = deerlog.residency_table(study)
    before = first.copy()
    first["score"] = -1.0
    pd.testing.assert_frame_equal(deerlog.residency_table(study), before)


def test_visits_are_those_every_figure_stands_on(study: deerlog.Study) -> None:
    visits = deerlog.visit_table(study)
    counted = deerlog.residency_table(study).query("season == 'all'").set_index("buck")["visits"]
    assert visits["buck"].value_counts().to_dict() == counted.to_dict()
    assert visits["local"].dt.tz is not None
    assert visits.groupby("buck")["local"].apply(lambda t: t.is_monotonic_increasing).all()


def test_an_earlier_day_is_asked_by_as_of(study: deerlog.Study) -> None:
    early = deerlog.open_study(study.place.folder, as_of=date(2024, 10, 1))
    assert deerlog.visit_table(early)["day"].max() <= pd.Timestamp("2024-10-01")
    assert study.as_of == LAST_DAY


def test_the_plan_is_as_long_as_asked(study: deerlog.Study) -> None:
    assert len(set(deerlog.plan_table(study, days=3)["day"])) == 3
    with pytest.raises(ValueError, match="at least one"):
        deerlog.plan_table(study, days=0)


def test_replayed_weeks_are_scored(study: deerlog.Study) -> None:
    replayed = deerlog.replay_table(study, weeks=4)
    assert replayed["day"].min() > study.last_day - pd.Timedelta(days=28)
    assert replayed["day"].max() == study.last_day - pd.Timedelta(days=1)  # the last ran in part
    scores = deerlog.chance_score_table(replayed).set_index("rule")
    p, seen = replayed["forecast"], replayed["seen"].astype(float)
    assert scores.loc["forecast", "brier"] == pytest.approx(((p - seen) ** 2).mean())
    saved = 1 - scores.loc["forecast", "log_loss"] / scores.loc["all_time", "log_loss"]
    assert scores.loc["all_time", "gain"] == pytest.approx(saved)
    assert pd.isna(scores.loc["forecast", "gain"]) and pd.isna(scores.loc["all_time", "gain_low"])
    table = deerlog.reliability_table(replayed)
    assert table["half_days"].sum() == len(replayed)
    assert table["came_true"].sum() == seen.sum() > 0
    with pytest.raises(ValueError, match="at least one"):
        deerlog.replay_table(study, weeks=0)


def test_evidence_sums_up_to_the_score(study: deerlog.Study) -> None:
    evidence = deerlog.evidence_table(study).groupby("buck")["evidence"].sum()
    whole = deerlog.residency_table(study).query("season == 'all'").set_index("buck")
    prior = pd.Series(study.residency.prior_log_odds)
    odds = np.exp(prior + evidence)
    assert (100 * odds / (1 + odds)).to_dict() == pytest.approx(whole["score"].to_dict(), abs=0.01)


def test_problems_are_those_of_check(study: deerlog.Study) -> None:
    table = deerlog.problem_table(study)
    assert len(table) == len(study.problems)
    assert table["why"].tolist() == [problem.why for problem in study.problems]


def test_cards_are_read_and_mistakes_are_one_kind_of_error(tmp_path: Path) -> None:
    folder = make_small_property(tmp_path / "hollow", tagged=False)
    found = deerlog.read_cards(folder, today=date(2025, 10, 22))
    assert {problem.kind for problem in found} == {"silent-stretch"}
    with pytest.raises(deerlog.DeerlogError, match="deerlog new"):
        deerlog.open_study(tmp_path / "nowhere")


def test_the_sample_is_not_put_into_a_folder_with_something_else(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(deerlog.DeerlogError):
        deerlog.open_sample(tmp_path, today=date(2026, 11, 25))
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]
