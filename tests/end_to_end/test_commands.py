"""The commands as a person meets them: starting, mistakes, and odd input."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from end_to_end.conftest import run

START = ("--latitude", "40.3", "--longitude", "-92.3", "--timezone", "America/Chicago")
CAMERAS = "camera,site,latitude,longitude,start\nA,Spot,40.3,-92.3,2026-11-01\n"


@pytest.fixture
def ground(tmp_path: Path) -> Path:
    """A started property with one camera and no cards."""
    folder = tmp_path / "ground"
    result = run("new", folder, "--name", 'Odd "name" \\ here', *START, "--rut-peak", "11-12")
    assert result.exit_code == 0, result.output
    (folder / "cameras.csv").write_text(CAMERAS, encoding="utf-8")
    return folder


@pytest.fixture
def with_photos(ground: Path, sample: Path) -> Path:
    """Two photos from the sample's cards, in two visits, on the card of camera A."""
    card = ground / "cards" / "A" / "dump"
    card.mkdir(parents=True)
    photos = sorted((sample / "cards" / "cam-07" / "2026-11-22").rglob("*.JPG"))
    for photo in (photos[0], photos[-1]):
        shutil.copyfile(photo, card / photo.name)
    return ground


def test_nothing_is_recorded_yet(ground: Path) -> None:
    assert "no cards yet" in run("--property", ground, "ingest").output
    result = run("--property", ground, "report")
    assert result.exit_code == 2
    assert "nothing is recorded yet" in result.output
    assert not (ground / "reports").exists()
    assert "No buck has a tag yet" in run("--property", ground, "residency").output


def test_no_property_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    result = run("report")
    assert result.exit_code == 2
    assert "property.toml" in result.output and "deerlog new" in result.output


def test_new_leaves_what_is_there(ground: Path) -> None:
    before = (ground / "cameras.csv").read_bytes()
    result = run("new", ground, "--name", "Again", *START)
    assert result.exit_code == 2
    assert "nothing was changed" in " ".join(result.output.split())
    assert (ground / "cameras.csv").read_bytes() == before


def test_demo_leaves_a_strange_folder_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    result = run("demo", tmp_path)
    assert result.exit_code == 2
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]


NAMES = ['=HYPERLINK("x")', 'Big "O" Neil', "<script>alert(1)</script>", "Röhrer 🦌", "a&b <i>"]


def test_a_name_is_data_everywhere(with_photos: Path) -> None:
    assert run("--property", with_photos, "ingest").exit_code == 0
    sheet = with_photos / "tags" / "A.csv"
    lines = sheet.read_text(encoding="utf-8").splitlines()
    for i, names in ((1, NAMES), (2, NAMES[::-1])):
        cells = lines[i].split(",")
        quoted = "; ".join(names).replace('"', '""')
        cells[3] = f'"{quoted}"'
        lines[i] = ",".join(cells)
    typed = "\n".join(lines) + "\n"
    sheet.write_text(typed, encoding="utf-8", newline="\n")
    run("--property", with_photos, "ingest")
    assert sheet.read_text(encoding="utf-8") == typed
    assert run("--property", with_photos, "report").exit_code == 0
    report = next((with_photos / "reports").glob("*/report.html")).read_text(encoding="utf-8")
    assert "<script" not in report and "<i>" not in report
    residency = run("--property", with_photos, "residency", "--json").output
    rows = json.loads(residency)["residency"]
    assert {row["buck"] for row in rows} == set(NAMES)


def test_a_sheet_that_is_no_csv_is_left_alone(with_photos: Path) -> None:
    sheet = with_photos / "tags" / "A.csv"
    sheet.parent.mkdir(exist_ok=True)
    sheet.write_bytes(b"PK\x03\x04\x00\x00 not a sheet")
    result = run("--property", with_photos, "ingest")
    assert result.exit_code == 1
    assert "tags/A.csv" in result.output
    assert sheet.read_bytes() == b"PK\x03\x04\x00\x00 not a sheet"
    assert run("--property", with_photos, "report").exit_code == 1


def test_a_card_folder_without_a_camera_is_named(with_photos: Path) -> None:
    (with_photos / "cards" / "A").rename(with_photos / "cards" / "Zed")
    result = run("--property", with_photos, "ingest")
    assert result.exit_code == 1
    assert "No camera Zed is in cameras.csv" in " ".join(result.output.split())


def test_a_bad_day_and_a_bad_command_say_how(ground: Path) -> None:
    result = run("--property", ground, "residency", "--as-of", "10/31")
    assert result.exit_code == 2 and "YYYY-MM-DD" in result.output
    result = run("reprot")
    assert result.exit_code == 2 and "report" in result.output


def test_outages_alone_are_no_record(ground: Path) -> None:
    (ground / "outages.csv").write_text(
        "camera,from,to,status\nA,2026-11-02,2026-11-09,running\n", encoding="utf-8"
    )
    result = run("--property", ground, "report")
    assert result.exit_code == 2
    assert "nothing is recorded yet" in result.output
    assert not (ground / "reports").exists()


def test_weeks_to_come_cannot_be_replayed(sample: Path) -> None:
    result = run("--property", sample, "backtest", "--from", "2030-01-01")
    assert result.exit_code == 2
    assert "the record ends on 2026-11-22" in " ".join(result.output.split())


def test_a_file_where_a_folder_should_be_is_told(with_photos: Path) -> None:
    tags = with_photos / "tags"
    if tags.is_dir():
        for path in tags.iterdir():
            path.unlink()
        tags.rmdir()
    tags.write_text("mine", encoding="utf-8")
    result = run("--property", with_photos, "ingest")
    assert result.exit_code in (1, 2), result.output
    assert "tags" in result.output
    assert tags.read_text(encoding="utf-8") == "mine"
