"""``deerlog report`` from the command line: with a forecast of the weather, and for a later day."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from invented.small_property import make_small_property

from deerlog.cli import main

pytestmark = pytest.mark.usefixtures("few_weeks")

SOUTH = "time,wind_from,wind_mph\n" + "".join(f"2025-10-{d},S,8\n" for d in range(21, 28))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_small_property(tmp_path_factory.mktemp("report") / "small", seasons=1)


@pytest.fixture(scope="module")
def south(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("weather") / "week.csv"
    path.write_text(SOUTH, encoding="utf-8")
    return path


def run(folder: Path, command: str, *words: str) -> Result:
    result = CliRunner().invoke(main, ["--property", str(folder), command, *words])
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result


def page_of(folder: Path, day: str = "2025-10-20") -> str:
    html = (folder / "reports" / day / "report.html").read_text(encoding="utf-8")
    text = re.sub(r"<[^>]+>", " ", html[html.index("<body>") :])
    return re.sub(r" (?=[,.:;])", "", " ".join(text.split()))


def sits_of(folder: Path) -> str:
    """The sits of the page, those folded away too."""
    html = (folder / "reports" / "2025-10-20" / "report.html").read_text(encoding="utf-8")
    return " ".join(re.findall(r'<ol class="sits".*?</ol>', html, flags=re.DOTALL))


def test_plan_and_page_name_the_same_sits_with_a_forecast_and_without(
    folder: Path, south: Path
) -> None:
    result = run(folder, "report")
    assert result.exit_code == 0
    without, sits = page_of(folder), sits_of(folder)
    # On a day that was watched there is nothing to say of days since.
    assert "are known to have run" not in result.output + without
    assert "Bean Blind" in sits
    assert "No weather forecast went in: deerlog report --weather FILE." in without
    assert "wrong wind" not in without
    _same_sits(folder, sits)
    assert run(folder, "report", "--weather", str(south)).exit_code == 0
    given, sits = page_of(folder), sits_of(folder)
    assert "Ridge Ladder" not in sits and "Bean Blind" in sits
    assert "--weather FILE" not in given
    _same_sits(folder, sits, "--weather", str(south))


def _same_sits(folder: Path, on_page: str, *words: str) -> None:
    plan = json.loads(run(folder, "plan", "--json", *words).output)["plan"]
    stands = {row["stand"] for row in plan if row["advice"] == "sit"}
    for stand in ("Ridge Ladder", "Bean Blind"):
        assert (stand in on_page) == (stand in stands)
    best = max((row for row in plan if row["advice"] == "sit"), key=lambda row: row["chance"])
    assert f"{100 * best['chance']:.0f}%" in on_page


def test_the_page_to_hand_on_lies_beside_the_own_one_until_the_next_report(folder: Path) -> None:
    shared = folder / "reports" / "2025-10-20" / "share.html"
    result = run(folder, "report", "--share")
    assert f"To hand on: {shared}" in result.output.replace("\n", "")
    text = shared.read_text(encoding="utf-8")
    assert "Lantern" in text and "deerlog report" not in text and "tags/" not in text
    run(folder, "report", "--no-pictures")
    assert not shared.exists(), "it would tell of an earlier record"


def test_what_cannot_be_read_of_a_forecast_is_told(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "week.csv"
    path.write_text(SOUTH.replace("2025-10-27,S", "2025-10-27,upward"), encoding="utf-8")
    result = run(folder, "report", "--weather", str(path))
    assert "upward" in result.output
    # It counts as something to mend, though `check` knows nothing of this file.
    assert result.exit_code == 1 and "deerlog check" not in result.output
    told = run(folder, "report", "--json", "--weather", str(path))
    assert told.exit_code == 1 and json.loads(told.output)["to_mend"] == 1
    path.write_text("day,cloud\n2025-10-21,3\n", encoding="utf-8")
    result = run(folder, "report", "--weather", str(path))
    assert result.exit_code == 2 and "Traceback" not in result.output


def test_a_day_after_the_last_known_is_said_to_be_so(folder: Path) -> None:
    said = "Cameras are known to have run up to 20 October 2025. The 74 days since, 21 October "
    said += "2025 to 2 January 2026, are not watched."
    result = run(folder, "report", "--as-of", "2026-01-02")
    assert said in " ".join(result.output.split())
    page = page_of(folder, "2026-01-02")
    assert said in page
    assert "What is known by the end of Friday 2 January 2026" in page
    weekly = (folder / "reports" / "2026-01-02" / "weekly.csv").read_text(encoding="utf-8")
    late = [row for row in weekly.splitlines() if re.search(r",2025-1[12]-", row)]
    assert late and all(",not watched," in row for row in late)
    data = json.loads(run(folder, "report", "--as-of", "2026-01-02", "--json").output)
    assert (data["as_of"], data["ran_until"]) == ("2026-01-02", "2025-10-20")
