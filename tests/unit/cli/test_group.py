"""What goes before the command."""

from __future__ import annotations

from pathlib import Path

from click.testing import CliRunner

from deerlog.cli import main


def test_two_properties_are_an_error_and_nothing_is_done(tmp_path: Path) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    one.mkdir()
    other.mkdir()
    result = CliRunner().invoke(
        main, ["--property", str(one), "--property", str(other), "residency"]
    )
    assert result.exit_code == 2
    assert "more than once" in result.output
    assert list(one.iterdir()) == list(other.iterdir()) == []
