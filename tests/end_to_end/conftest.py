"""The sample property, unpacked and ingested once for all tests that only read it."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from deerlog.cli import main
from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property
from deerlog.study.sample import unpack_sample

TODAY = date(2026, 11, 25)
TRUTH = Path(__file__).parents[2] / "sample_data" / "truth"


@pytest.fixture(scope="session")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample property with its cards read. Tests may not change it."""
    folder = tmp_path_factory.mktemp("sample") / "property"
    unpack_sample(folder)
    ingest_cards(open_property(folder), today=TODAY)
    return folder


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
