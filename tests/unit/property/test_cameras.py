"""Placements: intervals, shared days, overlaps, positions."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as budget
from hypothesis import strategies as st

from deerlog.errors import Problem, PropertyError
from deerlog.property import Settings
from deerlog.property.cameras import DTYPES, read_cameras

HEAD = "camera,site,latitude,longitude,start,end\n"
HERE = "40.101,-91.201"
Write = Callable[[str, str], Path]


def read(write: Write, settings: Settings, text: str) -> tuple[pd.DataFrame, list[Problem]]:
    placements, problems = read_cameras(write("cameras.csv", text), settings)
    # The door every table goes through: columns and dtypes, and intervals that never overlap.
    assert list(placements.columns) == list(DTYPES)
    assert placements["start"].dtype == placements["end"].dtype == "datetime64[us]"
    for _, rows in placements.sort_values("start").groupby("camera"):
        assert (rows["end"].isna() | (rows["start"] < rows["end"])).all()
        until = rows["end"].fillna(pd.Timestamp("2100-01-01"))
        assert (until.iloc[:-1].to_numpy() <= rows["start"].iloc[1:].to_numpy()).all()
    return placements, problems


def test_all_columns(write: Write, settings: Settings) -> None:
    placements, problems = read(
        write,
        settings,
        "camera,site,setting,latitude,longitude,start,end,clock,bait,notes\n"
        "Seep,Oak Flat,Food,40.101,-91.201,2025-06-01 14:30,2025-08-14,utc -5,Yes,by the gate\n",
    )
    assert problems == []
    assert placements.iloc[0].to_dict() == {
        "camera": "Seep",
        "site": "Oak Flat",
        "setting": "food",
        "latitude": 40.101,
        "longitude": -91.201,
        "start": pd.Timestamp("2025-06-01 14:30"),
        "end": pd.Timestamp("2025-08-15"),
        "clock": "UTC-5",
        "bait": True,
        "notes": "by the gate",
        "row": 2,
    }


def test_columns_left_out_have_defaults(write: Write, settings: Settings) -> None:
    placements, problems = read(write, settings, f"{HEAD}Seep,Oak,{HERE},2025-06-01,\n")
    assert problems == []
    row = placements.iloc[0]
    assert (row["setting"], row["clock"], bool(row["bait"]), row["notes"]) == (
        "other",
        "local",
        False,
        "",
    )
    assert pd.isna(row["end"])


def test_a_header_alone_is_an_empty_property(write: Write, settings: Settings) -> None:
    placements, problems = read(write, settings, HEAD)
    assert placements.empty and problems == []
    assert placements["latitude"].dtype == "float64" and placements["bait"].dtype == "bool"


@pytest.mark.parametrize(
    ("end", "start", "cut"),
    [
        ("2025-08-01", "2025-08-01", "2025-08-01 12:00"),
        ("2025-08-01", "2025-08-01 15:20", "2025-08-01 15:20"),
        ("2025-08-01 09:10", "2025-08-01", "2025-08-01 09:10"),
    ],
)
def test_a_shared_day_is_split(
    write: Write, settings: Settings, end: str, start: str, cut: str
) -> None:
    # Written in the other order, to show that order in the file does not matter.
    text = f"{HEAD}Seep,Creek,{HERE},{start},\nSeep,Oak,{HERE},2025-06-01,{end}\n"
    placements, problems = read(write, settings, text)
    assert problems == []
    assert placements["site"].tolist() == ["Creek", "Oak"]
    assert placements["start"].iloc[0] == placements["end"].iloc[1] == pd.Timestamp(cut)


def test_a_day_shared_by_two_cameras_is_whole_for_both(write: Write, settings: Settings) -> None:
    text = f"{HEAD}Seep,Oak,{HERE},2025-06-01,2025-08-01\nRidge,Oak,{HERE},2025-08-01,\n"
    placements, _ = read(write, settings, text)
    assert placements["end"].iloc[0] == pd.Timestamp("2025-08-02")
    assert placements["start"].iloc[1] == pd.Timestamp("2025-08-01")


def test_an_open_placement_ends_where_the_next_starts_and_that_is_said(
    write: Write, settings: Settings
) -> None:
    text = f"{HEAD}Seep,Oak,{HERE},2025-06-01,\nSeep,Creek,{HERE},2025-08-01,\n"
    placements, (problem,) = read(write, settings, text)
    assert placements["end"].iloc[0] == pd.Timestamp("2025-08-01")
    assert (problem.kind, problem.row) == ("camera-overlap", 3)
    assert "Oak on row 2" in problem.why and "Creek on row 3" in problem.why
    assert "Row 2 is taken to end" in problem.why


def test_the_same_start_twice_leaves_the_second_row_out(write: Write, settings: Settings) -> None:
    text = f"{HEAD}Seep,Oak,{HERE},2025-06-01,\nSeep,Creek,{HERE},2025-06-01,\n"
    placements, (problem,) = read(write, settings, text)
    assert placements["site"].tolist() == ["Oak"]
    assert "Row 3 is left out" in problem.why


def test_two_moves_on_one_day_need_times(write: Write, settings: Settings) -> None:
    text = (
        f"{HEAD}Seep,Oak,{HERE},2025-06-01,2025-08-01\n"
        f"Seep,Creek,{HERE},2025-08-01,2025-08-01\nSeep,Bench,{HERE},2025-08-01,\n"
    )
    placements, (problem,) = read(write, settings, text)
    assert placements["site"].tolist() == ["Oak", "Bench"]
    assert problem.row == 3 and "Give the times" in problem.how


@pytest.mark.parametrize(
    ("row", "kind", "column"),
    [
        (f"Seep,Oak,{HERE},2025-06-01,2025-05-01", "camera-end", "end"),
        ("Seep,Oak,40.101,91.201,2025-06-01,", "far-away", "latitude, longitude"),
        ("Seep,Oak,140,-91.201,2025-06-01,", "bad-cell", "latitude"),
        (f"Seep,Oak,{HERE},03/04/2025,", "bad-cell", "start"),
        (f"Seep,Oak,{HERE},,", "missing-cell", "start"),
        (f"Seep,,{HERE},2025-06-01,", "missing-cell", "site"),
        (f"a/b,Oak,{HERE},2025-06-01,", "bad-cell", "camera"),
        (f"Seep,Oak,{HERE},2025-06-01,,oops", "ragged-row", None),
    ],
)
def test_a_bad_row_is_left_out_and_the_rest_goes_on(
    write: Write, settings: Settings, row: str, kind: str, column: str | None
) -> None:
    text = f"{HEAD}{row}\nRidge,Saddle,{HERE},2025-06-01,\n"
    placements, (problem,) = read(write, settings, text)
    assert placements["camera"].tolist() == ["Ridge"]
    assert (problem.kind, problem.column, problem.row) == (kind, column, 2)
    assert problem.file == "cameras.csv" and problem.how and "left out" in problem.why


def test_a_bad_clock_leaves_the_row_out_a_bad_setting_or_bait_does_not(
    write: Write, settings: Settings
) -> None:
    text = (
        "camera,site,latitude,longitude,start,setting,clock,bait\n"
        f"A,Oak,{HERE},2025-06-01,,EST,\n"
        f"B,Oak,{HERE},2025-06-01,feeder,,\n"
        f"C,Oak,{HERE},2025-06-01,,,some\n"
    )
    placements, problems = read(write, settings, text)
    assert placements["camera"].tolist() == ["B", "C"]
    assert [(p.row, p.column) for p in problems] == [(2, "clock"), (3, "setting"), (4, "bait")]
    assert "taken as other" in problems[1].why and "taken as no" in problems[2].why


def test_what_is_meant_by_a_far_position_is_suggested(write: Write, settings: Settings) -> None:
    text = f"{HEAD}A,Oak,-91.201,40.101,2025-06-01,\nB,Oak,41.5,-91.2,2025-06-01,\n"
    _, problems = read(write, settings, text)
    # -91.201 is no latitude at all.
    assert problems[0].column == "latitude"
    assert "156 km" in problems[1].why and "property.toml" in problems[1].how


def test_one_site_at_two_spots_is_reported_and_used(write: Write, settings: Settings) -> None:
    text = (
        f"{HEAD}A,Oak,40.1010,-91.2010,2025-06-01,\nB,Oak,40.1015,-91.2010,2025-06-01,\n"
        "C,Oak,40.1030,-91.2010,2025-06-01,\n"
    )
    placements, (problem,) = read(write, settings, text)
    assert len(placements) == 3
    assert (problem.kind, problem.row) == ("site-moved", 4)
    assert "222 m" in problem.why


def test_capitals_and_spaces_do_not_make_another_camera_or_site(
    write: Write, settings: Settings
) -> None:
    text = f"{HEAD}Seep,Oak Flat,{HERE},2025-06-01,2025-07-01\nseep ,oak  flat,{HERE},2025-07-02,\n"
    placements, problems = read(write, settings, text)
    assert problems == []
    assert placements["camera"].tolist() == ["Seep", "Seep"]
    assert placements["site"].tolist() == ["Oak Flat", "Oak Flat"]


def test_decimal_commas_between_semicolons(write: Write, settings: Settings) -> None:
    text = "camera;site;latitude;longitude;start\nSeep;Oak;40,101;-91,201;01.08.2025 \n"
    placements, (problem,) = read(write, settings, text)
    assert placements.empty and problem.column == "start"
    placements, problems = read(write, settings, text.replace("01.08", "13.08"))
    assert problems == []
    assert placements["latitude"].iloc[0] == 40.101


def test_no_usable_header_is_a_dead_end(write: Write, settings: Settings) -> None:
    with pytest.raises(PropertyError, match="start is missing"):
        read_cameras(write("cameras.csv", "camera,site,latitude,longitude\n"), settings)


DAY = st.sampled_from(["2025-06-01", "2025-06-02", "2025-06-03", "2025-06-02 08:00", ""])
SPAN = st.tuples(DAY, DAY)


@budget(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(SPAN, max_size=5))
def test_placements_never_overlap_and_no_row_is_lost_in_silence(
    write: Write, settings: Settings, spans: list[tuple[str, str]]
) -> None:
    text = HEAD + "".join(f"Seep,Oak,{HERE},{start},{end}\n" for start, end in spans)
    placements, problems = read(write, settings, text)
    told = {problem.row for problem in problems}
    assert set(range(2, 2 + len(spans))) <= set(placements["row"]) | told
