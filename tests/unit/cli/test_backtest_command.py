"""``deerlog backtest`` from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from invented.small_property import make_small_property

from deerlog.cli import main


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_small_property(tmp_path_factory.mktemp("backtest") / "small")


def run(folder: Path, *words: str) -> Result:
    return CliRunner().invoke(main, ["--property", str(folder), "backtest", *words])


def test_verdict_scores_reliability_and_sits(folder: Path) -> None:
    result = run(folder, "--from", "2025-09-22")
    assert result.exit_code == 0
    for words in ("5 weeks, 22 September to 20 October 2025 replayed", "half-days replayed",
                  "Log loss", "deerlog", "the last 14 days", "how often they came true",
                  "Your sits", "All sits"):  # fmt: skip
        assert words in result.output
    assert max(map(len, result.output.splitlines())) <= 80


def test_json(folder: Path) -> None:
    data = json.loads(run(folder, "--from", "2025-10-06", "--json").output)
    assert [row["rule"] for row in data["scores"]] == ["forecast", "all_time", "last_14_days"]
    assert data["weeks"] == 3 and data["first"] == "2025-10-06"
    assert sum(row["half_days"] for row in data["reliability"]) == data["scores"][0]["half_days"]
    assert data["weather"] is None


def test_a_day_that_is_none_is_told(folder: Path) -> None:
    result = run(folder, "--from", "autumn")
    assert result.exit_code == 2 and "YYYY-MM-DD" in result.output


def test_without_a_tag_it_says_so(tmp_path: Path) -> None:
    bare = make_small_property(tmp_path / "bare", tagged=False)
    result = run(bare)
    assert result.exit_code == 0
    assert "cannot be judged yet" in " ".join(result.output.split())
