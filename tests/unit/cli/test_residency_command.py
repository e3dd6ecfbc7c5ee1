"""``deerlog residency`` from the command line, where there is little or nothing to tell."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from invented.small_property import TABLES, make_small_property

from deerlog.cli import main
from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property


def run(folder: Path, *words: str) -> Result:
    result = CliRunner().invoke(main, ["--property", str(folder), "residency", *words])
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result


@pytest.mark.parametrize(
    ("stands", "to_mend"),
    [(TABLES["stands.csv"], 0), ("stand,sites\nRidge Ladder,Nowhere\n", 1)],
    ids=["nothing-to-mend", "one-to-mend"],
)
def test_nothing_recorded_is_an_empty_list_and_the_code_of_the_text(
    tmp_path: Path, stands: str, to_mend: int
) -> None:
    for name, text in (TABLES | {"stands.csv": stands, "sits.csv": ""}).items():
        if text:
            (tmp_path / name).write_text(text, encoding="utf-8")
    place = open_property(tmp_path)
    ingest_cards(place, today=place.placements["start"].max().date())
    text, figures = run(tmp_path), run(tmp_path, "--json")
    assert "No buck has a tag yet" in text.output
    assert json.loads(figures.output) == {"as_of": None, "to_mend": to_mend, "residency": []}
    assert text.exit_code == figures.exit_code == (1 if to_mend else 0)


def test_photos_without_a_tag(tmp_path: Path) -> None:
    folder = make_small_property(tmp_path / "bare", tagged=False)
    data = json.loads(run(folder, "--json").output)
    assert data["as_of"] == "2025-10-20" and data["residency"] == []


def test_tags_that_do_not_count_for_want_of_rows_are_not_said_to_be_missing(tmp_path: Path) -> None:
    folder = make_small_property(tmp_path / "refused")
    path = folder / "cameras.csv"
    header, *rows = path.read_text(encoding="utf-8").splitlines()
    start = header.split(",").index("start")
    spoilt = [",".join([*(cells := row.split(","))[:start], "soon", *cells[start + 1 :]])
              for row in rows]  # fmt: skip
    path.write_text("\n".join([header, *spoilt]) + "\n", encoding="utf-8")
    said = " ".join(run(folder).output.split())
    assert "No buck has a tag yet" not in said
    assert f"{len(rows)} row" in said and "of cameras.csv" in said and "left out" in said
    assert "`deerlog check` says what to mend" in said
