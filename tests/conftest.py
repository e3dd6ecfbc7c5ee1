"""What tests of every part share: fixed draws, the flag that renews golden files, the sample."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from contextlib import chdir
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import settings

# Linear algebra on one thread, in what tests start too: the workers have the other cores, and small
# matrices cost more on several. Set before numpy is loaded; who has chosen otherwise is left it.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# The same draws on every run, and no limit of time on a busy machine.
settings.register_profile("fixed", derandomize=True, database=None, deadline=None)
settings.load_profile("fixed")

GOLDEN = Path(__file__).parent / "golden"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--update-golden",
        action="store_true",
        help="write what the tests get over the golden files, to be looked at before a commit",
    )


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Callable[[str, str], None]:
    """Compares a text with the golden file of that name, or writes it with --update-golden."""

    def compare(name: str, text: str) -> None:
        path = GOLDEN / name
        if request.config.getoption("--update-golden"):
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8", newline="\n")
        assert path.is_file(), f"no golden file {path}: make it with --update-golden"
        expected = path.read_text(encoding="utf-8").splitlines()
        got = text.splitlines()
        for number, (old, new) in enumerate(zip(expected, got, strict=False), start=1):
            assert new == old, f"{name} line {number} changed; if meant, renew: --update-golden"
        assert len(got) == len(expected), f"{name}: {len(expected)} lines before, {len(got)} now"

    return compare


PATIENCE_SECONDS = 900
"""After which another process is taken to have ended before its work was done."""


@dataclass(frozen=True)
class Demo:
    """What `deerlog demo` left behind and said. Tests may not change it."""

    folder: Path
    said: str

    @property
    def report(self) -> Path:
        """The folder of its one report."""
        (folder,) = (self.folder / "reports").iterdir()
        return folder


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Demo:
    """The sample property as `deerlog demo` unpacks it, ingests it and reports on it.

    Made once, by whichever process of a run of several (pytest-xdist) first asks for it.
    """
    base = tmp_path_factory.getbasetemp()
    place = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "demo"
    said, failed = place / "said.txt", place / "failed.txt"
    try:
        place.mkdir()
        first = True
    except FileExistsError:
        first = False
    if first:
        from click.testing import CliRunner

        from deerlog.cli import main

        with chdir(place):
            result = CliRunner().invoke(main, ["demo"])
        part = place / "part.txt"
        part.write_text(f"{result.output}{result.exception or ''}", encoding="utf-8")
        part.rename(said if result.exit_code == 0 else failed)
    given_up = time.monotonic() + PATIENCE_SECONDS
    while not said.exists():
        assert not failed.exists(), failed.read_text(encoding="utf-8")
        assert time.monotonic() < given_up, f"what was to make {place} seems to have ended"
        time.sleep(0.1)
    return Demo(place / "deerlog-demo", said.read_text(encoding="utf-8"))


@pytest.fixture
def few_weeks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three weeks are replayed for a report or a plan, not thirteen: for tests of other things."""
    monkeypatch.setattr("deerlog.study.study.RECENT_WEEKS", 3)
