"""sits.csv."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from deerlog.property.sits import DTYPES, read_sits
from deerlog.property.table_rows import frame_of

Write = Callable[[str, str], Path]
HEAD = "day,half,stand,bucks_seen,deer_seen,notes\n"
BUCKS = pd.DataFrame({"buck": ["Comet", "Kink"], "aliases": [("Nine",), ()]})


def read(write: Write, rows: str) -> tuple[pd.DataFrame, list[object]]:
    sits, problems = read_sits(write("sits.csv", HEAD + rows), ["Ladder"], BUCKS)
    return sits, list(problems)


def test_all_columns(write: Write) -> None:
    sits, problems = read(
        write,
        "2025-11-02,morning,ladder,nine; KINK;Mossy;Comet ?,7,cold\n"
        "2025-11-02,Evening,Ladder,-,,\n",
    )
    assert problems == []
    assert list(sits.columns) == list(DTYPES)
    assert sits.dtypes.to_dict() == frame_of([], DTYPES).dtypes.to_dict()
    assert sits["day"].tolist() == [pd.Timestamp("2025-11-02")] * 2
    assert sits["half"].tolist() == ["AM", "PM"]
    assert sits["stand"].tolist() == ["Ladder", "Ladder"]
    assert sits["bucks_seen"].tolist() == [("Comet", "Kink", "Mossy"), ()]
    assert sits["bucks_unsure"].tolist() == [("Comet",), ()]
    assert sits["deer_seen"].iloc[0] == 7 and sits["deer_seen"].isna().iloc[1]


@pytest.mark.parametrize(
    ("row", "kind", "column", "words"),
    [
        ("2025-11-02,AM,Lader,,,", "unknown-stand", "stand", "Write Ladder"),
        ("2025-11-02,all-day,Ladder,,,", "bad-cell", "half", "two rows"),
        ("2025-11-02,noon,Ladder,,,", "bad-cell", "half", "one of these"),
        ("11/02/2025,AM,Ladder,,,", "bad-cell", "day", "2025-11-02"),
    ],
)
def test_bad_rows(write: Write, row: str, kind: str, column: str, words: str) -> None:
    sits, problems = read_sits(
        write("sits.csv", f"{HEAD}{row}\n2025-11-03,PM,Ladder,,,\n"), ["Ladder"], BUCKS
    )
    assert sits["row"].tolist() == [3]
    (problem,) = problems
    assert (problem.kind, problem.column, problem.row) == (kind, column, 2)
    assert words in problem.how


def test_a_bad_count_costs_only_itself(write: Write) -> None:
    sits, problems = read(write, "2025-11-02,AM,Ladder,Comet,lots,\n")
    assert sits["deer_seen"].isna().all() and len(problems) == 1


def test_a_slip_in_a_name_is_told_and_kept(write: Write) -> None:
    sits, problems = read_sits(
        write("sits.csv", HEAD + "2025-11-02,AM,Ladder,Comte?;comet,,\n"), ["Ladder"], BUCKS
    )
    (problem,) = problems
    assert problem.kind == "buck-typo" and problem.bucks == ("Comet",)
    assert sits["bucks_seen"].tolist() == [("Comet",)]
    assert sits["bucks_unsure"].tolist() == [("Comte",)]
