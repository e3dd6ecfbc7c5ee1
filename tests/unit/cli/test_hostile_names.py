"""Names that would steer a terminal: they reach it as plain text, and a script as they are."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from invented.small_property import SETTINGS, TABLES, make_small_property

from deerlog.cli import main

pytestmark = pytest.mark.usefixtures("few_weeks")

CLEAR, TITLE, LIGHT = "\x1b[2J", "\x1b]0 gone\x07", "\x9b31m"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A property whose own name, a stand, a site and a buck carry escape codes."""
    hostile = {
        "property.toml": SETTINGS.replace("Hollow Fork", "Hollow\\u001b[2J Fork"),
        "stands.csv": TABLES["stands.csv"].replace("Ridge Ladder", f"Ridge{CLEAR} Ladder"),
        "bucks.csv": TABLES["bucks.csv"].replace("Lantern", f"Lan{TITLE}tern"),
        "cameras.csv": TABLES["cameras.csv"].replace("Beans", f"Be{LIGHT}ans"),
    }
    place = make_small_property(tmp_path_factory.mktemp("hostile") / "place", hostile, seasons=1)
    for sheet in (place / "tags").glob("*.csv"):
        text = sheet.read_text(encoding="utf-8")
        sheet.write_text(text.replace("Lantern", f"Lan{TITLE}tern"), encoding="utf-8")
    return place


def run(folder: Path, *words: str) -> Result:
    result = CliRunner().invoke(main, ["--property", str(folder), *words])
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result


@pytest.mark.parametrize(
    "command",
    ["plan --all", "plan --buck Nob\x1b[2Jody", "check", "report", "ingest",
     "backtest --from 2025-10-01", "export geojson"],
)  # fmt: skip
def test_nothing_steers_the_terminal(folder: Path, command: str) -> None:
    said = run(folder, *command.split(" ", 2)).output
    assert said.strip() and not steering(said)


def steering(said: str) -> list[str]:
    return [c for c in said if c != "\n" and (c < " " or "\x7f" <= c <= "\x9f")]


@pytest.mark.parametrize(
    ("command", "name"), [("residency", "Lan ]0 gone"), ("plan", "Hollow [2J Fork")]
)
def test_the_names_are_in_it(folder: Path, command: str, name: str) -> None:
    # Else the test above would show nothing.
    said = run(folder, command).output
    assert name in said and not steering(said)


def test_a_script_gets_them_as_they_are(folder: Path) -> None:
    said = run(folder, "plan", "--all", "--json").output
    assert not steering(said)
    rows = json.loads(said)["plan"]
    assert f"Lan{TITLE}tern" in {row["buck"] for row in rows}
    assert f"Be{LIGHT}ans" in {row["site"] for row in rows}
