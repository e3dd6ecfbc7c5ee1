"""What tests of every part share: fixed draws, and the flag that renews golden files."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings

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
