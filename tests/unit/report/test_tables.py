from __future__ import annotations

import csv
import io
from datetime import date

import numpy as np
import pandas as pd
import pytest
from invented.invented_page import HOSTILE_NAME

from deerlog.report.tables import TABLE_COLUMNS, read_cell, table_text

# The columns that people's spreadsheets depend on, written out a second time on purpose.
PROMISED = {
    "residency.csv": "buck,target,season,score,label,pattern,p_year_round,p_fall,p_summer,p_rut,"
    "p_passing,p_gone,weeks_seen,weeks_watched,days_seen,visits,shooting_light_visits,daylight_share,daylight_low,"
    "daylight_high,longest_absence_days,first_seen,last_seen",
    "weekly.csv": "buck,season,week_start,camera_days,days_seen,visits,shooting_light_visits,"
    "state,around",
    "daylight.csv": "buck,season,phase,site,half,visits,shooting_light_visits,share,low,high",
    "shift.csv": "buck,season,from_phase,to_phase,distance_m,low_m,high_m,change_day,"
    "change_probability",
    "windows.csv": "buck,site,half,opens,closes,chance,low,high,visits_behind,camera_days_behind",
    "calendar.csv": "buck,season,stay,arrived,left,days_seen,light_days,light_am,light_pm,sites,"
    "gap_before_days,gap_watched_days",
    "outlook.csv": "buck,way,state,site,stand,half,opens,closes,chance,low,high,seasons_seen,"
    "seasons_watched,visits_behind,camera_days_behind,why",
    "effort.csv": "camera,site,day,camera_day",
    "plan.csv": "day,half,stand,site,buck,chance,low,high,advice,why",
}


def effort_frame() -> pd.DataFrame:
    return pd.DataFrame(
        {
            "day": pd.to_datetime(["2025-07-01", "2025-07-02", "2025-07-03"]),
            "camera": ["c", "c", "c"],
            "camera_day": [1.0, 0.5, 1 / 3],
            "site": ["Seep", "Seep", "Seep"],
            "row": [1, 2, 3],
        }
    )


def test_columns_are_those_promised() -> None:
    assert {name: ",".join(columns) for name, columns in TABLE_COLUMNS.items()} == PROMISED


def test_columns_come_in_order_whatever_the_frame_s_and_others_are_left_out() -> None:
    assert table_text("effort.csv", effort_frame()) == (
        "camera,site,day,camera_day\n"
        "c,Seep,2025-07-01,1\n"
        "c,Seep,2025-07-02,0.5\n"
        "c,Seep,2025-07-03,0.3333\n"
    )


def test_a_missing_column_is_named() -> None:
    with pytest.raises(ValueError, match="camera_day"):
        table_text("effort.csv", effort_frame().drop(columns="camera_day"))


def test_an_empty_table_has_its_header() -> None:
    assert table_text("effort.csv", effort_frame().head(0)) == "camera,site,day,camera_day\n"


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (0.1 + 0.2, "0.3"),
        (1e-9, "0"),
        (-1e-9, "0"),
        (12.0, "12"),
        (np.float64(0.25), "0.25"),
        (np.int64(7), "7"),
        (float("nan"), ""),
        (pd.NaT, ""),
        (None, ""),
        (pd.NA, ""),
        (True, "yes"),
        (False, "no"),
        (date(2025, 7, 1), "2025-07-01"),
        (pd.Timestamp("2025-07-01"), "2025-07-01"),
    ],
)
def test_cells(value: object, written: str) -> None:
    frame = effort_frame().head(1).astype({"site": object})
    frame["site"] = pd.Series([value], dtype=object)
    assert table_text("effort.csv", frame).splitlines()[1] == f"c,{written},2025-07-01,1"


def test_precision_of_scores_and_shares() -> None:
    row: dict[str, list[object]] = {c: [""] for c in TABLE_COLUMNS["residency.csv"]}
    row |= {"score": [93.4567], "daylight_share": [0.123456], "target": [True], "season": ["all"]}
    text = table_text("residency.csv", pd.DataFrame(row))
    cells = dict(zip(PROMISED["residency.csv"].split(","), text.splitlines()[1].split(","),
                     strict=True))  # fmt: skip
    assert (cells["score"], cells["daylight_share"]) == ("93.5", "0.1235")
    assert (cells["target"], cells["season"]) == ("yes", "all")


def test_an_infinite_number_is_refused() -> None:
    frame = effort_frame().assign(camera_day=float("inf"))
    with pytest.raises(ValueError, match="camera_day"):
        table_text("effort.csv", frame)


@pytest.mark.parametrize("name", ['a "quoted", one', "two\nlines", " ", "O'Neil", "'"])
def test_names_come_back_exactly_as_they_were_typed(name: str) -> None:
    frame = effort_frame().assign(camera=name)
    rows = list(csv.reader(io.StringIO(table_text("effort.csv", frame), newline="")))
    assert [r[0] for r in rows[1:]] == [name] * 3
    assert read_cell(name) == name


@pytest.mark.parametrize("name", [HOSTILE_NAME, "=1+1", "+1", "-x", "@x", "\t=x", "'=x", "''@x"])
def test_what_a_spreadsheet_would_run_has_an_apostrophe_before_it(name: str) -> None:
    frame = effort_frame().assign(camera=name)
    rows = list(csv.reader(io.StringIO(table_text("effort.csv", frame), newline="")))
    assert [r[0] for r in rows[1:]] == [f"'{name}"] * 3
    assert read_cell(f"'{name}") == name


def test_a_negative_number_is_a_number() -> None:
    assert table_text("effort.csv", effort_frame().assign(camera_day=-1.5)).count(",-1.5\n") == 3


def test_same_figures_same_bytes() -> None:
    assert table_text("effort.csv", effort_frame()) == table_text("effort.csv", effort_frame())
