"""The terminal, the JSON and the CSV carry the same figures of the same table."""

from __future__ import annotations

import csv
import io
import json

import pandas as pd
import pytest
from invented.buck_record import days, effort, visits

from deerlog.analysis.residency.residency import residency
from deerlog.report.tables import table_text
from deerlog.report.terminal import json_text, residency_text, score_text
from deerlog.timekeeping.seasons import SeasonCalendar

RECORDS = {
    "Crab": days("2022-06-04", "2023-05-20", 4),
    "Post": days("2022-11-10", "2022-11-19", 2),
    "Twig": days("2022-07-10", "2022-09-29", 20),
    "Once": days("2022-10-03", "2022-10-03"),
}


@pytest.fixture(scope="module")
def table() -> pd.DataFrame:
    return residency(
        visits(RECORDS),
        effort("2022-06-01", "2023-05-31"),
        SeasonCalendar(),
        as_of=pd.Timestamp("2023-02-28"),
        targets=["Crab"],
    ).table


def test_json_and_csv_row_by_row(table: pd.DataFrame) -> None:
    in_json = json.loads(json_text(table))
    in_csv = list(csv.DictReader(io.StringIO(table_text("residency.csv", table))))
    assert len(in_json) == len(in_csv) == len(table) == 8
    for ours, theirs in zip(in_json, in_csv, strict=True):
        assert set(ours) == set(theirs)
        for name, value in ours.items():
            cell = theirs[name]
            if value is None:
                assert cell == ""
            elif isinstance(value, bool):
                assert cell == ("yes" if value else "no")
            elif isinstance(value, float):
                # The CSV rounds: a score to 0.1, a share to 0.0001.
                assert float(cell) == pytest.approx(value, abs=0.05 if name == "score" else 5e-5)
            else:
                assert cell == str(value)


def test_terminal_row_by_row(table: pd.DataFrame) -> None:
    lines = residency_text(table, list(RECORDS)).splitlines()[1:]
    whole = table[table["season"] == "all"].set_index("buck")
    assert len(lines) == len(whole)
    for line in lines:
        words = line.replace("*", "").split()
        row = whole.loc[words[0]]
        assert words[1:] == [
            score_text(row["score"]),
            row["label"],
            row["pattern"] or "-",
            f"{row['weeks_seen']}/{row['weeks_watched']}",
            str(row["days_seen"]),
            f"{row['shooting_light_visits']}/{row['visits']}",
            f"{row['last_seen']:%Y-%m-%d}",
        ]
