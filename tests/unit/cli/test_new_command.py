"""``deerlog new`` from the command line."""

from __future__ import annotations

import sys
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
