"""Many properties, one process each: the lines of DEVELOPERS.md that run them do."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from invented.markdown import read_page
from invented.small_property import LAST_DAY, make_small_property

ROOT = Path(__file__).parents[2]


def test_the_lines_that_run_many_properties(tmp_path: Path) -> None:
    (lines,) = [b.text for b in read_page(ROOT / "DEVELOPERS.md").blocks if b.language == "python"]
    make_small_property(tmp_path / "properties" / "ridge", seasons=1)
    broken = tmp_path / "properties" / "no place"
    broken.mkdir()
    (broken / "property.toml").write_text('name = "No place"\n', encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", lines], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    told = done.stdout.splitlines()
    assert told[0].startswith("no place: ingest cannot go on deerlog: ")
    assert told[-1].strip() == "ridge: report done"
    report = tmp_path / "properties" / "ridge" / "reports" / LAST_DAY.isoformat()
    assert (report / "residency.csv").is_file()
