"""The export command on the sample property, and the sample rebuilt from its photo log alone."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pandas as pd
import pytest
from end_to_end.conftest import TODAY, run
from invented.camtrap_check import package_faults
from invented.small_property import make_small_property

from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property
from deerlog.public import Study
from deerlog.report.report_files import report_files
from deerlog.study import open_study


def rebuild(place: Path, folder: Path) -> str:
    """Make a property of another's tables and tags and of its exported photo log alone."""
    result = run("--property", place, "export", "photo-log", "--to", folder / "cards")
    assert result.exit_code == 0, result.output
    for path in place.iterdir():
        if path.suffix in (".csv", ".toml"):
            shutil.copyfile(path, folder / path.name)
    shutil.copytree(place / "tags", folder / "tags")
    ingest_cards(open_property(folder), today=TODAY)
    return result.output


@pytest.mark.usefixtures("few_weeks")
def test_a_property_rebuilt_from_its_photo_log_gives_the_same_report(tmp_path: Path) -> None:
    place = make_small_property(tmp_path / "place")
    rebuild(place, tmp_path / "rebuilt")
    before, after = open_study(place), open_study(tmp_path / "rebuilt")
    assert report_files(after) == report_files(before)
    assert after.problems == before.problems


def test_so_does_the_sample_with_pictures_copies_and_mishaps(sample: Path, tmp_path: Path) -> None:
    rebuilt = tmp_path / "rebuilt"
    told = rebuild(sample, rebuilt)
    assert "18,620 photos" in told and "2 files" in told
    assert not list(rebuilt.rglob("*.JPG"))
    before, after = open_study(sample), open_study(rebuilt)
    for table in (Study.residency, Study.weekly, Study.daylight, Study.effort, Study.visits):
        pd.testing.assert_frame_equal(table(Study(after)), table(Study(before)))
    # What is to be mended stays to be mended; files that were never pictures are forgotten,
    # where a time came from, and what lay on the disk twice.
    forgotten = ("unreadable-files", "time-of-container", "copies-in-folder")
    assert sum(p.kind in forgotten for p in before.problems) == 4
    assert list(after.problems) == [p for p in before.problems if p.kind not in forgotten]


def test_the_sample_as_a_camera_trap_package(sample: Path, tmp_path: Path) -> None:
    pytest.importorskip("frictionless", reason="frictionless, which validates, is not installed")
    result = run(
        "--property", sample, "export", "camtrap-dp", "--to", tmp_path, "--round-coordinates", "2"
    )
    assert result.exit_code == 0, result.output
    assert "timestampIssues" in result.output  # cam-06 stayed on summer time
    assert package_faults(tmp_path) == []


def test_geojson_goes_into_the_property_by_default(sample: Path, tmp_path: Path) -> None:
    shutil.copytree(sample, tmp_path / "copy", ignore=shutil.ignore_patterns("cards", "reports"))
    result = run("--property", tmp_path / "copy", "export", "geojson")
    assert result.exit_code == 0, result.output
    written = tmp_path / "copy" / "exports" / "geojson" / "property.geojson"
    features = json.loads(written.read_text(encoding="utf-8"))["features"]
    kinds = [feature["properties"]["kind"] for feature in features]
    assert kinds.count("site") == 12
    assert kinds.count("stand") == len(open_property(sample).stands)
    assert kinds.count("shift") >= 1
    first = next(f for f in features if f["properties"]["kind"] == "site")
    assert first["geometry"]["coordinates"][0] < -90 < 0 < first["geometry"]["coordinates"][1]


def test_to_round_what_holds_no_coordinates_is_a_note(tmp_path: Path) -> None:
    place = make_small_property(tmp_path / "place")
    result = run("--property", place, "export", "photo-log", "--round-coordinates", "2")
    assert result.exit_code == 0
    assert result.output.startswith("A photo log holds no coordinates to round.")
    assert (place / "exports" / "photo-log" / "c1").is_dir()


def test_wrong_use_is_told(sample: Path, tmp_path: Path) -> None:
    assert run("--property", sample, "export").exit_code == 2
    result = run("--property", sample, "export", "shapefile")
    assert result.exit_code == 2 and "photo-log" in result.output
    (tmp_path / "file").write_text("in the way")
    result = run("--property", sample, "export", "geojson", "--to", tmp_path / "file" / "sub")
    assert result.exit_code == 2 and "Traceback" not in result.output
