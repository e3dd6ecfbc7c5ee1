"""The commands that the demo ends with run as they are printed."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from invented.small_property import make_small_property

import deerlog
from deerlog.cli.demo_command import LOOK_FIRST, typed_on


@pytest.fixture
def program(tmp_path: Path) -> Path:
    """deerlog as pip would install it, in a folder of its own."""
    if os.name == "nt":
        pytest.skip("a script of this kind is no program here")
    path = tmp_path / "bin" / "deerlog"
    path.parent.mkdir()
    path.write_text(f"#!{sys.executable}\nfrom deerlog.cli import main\nmain()\n")
    path.chmod(0o755)
    return path


@pytest.mark.parametrize("found", ["as a module", "by its path", "on PATH"])
def test_they_run_from_where_one_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, program: Path, found: str
) -> None:
    make_small_property(tmp_path / "my place", seasons=1)
    monkeypatch.chdir(tmp_path)
    root = Path(deerlog.__file__).parents[1]
    monkeypatch.setenv("PYTHONPATH", str(root))
    as_run = {"as a module": root / "deerlog" / "__main__.py", "by its path": "bin/deerlog"}
    monkeypatch.setattr(sys, "argv", [str(as_run.get(found, program))])
    if found == "on PATH":
        monkeypatch.setenv("PATH", str(program.parent), prepend=os.pathsep)
    typed = typed_on(Path("my place"))
    assert typed.startswith({"by its path": "bin/deerlog ", "on PATH": "deerlog "}.get(found, ""))
    done = subprocess.run(f"{typed} residency", shell=True, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
    assert "Lantern" in done.stdout


def test_those_named_are_commands() -> None:
    from deerlog.cli.group import COMMANDS

    named = [line.split()[-1] for line in LOOK_FIRST.splitlines() if "{deerlog}" in line]
    assert named and set(named) <= set(COMMANDS)
