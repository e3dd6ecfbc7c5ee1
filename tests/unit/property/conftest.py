"""A small invented property to write tables into."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from deerlog.property import Settings

SETTINGS_TEXT = """\
name = "Hollow Fork"
latitude = 40.10
longitude = -91.20
timezone = "America/Chicago"
rut_peak = "11-12"
"""

CAMERAS_TEXT = """\
camera,site,setting,latitude,longitude,start,end,clock,bait,notes
Seep,Oak Flat,food,40.101,-91.201,2024-06-01,,local,no,
Ridge,Saddle,travel,40.105,-91.195,2024-06-01,2025-08-14,UTC-6,yes,by the gate
"""


@pytest.fixture
def settings() -> Settings:
    return Settings(
        name="Hollow Fork", latitude=40.10, longitude=-91.20, timezone="America/Chicago"
    )


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str, str], Path]:
    """Write a table and return its path."""

    def write_text(name: str, text: str) -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8", newline="")
        return path

    return write_text


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with valid settings and cameras only."""
    (tmp_path / "property.toml").write_text(SETTINGS_TEXT, encoding="utf-8")
    (tmp_path / "cameras.csv").write_text(CAMERAS_TEXT, encoding="utf-8")
    return tmp_path
