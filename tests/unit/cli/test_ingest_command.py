"""``deerlog ingest`` from the command line, held against ``deerlog check``."""

from __future__ import annotations

import shutil
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from invented.card_photos import photo, put

from deerlog.cli import main

SETTINGS = (
    'name = "Elm"\nlatitude = 44.0\nlongitude = -91.0\ntimezone = "America/Chicago"\n'
    'rut_peak = "11-12"\n'
)
CAMERAS = "camera,site,latitude,longitude,start\nSeep,Seep,44.0,-91.0,2024-09-01\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A card whose first photos show an earlier month than their numbers say."""
    (tmp_path / "property.toml").write_text(SETTINGS, encoding="utf-8")
    (tmp_path / "cameras.csv").write_text(CAMERAS, encoding="utf-8")
    for i in range(30):
        begins = datetime(2024, 10, 20 if i < 5 else 1, 6)  # noqa: DTZ001
        shown = begins + i * timedelta(hours=5)
        put(tmp_path / f"cards/Seep/a/IMG_{i + 1:04d}.JPG", photo(shown, seed=i))
    return tmp_path


def run(folder: Path, command: str) -> Result:
    result = CliRunner().invoke(main, ["--property", str(folder), command])
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result


def test_it_counts_what_check_counts(folder: Path) -> None:
    first, check, again = run(folder, "ingest"), run(folder, "check"), run(folder, "ingest")
    for result in (first, check, again):
        assert "What went wrong lately (2)" in result.output
        assert "against their file numbers" in result.output
        assert "Bucks" not in result.output.partition("What went wrong lately")[0]
        assert result.exit_code == check.exit_code == 1


def test_a_renamed_folder_is_no_camera_any_more_and_an_overwritten_card_is_told(
    folder: Path,
) -> None:
    run(folder, "ingest")
    (folder / "cards/Seep").rename(folder / "cards/Sepp")
    run(folder, "ingest")
    (folder / "cards/Sepp").rename(folder / "cards/Seep")
    assert "here last time and gone now Sepp." in run(folder, "ingest").output
    assert "Sepp" not in run(folder, "ingest").output
    shown = datetime(2024, 11, 20, 6)  # noqa: DTZ001
    put(folder / "cards/Seep/a/IMG_0001.JPG", photo(shown, seed=99), age_days=-3)
    told = " ".join(run(folder, "ingest").output.split())
    assert "1 file of Seep holds another picture than before" in told
    assert "folder of its own below cards/Seep/" in told
    shutil.copytree(folder / "cards/Seep", folder / "cards/Backup")
    assert "Backup" in run(folder, "ingest").output
