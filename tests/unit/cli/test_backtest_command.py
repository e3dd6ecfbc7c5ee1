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
    for words in ("replayed: 4 weeks, 22 September to 19 October 2025", "half-days replayed",
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


def test_json_has_every_band_of_chances_the_text_says_was_off(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from deerlog.analysis.backtest import scores as chances_off

    short = make_small_property(tmp_path / "short", seasons=1)
    # Two weeks are enough here, so that the small property has a band to tell of.
    monkeypatch.setattr(chances_off, "LEAST_WEEKS", 2)
    monkeypatch.setattr(chances_off, "BANDS", ((0.0, 0.05), (0.05, 0.15), (0.15, 1.0)))
    said = " ".join(run(short).output.split())
    found = json.loads(run(short, "--json").output)["chances_off"]
    assert said.count("came true (") == len(found) > 0
    for band in found:
        assert set(band) == {
            "said_low", "said_high", "said", "came_true", "half_days", "share", "low", "high",
        }  # fmt: skip
        assert f"of {band['half_days']:,} half-days given" in said
        assert band["share"] == pytest.approx(band["came_true"] / band["half_days"])
        assert not band["low"] <= band["said"] <= band["high"]


def test_a_day_that_is_none_is_told(folder: Path) -> None:
    result = run(folder, "--from", "autumn")
    assert result.exit_code == 2 and "YYYY-MM-DD" in result.output


def test_without_a_tag_it_says_so(tmp_path: Path) -> None:
    bare = make_small_property(tmp_path / "bare", tagged=False)
    result = run(bare)
    assert result.exit_code == 0
    assert "cannot be judged yet" in " ".join(result.output.split())
