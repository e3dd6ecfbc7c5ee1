"""``deerlog overview``: many properties, one of which fails, on one page."""

from __future__ import annotations

import csv
import io
import json
import os
import sys
from collections.abc import Callable
from datetime import date
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from invented.dying_property import dies_of_it
from invented.small_property import LAST_DAY, SETTINGS, make_small_property

from deerlog.cli import main, overview_command
from deerlog.report.overview import overview_files
from deerlog.report.tables import OVERVIEW_COLUMNS


def run(folder: Path, *words: str) -> Result:
    result = CliRunner().invoke(main, ["overview", str(folder), *words])
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result


def in_this_process(
    folders: list[Path], today: date, done: Callable[[int], None]
) -> tuple[list[dict[str, Any]], list[Path]]:
    return [overview_command.property_row(folder, today) for folder in folders], []


@pytest.fixture(scope="module")
def farms(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two properties that can be read, one with more to tag, and one that cannot."""
    folder = tmp_path_factory.mktemp("farms")
    make_small_property(folder / "east" / "ridge", seasons=1)
    make_small_property(
        folder / "untagged", {"property.toml": SETTINGS.replace("Hollow Fork", "=Bean & Co")},
        tagged=False, seasons=1,
    )  # fmt: skip
    (folder / "broken").mkdir()
    (folder / "broken" / "property.toml").write_text('name = "No place"\n', encoding="utf-8")
    (folder / "no property").mkdir()
    return folder


@pytest.fixture(scope="module")
def first(farms: Path) -> Result:
    return run(farms)


def test_each_is_a_row_by_what_needs_a_person(farms: Path, first: Result) -> None:
    assert first.exit_code == 1
    assert "broken: " in first.output and "3 properties, 1 failed" in first.output
    text = (farms / "overview.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert tuple(rows[0]) == OVERVIEW_COLUMNS
    assert [row["folder"] for row in rows] == ["broken", "untagged", "east/ridge"]
    assert "latitude" in rows[0]["error"] and rows[0]["report"] == ""
    assert int(rows[1]["untagged"]) > 100 and rows[1]["property"] == "'=Bean & Co"
    assert rows[2]["cards_through"] == LAST_DAY.isoformat()
    assert (
        "evening, Bean Blind: Lantern" in rows[2]["best_sit"]
        and 0.05 < float(rows[2]["chance"]) < 1
    )
    assert rows[2]["report"] == f"east/ridge/reports/{LAST_DAY}/report.html"
    assert (farms / rows[2]["report"]).is_file()


def test_the_page_links_each_report(farms: Path, first: Result) -> None:
    page = (farms / "overview.html").read_text(encoding="utf-8")
    assert f'<a href="east/ridge/reports/{LAST_DAY}/report.html">Hollow Fork</a>' in page
    assert "=Bean &amp; Co" in page and "No report." in page
    assert "<script" not in page and "http" not in page.replace("http-equiv", "")


def test_only_what_is_old_is_written_anew(
    farms: Path, first: Result, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Two by two in processes is shown above; here each in this one, which knows its imports.
    monkeypatch.setattr(overview_command, "_in_processes", in_this_process)
    report = farms / "east" / "ridge" / "reports" / LAST_DAY.isoformat() / "report.html"
    before = report.stat().st_mtime_ns
    result = run(farms, "--json")
    assert report.stat().st_mtime_ns == before
    rows = {Path(row["folder"]).name: row for row in json.loads(result.output)["properties"]}
    assert set(rows) == {"ridge", "untagged", "broken"}
    bucks = farms / "east" / "ridge" / "bucks.csv"
    bucks.write_text(bucks.read_text(encoding="utf-8") + "Newcomer,no,,,\n", encoding="utf-8")
    run(farms)
    assert report.stat().st_mtime_ns > before


def test_one_that_kills_its_process_is_a_row(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(overview_command, "property_row", dies_of_it)
    folders = [tmp_path / name for name in ("a", "deadly", "b", "c")]
    counted: list[int] = []
    rows = overview_command.gathered(folders, date(2026, 11, 25), counted.append)
    found = {Path(row["folder"]).name: row.get("error") for row in rows}
    assert set(found) == {"a", "b", "c", "deadly"}
    assert [name for name, error in found.items() if error] == ["deadly"]
    assert "ended from outside" in str(found["deadly"]) and counted[-1] == 4


def test_processes_are_replaced_and_the_work_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # A pool that replaced its own processes stood still for ever at the second round.
    monkeypatch.setattr(overview_command, "property_row", dies_of_it)
    monkeypatch.setattr(overview_command, "PROPERTIES_A_PROCESS", 1)
    folders = [tmp_path / str(n) for n in range(2 * (os.cpu_count() or 1) + 1)]
    counted: list[int] = []
    rows = overview_command.gathered(folders, date(2026, 11, 25), counted.append)
    assert {row["folder"] for row in rows} == {str(folder) for folder in folders}
    assert counted == list(range(1, len(folders) + 1))


@pytest.mark.filterwarnings("ignore")  # theirs
def test_a_cluster_of_two_workers_does_the_same_work(farms: Path, first: Result) -> None:
    distributed = pytest.importorskip("distributed")
    once = sorted((farms / "overview.csv").read_text(encoding="utf-8").splitlines())
    report = next((farms / "untagged" / "reports").glob("*/report.html"))
    report.unlink()
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None
    ) as cluster:
        result = run(farms, "--cluster", cluster.scheduler_address)
    assert "3 properties, 1 failed" in result.output
    assert sorted((farms / "overview.csv").read_text(encoding="utf-8").splitlines()) == once
    assert report.is_file()


@pytest.mark.filterwarnings("ignore")
def test_no_cluster_is_told(farms: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(overview_command, "CLUSTER_ANSWERS_SECONDS", 0.5)
    if find_spec("distributed") is not None:
        result = run(farms, "--cluster", "tcp://127.0.0.1:9")
        assert result.exit_code == 2 and "no cluster answers" in result.output
    monkeypatch.setitem(sys.modules, "dask", None)
    result = run(farms, "--cluster", "tcp://127.0.0.1:9")
    assert result.exit_code == 2 and "deerlog[cluster]" in result.output


def test_a_fault_of_one_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fault(folder: Path) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr("deerlog.property.open_property", fault)
    row = overview_command.property_row(tmp_path, date(2026, 11, 25))
    assert "by nothing" in row["error"] and row["folder"] == str(tmp_path)


def test_nothing_below_is_said(tmp_path: Path) -> None:
    result = run(tmp_path)
    assert result.exit_code == 2
    assert "no property below this folder" in " ".join(result.output.split())
    assert list(tmp_path.iterdir()) == []


def test_the_same_rows_give_the_same_files_in_any_order(tmp_path: Path) -> None:
    rows = [{"folder": str(tmp_path / name), "error": "E."} for name in ("x", "y")]
    texts = overview_files(rows, tmp_path, LAST_DAY)
    assert texts == overview_files(rows[::-1], tmp_path, LAST_DAY)
