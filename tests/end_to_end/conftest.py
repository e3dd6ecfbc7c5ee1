"""The sample property, with its cards read, for all tests that only read it."""

from __future__ import annotations

import csv
import shutil
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner, Result

from deerlog.cli import main

if TYPE_CHECKING:
    from conftest import Demo

TODAY = date(2026, 11, 25)
TRUTH = Path(__file__).parents[2] / "sample_data" / "truth"


@pytest.fixture(scope="session")
def sample(tmp_path_factory: pytest.TempPathFactory, demo: Demo) -> Path:
    """The sample property with its cards read, and no report yet. Tests change reports alone."""
    folder = tmp_path_factory.mktemp("sample") / "property"
    return shutil.copytree(demo.folder, folder, ignore=shutil.ignore_patterns("reports"))


def truth(name: str) -> list[dict[str, str]]:
    """A table of the truth the sample was drawn from."""
    with (TRUTH / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def run(*arguments: str | Path) -> Result:
    """Run deerlog as a person would type it. A traceback is a fault of the test, not exit 1."""
    result = CliRunner().invoke(main, [str(a) for a in arguments])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result
