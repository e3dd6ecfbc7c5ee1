"""bucks.csv."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from deerlog.property.bucks import DTYPES, read_bucks
from deerlog.property.table_rows import frame_of

Write = Callable[[str, str], Path]


def test_all_columns(write: Write) -> None:
    bucks, problems = read_bucks(
        write(
            "bucks.csv",
            "buck,target,born,aliases,notes\nComet,yes,2019,Wide Nine; Cmt,tall\nKink,,,,\n",
        )
    )
    assert problems == []
    assert list(bucks.columns) == list(DTYPES)
    assert bucks["target"].tolist() == [True, False]
    assert bucks["born"].dtype == "Int64"
    assert bucks["born"].iloc[0] == 2019 and bucks["born"].isna().iloc[1]
    assert bucks["aliases"].tolist() == [("Wide Nine", "Cmt"), ()]
    assert bucks["row"].tolist() == [2, 3]


def test_only_the_name_is_needed_and_an_absent_table_has_the_same_columns(write: Write) -> None:
    bucks, problems = read_bucks(write("bucks.csv", "buck\nComet\n"))
    assert problems == [] and len(bucks) == 1
    assert bucks.dtypes.to_dict() == frame_of([], DTYPES).dtypes.to_dict()


@pytest.mark.parametrize(
    ("text", "year"), [("2019", 2019), ("~2019", 2019), ("2019?", 2019), ("est. 2019", 2019),
                       ("2019 (est)", 2019), ("2019.0", 2019)]
)  # fmt: skip
def test_a_birth_year_may_be_an_estimate(write: Write, text: str, year: int) -> None:
    bucks, problems = read_bucks(write("bucks.csv", f"buck,born\nComet,{text}\n"))
    assert problems == [] and bucks["born"].iloc[0] == year


@pytest.mark.parametrize("text", ["old", "19", "2019-05-01", "4.5"])
def test_a_birth_year_that_is_none_costs_only_itself(write: Write, text: str) -> None:
    bucks, (problem,) = read_bucks(write("bucks.csv", f"buck,born\nComet,{text}\n"))
    assert bucks["born"].isna().all() and len(bucks) == 1
    assert (problem.column, problem.value) == ("born", text)


def test_a_buck_listed_twice_keeps_his_first_row(write: Write) -> None:
    bucks, (problem,) = read_bucks(write("bucks.csv", "buck,born\nComet,2019\n comet,2020\n"))
    assert bucks["born"].tolist() == [2019]
    assert (problem.kind, problem.row) == ("buck-twice", 3)
    assert "row 2" in problem.why


def test_an_alias_that_is_another_buck_is_left_out(write: Write) -> None:
    bucks, (problem,) = read_bucks(write("bucks.csv", "buck,aliases\nComet,Kink;Cmt\nKink,\n"))
    assert bucks["aliases"].tolist() == [("Cmt",), ()]
    assert (problem.kind, problem.row, problem.value) == ("alias-clash", 2, "Kink")
    assert "the name of Kink on row 3" in problem.why
    assert problem.bucks == ("Comet", "Kink")


def test_an_alias_of_two_bucks_stays_with_the_first(write: Write) -> None:
    bucks, (problem,) = read_bucks(
        write("bucks.csv", "buck,aliases\nComet,Nine\nKink, NINE ;Bent\n")
    )
    assert bucks["aliases"].tolist() == [("Nine",), ("Bent",)]
    assert "an alias of Comet on row 2" in problem.why


def test_an_alias_that_is_his_own_name_is_only_worth_knowing(write: Write) -> None:
    bucks, (problem,) = read_bucks(write("bucks.csv", "buck,aliases\nComet,COMET\n"))
    assert bucks["aliases"].tolist() == [()]
    assert problem.must_mend is False


@pytest.mark.parametrize("name", ["-", "Comet?", '"Comet;Kink"'])
def test_names_that_mean_something_else_in_a_tag_sheet(write: Write, name: str) -> None:
    bucks, (problem,) = read_bucks(write("bucks.csv", f"buck,born\n{name},2019\nKink,\n"))
    assert bucks["buck"].tolist() == ["Kink"]
    assert problem.row == 2 and "unsure" in problem.why


def test_a_workbook_under_the_name_is_a_problem_not_a_dead_end(tmp_path: Path) -> None:
    (tmp_path / "bucks.csv").write_bytes(b"PK\x03\x04rest")
    bucks, (problem,) = read_bucks(tmp_path / "bucks.csv")
    assert bucks.empty
    assert problem.kind == "table-unreadable" and "workbook" in problem.why
