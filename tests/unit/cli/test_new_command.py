"""``deerlog new`` from the command line."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner

import deerlog.cli.new_command
from deerlog.cli import main
from deerlog.property import open_property


def test_a_longitude_that_does_not_fit_the_zone_is_asked_for_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    there = SimpleNamespace(stdin=SimpleNamespace(isatty=lambda: True))
    monkeypatch.setattr(sys.modules[deerlog.cli.new_command.__name__], "sys", there)
    answers = "Elm\n38.71\n91.83\nAmerica/Chicago\n-91.83\nAmerica/Chicago\n\n"
    result = CliRunner().invoke(main, ["new", str(tmp_path / "elm")], input=answers)
    assert result.exit_code == 0, result.output
    assert "-91.83 would fit" in result.output
    settings = open_property(tmp_path / "elm").settings
    assert (settings.longitude, settings.timezone) == (-91.83, "America/Chicago")


def test_with_options_it_is_an_error(tmp_path: Path) -> None:
    words = ["--name", "x", "--latitude", "38.7", "--longitude", "91.83"]
    result = CliRunner().invoke(
        main, ["new", str(tmp_path / "elm"), *words, "--timezone", "America/Chicago"]
    )
    assert result.exit_code == 2
    assert "-91.83 would fit" in " ".join(result.output.split())
    assert not (tmp_path / "elm").exists()


@pytest.fixture
def asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], tuple[str, Path]]:
    """Start a property by answers; gives what was said, and where it is."""
    there = SimpleNamespace(stdin=SimpleNamespace(isatty=lambda: True))
    monkeypatch.setattr(sys.modules[deerlog.cli.new_command.__name__], "sys", there)

    def ask(answers: str) -> tuple[str, Path]:
        result = CliRunner().invoke(main, ["new", str(tmp_path / "elm")], input=answers)
        assert result.exit_code == 0, result.output
        return result.output, tmp_path / "elm"

    return ask


Asked = Callable[[str], tuple[str, Path]]


def test_the_longitude_that_was_probably_meant_needs_but_enter(asked: Asked) -> None:
    said, folder = asked("Elm\n38.71\n91.83\nAmerica/Chicago\n\n\n\n")
    assert "[-91.83]" in said and "[America/Chicago]" in said
    settings = open_property(folder).settings
    assert (settings.longitude, settings.timezone) == (-91.83, "America/Chicago")


def test_where_the_zone_is_wrong_what_was_typed_is_offered(asked: Asked) -> None:
    said, folder = asked("Elm\n38.71\n-91.83\nEurope/London\n\nAmerica/Chicago\n\n")
    assert "[-91.83]" in said
    assert open_property(folder).settings.longitude == -91.83


@pytest.mark.parametrize("pasted", ["37.812, -95.124", "(37.812,-95.124)", " 37.812 -95.124 "])
def test_both_degrees_may_be_pasted_at_the_first(asked: Asked, pasted: str) -> None:
    said, folder = asked(f"Elm\n{pasted}\nAmerica/Chicago\n\n")
    assert "Longitude" not in said
    settings = open_property(folder).settings
    assert (settings.latitude, settings.longitude) == (37.812, -95.124)


def test_what_comes_next_names_every_table_that_is_needed(asked: Asked) -> None:
    said, folder = asked("Elm\n38.71\n-91.83\nAmerica/Chicago\n\n")
    steps = said.partition("Next:")[2]
    assert all(name in steps for name in ("cameras.csv", "bucks.csv", "cards/", "tags/"))
    assert 'date_order = ""' in (folder / "property.toml").read_text(encoding="utf-8")
