"""The README is complete and true: every command, option, setting and column, and each example."""

from __future__ import annotations

import csv
import io
import re
import shlex
import sys
import tomllib
from dataclasses import fields
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING

import click
import pytest
from click.testing import CliRunner
from end_to_end.conftest import TODAY, run
from invented.markdown import Block, read_page
from invented.small_property import make_small_property

import deerlog
from deerlog.analysis.plan.rules import PlanRules
from deerlog.analysis.presence.judgement import Judgement
from deerlog.cli import main
from deerlog.cli.export_command import FORMATS
from deerlog.cli.group import COMMANDS
from deerlog.ingest.cards import photo_csv
from deerlog.ingest.run import ingest_cards
from deerlog.ingest.tags import tags
from deerlog.property import bucks, cameras, clock, open_property, outages, sits, stands, weather
from deerlog.property.settings import HuntingSeason, Settings, settings_from_text
from deerlog.report.tables import TABLE_COLUMNS

if TYPE_CHECKING:
    from conftest import Demo

ROOT = Path(__file__).parents[2]
PAGE = read_page(ROOT / "README.md")
WORDS = {word for span in PAGE.spans for word in re.split(r"[,\s()]+", span)}

TABLES = {
    "cameras.csv": [column.name for column in cameras.COLUMNS],
    "bucks.csv": [column.name for column in bucks.COLUMNS],
    "stands.csv": [column.name for column in stands.COLUMNS],
    "clock.csv": [column.name for column in clock.COLUMNS],
    "outages.csv": [column.name for column in outages.COLUMNS],
    "sits.csv": [column.name for column in sits.COLUMNS],
    "weather.csv": list(weather.COLUMNS),
    "tags/<camera>.csv": list(tags.COLUMNS),
    **{name: list(columns) for name, columns in TABLE_COLUMNS.items()},
}
"""Every table that people write or read, with its columns."""


def commands() -> dict[str, click.Command]:
    context = click.Context(main)
    found = {name: main.get_command(context, name) for name in COMMANDS}
    return {name: command for name, command in found.items() if command is not None}


def row_of(name: str) -> tuple[str, ...]:
    rows = [row for table in PAGE.tables for row in table.rows if row[0].startswith(f"`{name}")]
    assert len(rows) == 1, f"{len(rows)} rows of tables in the README begin with {name}"
    return rows[0]


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_and_option_is_documented(name: str) -> None:
    command = commands()[name]
    row = row_of(f"deerlog {name}")
    options = {option for p in command.params for option in p.opts if option.startswith("--")}
    assert set(re.findall(r"--[a-z-]+", row[1])) == options
    for argument in (p for p in command.params if isinstance(p, click.Argument)):
        assert str(argument.metavar) in row[0]


def test_no_command_is_documented_that_is_not_there() -> None:
    told = {span.split()[1] for span in PAGE.spans if re.match(r"deerlog [a-z]", span)}
    assert told == set(COMMANDS)


def test_options_before_the_command_and_formats_are_documented() -> None:
    assert {"--property", "--help"} <= WORDS
    assert set(FORMATS) <= WORDS


@pytest.mark.parametrize("file", TABLES)
def test_every_column_is_documented_beside_its_file(file: str) -> None:
    told = {c for span in re.findall(r"`([^`]+)`", row_of(file)[1]) for c in span.split(",")}
    assert told == set(TABLES[file])


def test_columns_of_written_tables_stand_in_their_order() -> None:
    for file, columns in TABLE_COLUMNS.items():
        assert f"`{','.join(columns)}`" in row_of(file)[1]


def test_every_column_of_a_list_of_photos_is_documented() -> None:
    assert set(photo_csv.COLUMNS) <= WORDS


def toml_block() -> dict[str, object]:
    block = next(block for block in PAGE.blocks if block.language == "toml")
    return tomllib.loads(block.text)


def test_every_setting_is_documented() -> None:
    block = toml_block()
    assert set(block) == {f.name for f in fields(Settings)}
    assert isinstance(block["hunting"], list) and isinstance(block["plan"], dict)
    assert set(block["hunting"][0]) == {f.name for f in fields(HuntingSeason)}
    assert set(block["plan"]) == {f.name for f in fields(PlanRules)}
    assert {f.name for f in fields(Judgement)} <= WORDS


def test_the_settings_shown_are_read_and_are_the_defaults() -> None:
    text = next(block.text for block in PAGE.blocks if block.language == "toml")
    settings, problems = settings_from_text(text, folder_name="x")
    assert problems == []
    for each in fields(Settings):
        if each.name in ("units", "season_start", "rut_peak") or each.name.startswith(
            ("light_", "visit_", "week_", "watched_")
        ):
            assert getattr(settings, each.name) == each.default
    assert PlanRules.from_settings(settings.plan) == PlanRules()
    assert Judgement.from_settings(settings.presence) == Judgement()


def test_every_function_for_python_is_documented() -> None:
    assert {name for name in deerlog.__all__ if name not in ("Study", "Problem")} <= WORDS


def csv_blocks() -> list[Block]:
    return [block for block in PAGE.blocks if block.language == "csv"]


@pytest.mark.parametrize("block", csv_blocks(), ids=lambda block: f"line {block.line}")
def test_every_csv_block_has_whole_rows_and_known_columns(block: Block) -> None:
    header, *rows = csv.reader(io.StringIO(block.text))
    assert rows and all(len(row) == len(header) for row in rows)
    known = [*TABLES.values(), list(photo_csv.COLUMNS)]
    assert any(set(header) <= set(columns) for columns in known)


def table_of(block: Block) -> str:
    """The file that a block of CSV is an example of."""
    header = block.text.split("\n")[0].split(",")
    if header == ["file", "taken", "look"]:
        return "cards/cam-02/old/list.csv"
    return next(name for name, columns in TABLES.items() if set(header) <= set(columns))


def test_there_is_an_example_of_every_table_that_people_write() -> None:
    shown = [table_of(block) for block in csv_blocks()]
    written_by_people = set(TABLES) - set(TABLE_COLUMNS)
    assert sorted(shown) == sorted({*written_by_people, "cards/cam-02/old/list.csv"})


def test_the_examples_make_a_property(tmp_path: Path) -> None:
    places = {table_of(block): block.text for block in csv_blocks()}
    photos = places["cards/cam-02/old/list.csv"]
    places["property.toml"] = next(b.text for b in PAGE.blocks if b.language == "toml")
    places["tags/cam-01.csv"] = places.pop("tags/<camera>.csv")
    places["cards/cam-01/2026-11-22/list.csv"] = "file,taken\nIMG_0412.JPG,2026-11-15 17:04:12\n"
    for name, text in places.items():
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="")
    place = open_property(tmp_path)
    assert place.problems == ()
    assert len(place.bucks) == 3 and len(place.stands) == 2 and len(place.sits) == 2
    summary = ingest_cards(place, today=TODAY)
    # The old list is from before cam-02 was put out; nothing else may be wrong.
    must_mend = {problem.kind for problem in summary.problems if problem.must_mend}
    assert must_mend == {"outside-placement"}
    assert summary.photos == 1 + photos.count("IMG_")


def shell_lines() -> list[str]:
    lines = [
        line
        for block in PAGE.blocks
        if block.language == "sh"
        for line in block.text.splitlines()
        if line.strip()
    ]
    # What a shell does by itself: nothing of deerlog's.
    lines = [line for line in lines if line.split()[0] not in ("cd", "source")]
    inline = [span for span in PAGE.spans if span.startswith("deerlog ")]
    whole = [span for span in inline if not re.search(r"[A-Z<\[]", span)]
    return list(dict.fromkeys([*lines, *whole]))


INSTALL = [line for line in shell_lines() if "-m venv" in line]


def test_what_installs_is_what_the_whole_check_runs() -> None:
    # These fetch packages, so not here: .ci/run takes the second as it stands, and does what the
    # first does from the wheel.
    assert len(INSTALL) == 2
    check = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    pattern = re.search(r"grep -m1 -E '([^']+)' README\.md", check)
    assert pattern is not None
    assert [line for line in INSTALL if re.search(pattern[1], line)] == INSTALL[1:]
    assert "pip install --quiet ." in INSTALL[0] and INSTALL[0].endswith("deerlog demo")
    windows = [b.text.strip() for b in PAGE.blocks if b.language == "bat"]
    assert len(windows) == 2
    for ours, theirs in zip(INSTALL, windows, strict=True):
        for part in ("pip install --quiet", "deerlog demo", '-e ".[test]"', "-m pytest"):
            assert (part in ours) == (part in theirs)


@pytest.fixture(scope="module")
def lived_in(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A property in use, in which one command after another is run."""
    return make_small_property(tmp_path_factory.mktemp("readme") / "hollow", seasons=1)


@pytest.mark.usefixtures("few_weeks")
@pytest.mark.parametrize("line", [line for line in shell_lines() if line not in INSTALL])
def test_every_other_command_runs(
    line: str, lived_in: Path, demo: Demo, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    arguments = shlex.split(line)
    assert arguments[0] == "deerlog"
    if line == "deerlog demo":
        assert demo.said.strip() and (demo.report / "report.html").is_file()
        return
    if arguments[1] == "new":
        monkeypatch.chdir(tmp_path)
        monkeypatch.setattr(
            sys.modules["deerlog.cli.new_command"],
            "sys",
            SimpleNamespace(stdin=SimpleNamespace(isatty=lambda: True)),
        )
        answers = "My Farm\n40.31\n-92.36\nAmerica/Chicago\n11-12\n"
        result = CliRunner().invoke(main, arguments[1:], input=answers)
    else:
        monkeypatch.chdir(lived_in)
        result = run(*arguments[1:])
    assert result.exception is None or isinstance(result.exception, SystemExit)
    assert result.exit_code in (0, 1), result.output
    assert result.output.strip()


def test_the_lines_of_python_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    make_small_property(tmp_path / "MyFarm")
    monkeypatch.chdir(tmp_path)
    blocks = [block.text for block in PAGE.blocks if block.language == "python"]
    assert blocks
    for text in blocks:
        exec(compile(text, "README.md", "exec"), {})
    assert "Lantern" in capsys.readouterr().out


def transcripts() -> list[Block]:
    return [block for block in PAGE.blocks if block.language == "console"]


@pytest.mark.parametrize("block", transcripts(), ids=lambda block: f"line {block.line}")
def test_what_is_shown_of_a_command_is_what_it_prints(block: Block, sample: Path) -> None:
    """On the sample property; `...` stands for lines left out."""
    command, *shown = block.text.splitlines()
    assert command.startswith("$ deerlog ")
    printed = run("--property", sample, *shlex.split(command)[2:]).output.splitlines()
    last = -1
    for line in (each.rstrip() for each in shown if each.strip() not in ("", "...")):
        places = [n for n, each in enumerate(printed) if each.rstrip() == line and n > last]
        assert places, f"not printed, or not in this order: {line}"
        last = places[0]


def test_what_commands_print_is_shown() -> None:
    shown = {block.text.split()[2] for block in transcripts()}
    assert {"check", "residency", "plan"} <= shown


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_every_file_of_the_project_that_is_named_is_there(name: str) -> None:
    page = read_page(ROOT / name)
    homes = r"(deerlog|tests|sample_data|notebooks|\.ci)/[\w./-]*"
    named = [span for span in page.spans if re.fullmatch(homes, span)]
    assert named
    assert [span for span in named if not (ROOT / span).exists()] == []
