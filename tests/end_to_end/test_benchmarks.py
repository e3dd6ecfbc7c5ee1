"""The benchmarks run to their end and print every row. How fast they are is no matter of a test.

Nor is that each command has a process of its own: most are run in this one here, by what
`run_in_this_process` and `module_in_this_process` put in the place of starting them. Real processes
are those of start-up, of the report and its floor, and of the two at once.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Collection
from pathlib import Path

import pytest
from benchmarks import growth, speed, timed_inside, whole_commands, workbench
from benchmarks.one_process import Spent
from end_to_end.conftest import run

SPEED = Path(__file__).parents[1] / "benchmarks" / "speed.py"
COLUMNS = ["work", "measured", "floor", "ratio", "aim", ""]
NUMBER = re.compile(r"\d")
ROWS = {
    "deerlog --help": "6 times the floor",
    "residency on the tiny property": "2 s",
    "report on the tiny property": "15 s",
    r"first ingest of 60 photos, .* some 45 tags, .*": "1.3 times the floor",
    r"first ingest of 40 photos, .* nine tags, .*": "1.3 times the floor",
    "memory of its largest process, .*": "300 MB",
    "second ingest, 400 photos known, nothing new": "3 times the floor",
    "scored in memory: 3 bucks, 2 seasons, .* visits": "2 s",
    "the reasons for every score": "2 s",
    "page to tag 20 visits on: opens": "1.5 s",
    "page to tag 20 visits on: answers a key, one by one": "0.05 s",
    "page to tag 20 visits on: answers a key, in the list": "0.05 s",
    r"ingest, first \(.* photos, .* tagged visits, 2 seasons\)": "",
    "ingest, nothing new": "",
    "check": "",
    "residency": "",
    "plan": "",
    "report": "20 s",
    "report, memory": "1024 MB",
    "export camtrap-dp": "",
    "export geojson": "",
    "export photo-log": "",
    "backtest": "",
    "report, against its floor": "",
    "share of the report that is drawing .*": "more than 0.5",
    "growth from 1 to 2 seasons: ingest, first": "no more than 2",
    "growth from 1 to 2 seasons: check": "no more than 2",
    "ingest on two properties at once, .*": "1.5 times one alone",
}
"""Aim of each row, by a pattern of what was done."""
WITHOUT_NUMBER = {"backtest": "left out; --slow measures it"}


def run_speed(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(SPEED), *arguments], capture_output=True, text=True, check=False
    )


def run_in_this_process(
    folder: Path, *arguments: str, may_end_with: Collection[int] = (0, 1)
) -> Spent:
    """`run_deerlog` without a process."""
    result = run("--property", folder, *arguments)
    if result.exit_code not in may_end_with:
        raise RuntimeError(result.output)
    return Spent(wall_s=0.1, processor_s=0.1, peak_mb=50.0, output=result.stdout)


def module_in_this_process(module: str, work: str, folder: str) -> Spent:
    """`run_module` without a process, for the works of `timed_inside`."""
    assert module == "timed_inside"
    timed_inside.WORKS[work](Path(folder))()
    return Spent(wall_s=0.1, processor_s=0.1, peak_mb=50.0, output="0.1\n")


def cells(line: str) -> list[str]:
    return [cell.strip() for cell in line.strip().strip("|").split("|")]


def test_every_row_is_printed_with_its_number_and_its_aim(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for module in (growth, whole_commands, workbench):
        monkeypatch.setattr(module, "run_deerlog", run_in_this_process)
    monkeypatch.setattr(timed_inside, "run_module", module_in_this_process)
    monkeypatch.setattr(sys, "argv", [str(SPEED), "--tiny"])
    speed.main()
    header, rule, *lines = capsys.readouterr().out.splitlines()
    assert cells(header) == COLUMNS and set(rule) <= set("|- ")
    found = set()
    for line in lines:
        work, measured, floor, ratio, aim, verdict = cells(line)
        (row,) = (pattern for pattern in ROWS if re.fullmatch(pattern, work))
        found.add(row)
        assert aim == ROWS[row], work
        told = "not measured" not in measured
        assert verdict in ({"met", "missed"} if aim and told else {""}), work
        assert WITHOUT_NUMBER.get(work, measured) == measured
        assert work in WITHOUT_NUMBER or NUMBER.search(measured), work
        # A ratio is one to something, and what that took is told.
        assert bool(ratio) == bool(floor), work
        assert not ratio or float(ratio) > 0, work
    assert found == set(ROWS)


@pytest.mark.parametrize("wrong", [("--only", "everything"), ("--photos", "0")])
def test_a_wrong_option_is_told(wrong: tuple[str, str]) -> None:
    done = run_speed(*wrong)
    assert done.returncode == 2
    assert wrong[0] in done.stderr and "Traceback" not in done.stderr


def test_a_full_disk_is_told_before_anything_is_written() -> None:
    done = run_speed("--only", "first-ingest", "--photos", str(10**12))
    assert done.returncode == 1
    assert "--photos" in done.stderr and "TMPDIR" in done.stderr
    assert "Traceback" not in done.stderr
