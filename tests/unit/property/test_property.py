"""The folder as a whole."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as budget
from hypothesis import strategies as st

from deerlog.errors import PropertyError
from deerlog.property import find_property, open_property

TABLES = {
    "bucks.csv": "buck,target,aliases\nComet,yes,Nine\n",
    "stands.csv": "stand,sites\nLadder,Saddle\n",
    "clock.csv": "camera,shown,actual\nSeep,2025-08-01 07:00,2025-08-01 08:00\n",
    "outages.csv": "camera,from,to,status\nRidge,2025-01-01,2025-01-05,down\n",
    "sits.csv": "day,half,stand,bucks_seen\n2025-11-02,AM,Ladder,Nine\n",
    "weather.csv": "time,temperature_f\n2025-11-02,45\n",
}


def test_settings_and_cameras_are_enough(folder: Path) -> None:
    found = open_property(folder)
    assert found.problems == ()
    assert found.settings.name == "Hollow Fork"
    assert found.placements["camera"].tolist() == ["Seep", "Ridge"]
    assert found.weather is None
    tables = (found.bucks, found.stands, found.clock_readings, found.outages, found.sits)
    assert all(table.empty and "row" in table for table in tables)
    assert set(found.missing) == set(TABLES)


def test_every_table_is_read_and_tied_to_the_others(folder: Path) -> None:
    for name, text in TABLES.items():
        (folder / name).write_text(text, encoding="utf-8")
    found = open_property(folder)
    assert found.problems == () and found.missing == ()
    assert found.sits["bucks_seen"].tolist() == [("Comet",)]
    assert found.stands["sites"].tolist() == [("Saddle",)]
    assert len(found.clock_readings) == len(found.outages) == 1
    assert found.weather is not None and len(found.weather) == 1


def test_problems_of_all_files_come_together_and_nothing_is_written(folder: Path) -> None:
    for name in TABLES:
        (folder / name).write_bytes(b"\x00\x01 not a table")
    before = {path: path.read_bytes() for path in folder.iterdir()}
    found = open_property(folder)
    assert [p.file for p in found.problems] == list(TABLES)
    assert {p.kind for p in found.problems} == {"table-unreadable"}
    assert len(found.placements) == 2 and found.weather is None
    assert {path: path.read_bytes() for path in folder.iterdir()} == before


def test_a_table_under_its_name_in_capitals_is_read(folder: Path) -> None:
    (folder / "Bucks.CSV").write_text(TABLES["bucks.csv"], encoding="utf-8")
    assert open_property(folder).bucks["buck"].tolist() == ["Comet"]


@pytest.mark.parametrize("name", ["bucks.xlsx", "Bucks.ods", "bucks.csv.txt"])
def test_a_table_in_another_format_is_pointed_out(folder: Path, name: str) -> None:
    (folder / name).write_bytes(b"PK\x03\x04")
    found = open_property(folder)
    (problem,) = found.problems
    assert (problem.kind, problem.file) == ("table-not-csv", name)
    assert "bucks.csv" in problem.how and "bucks.csv" in found.missing


def test_dead_ends(folder: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    with pytest.raises(PropertyError, match="no folder"):
        open_property(folder / "nowhere")
    (folder / "cameras.csv").rename(folder / "cameras.xlsx")
    with pytest.raises(PropertyError, match=r"cameras\.xlsx looks like it.*Save it as CSV"):
        open_property(folder)
    (folder / "cameras.xlsx").unlink()
    with pytest.raises(PropertyError, match=r"no cameras\.csv.*camera,site"):
        open_property(folder)
    (folder / "property.toml").unlink()
    with pytest.raises(PropertyError, match="deerlog new"):
        open_property(folder)


def test_the_nearest_property_upward_is_found(folder: Path) -> None:
    deep = folder / "cards" / "Seep" / "100"
    deep.mkdir(parents=True)
    assert find_property(deep) == folder.absolute()
    assert find_property(folder) == folder.absolute()
    inner = folder / "cards" / "inner"
    inner.mkdir()
    shutil.copy(folder / "property.toml", inner)
    assert find_property(inner) == inner.absolute()


def test_no_property_upward_says_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(PropertyError, match="--property"):
        find_property(tmp_path)


@budget(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    name=st.sampled_from(["property.toml", "cameras.csv", *TABLES]),
    at=st.integers(0, 120),
    length=st.integers(0, 6),
    instead=st.binary(max_size=4) | st.sampled_from([b'"', b",", b"\n", b";", b"9", b"-"]),
)
def test_damage_anywhere_is_told_and_never_a_traceback(
    folder: Path, name: str, at: int, length: int, instead: bytes
) -> None:
    for table, text in TABLES.items():
        (folder / table).write_text(text, encoding="utf-8")
    whole = (folder / name).read_bytes()
    (folder / name).write_bytes(whole[:at] + instead + whole[at + length :])
    try:
        found = open_property(folder)
    except PropertyError as error:
        assert name in ("property.toml", "cameras.csv")
        assert error.what and error.how
    else:
        assert all(problem.why and problem.how for problem in found.problems)
    finally:
        (folder / name).write_bytes(whole)


@pytest.mark.parametrize("ending", [".xlsx", ".ods", ".numbers"])
@pytest.mark.parametrize("table", [*TABLES, "cameras.csv"])
def test_a_workbook_beside_a_table_without_rows_is_named(
    folder: Path, table: str, ending: str
) -> None:
    for name, text in TABLES.items():
        (folder / name).write_text(text, encoding="utf-8")
    path = folder / table
    header = path.read_text(encoding="utf-8").splitlines(keepends=True)[0]
    workbook = path.with_suffix(ending).name.capitalize()
    (folder / workbook).write_bytes(b"anything")
    kinds = [p.kind for p in open_property(folder).problems]
    assert "table-not-csv" not in kinds  # a table with rows is the person's own choice
    path.write_text(header, encoding="utf-8")
    (told,) = [p for p in open_property(folder).problems if p.kind == "table-not-csv"]
    assert (told.file, told.must_mend) == (workbook, True)
    assert told.how == f"Save it as CSV over {table}."
