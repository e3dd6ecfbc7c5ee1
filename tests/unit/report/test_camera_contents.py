"""What the page shows of a camera: an outage once, nothing from after the day of the report."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pandas as pd
import pytest
from invented.small_property import make_small_property

from deerlog.report.page.camera_contents import camera_sections, silent_stretches
from deerlog.study import open_study


def silent(*rows: tuple[str, str, str, str]) -> pd.DataFrame:
    frame = pd.DataFrame(rows, columns=["site", "start", "end", "status"])
    frame["start"] = [pd.Timestamp(time) for time in frame["start"]]
    frame["end"] = [pd.Timestamp(time) for time in frame["end"]]
    return frame


def shown(day: str, *rows: tuple[str, str, str, str]) -> list[tuple[str, str, str]]:
    stretches = silent_stretches(silent(*rows), pd.Timestamp(day))
    return [(s["status"], s["start"].isoformat(), s["end"].isoformat()) for s in stretches]


NOTED = ("Ford", "2025-11-27", "2025-12-12", "down")
FOUND = ("Ford", "2025-11-27 07:45", "2025-12-11 10:15", "silent")


def test_a_silence_that_is_noted_as_an_outage_stands_once() -> None:
    assert shown("2026-01-01", FOUND, NOTED) == [("down", "2025-11-27", "2025-12-11")]


def test_a_silence_that_goes_on_longer_than_noted_stands_too() -> None:
    longer = ("Ford", "2025-11-20", "2025-12-11 10:15", "silent")
    assert [row[0] for row in shown("2026-01-01", longer, NOTED)] == ["silent", "down"]
    elsewhere = ("Gate", *FOUND[1:])
    assert [row[0] for row in shown("2026-01-01", elsewhere, NOTED)] == ["down", "silent"]


def test_what_came_after_the_day_is_not_known() -> None:
    assert shown("2025-11-26", FOUND, NOTED) == []
    assert shown("2025-12-01", FOUND, NOTED) == [("down", "2025-11-27", "2025-12-01")]


def test_running_though_silent_keeps_its_name() -> None:
    running = ("Ford", "2025-11-27", "2025-12-03", "running")
    assert shown("2026-01-01", running) == [("running", "2025-11-27", "2025-12-02")]


def test_days_of_which_no_card_has_told_are_drawn_as_such(tmp_path: Path) -> None:
    """A camera stands there: blank would say that it does not."""
    study = open_study(make_small_property(tmp_path / "small"), as_of=date(2025, 10, 25))
    sections = {section["camera"]: section for section in camera_sections(study)}
    days = [day for day, _, _ in sections["c1"]["effort"]]
    late = [row for row in sections["c1"]["effort"] if row[0] > date(2025, 10, 20)]
    assert late == [(date(2025, 10, day), "Ridge", "not known") for day in range(21, 26)]
    assert days == sorted(set(days))
    # The one that was taken down in February stands nowhere.
    assert sections["c3"]["effort"][-1][0] == date(2025, 2, 1)
    season = study.effort[study.effort["day"] >= "2025-06-01"]
    ran = season.loc[season["camera"] == "c1", "camera_day"].sum()
    assert sections["c1"]["season_camera_days"] == pytest.approx(ran)
    assert {state for _, _, state in sections["c1"]["effort"]} == {"ran", "part", "not known"}


def test_a_day_that_ran_and_was_not_looked_at_is_told_apart(tmp_path: Path) -> None:
    study = open_study(make_small_property(tmp_path / "new", tagged=False))
    (beans,) = (c for c in camera_sections(study) if c["camera"] == "c2")
    assert {state for _, _, state in beans["effort"]} == {"not looked at", "not known"}
