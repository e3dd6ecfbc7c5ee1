"""The report before this one: the right one is found, and a damaged one is passed over."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from deerlog.report.page.changed_contents import latest_earlier_report
from deerlog.report.tables import TABLE_COLUMNS, table_text


def residency(score: float) -> str:
    row = dict.fromkeys(TABLE_COLUMNS["residency.csv"], None) | {
        "buck": "NA",
        "season": "all",
        "score": score,
        "label": "undecided",
        "visits": 4,
        "first_seen": date(2025, 9, 2),
    }
    return table_text("residency.csv", pd.DataFrame([row]))


def put(folder: Path, day: str, text: str, name: str = "residency.csv") -> None:
    path = folder / "reports" / day / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


def day_found(folder: Path, before: date) -> date | None:
    found = latest_earlier_report(folder, before)
    return None if found is None else found.day


def test_the_latest_of_those_that_knew_less(tmp_path: Path) -> None:
    assert day_found(tmp_path, date(2025, 11, 16)) is None
    for day in ("2025-11-02", "2025-11-09", "2025-11-16", "2025-11-23"):
        put(tmp_path, day, residency(50))
    assert day_found(tmp_path, date(2025, 11, 16)) == date(2025, 11, 9)
    assert day_found(tmp_path, date(2025, 11, 2)) is None


def test_its_figures_as_it_wrote_them(tmp_path: Path) -> None:
    put(tmp_path, "2025-11-09", residency(53.24))
    found = latest_earlier_report(tmp_path, date(2025, 11, 16))
    assert found is not None and found.windows is None
    row = found.residency.to_dict("records")[0]
    assert (row["buck"], row["score"], row["visits"]) == ("NA", 53.2, 4.0)
    assert row["first_seen"] == date(2025, 9, 2)
    assert row["last_seen"] is None


@pytest.mark.parametrize(
    "text",
    ["", "buck;score\nx;1\n", residency(50).replace("2025-09-02", "9/2/2025"), "a\n\x00,,,\n"],
    ids=["empty", "other columns", "dates changed", "no table"],
)
def test_a_table_someone_changed_is_passed_over(tmp_path: Path, text: str) -> None:
    put(tmp_path, "2025-11-02", residency(50))
    put(tmp_path, "2025-11-09", text)
    put(tmp_path, "2025-11-13", "day,half\n", "plan.csv")
    put(tmp_path, "2025-13-01", residency(50))
    put(tmp_path, "notes", residency(50))
    assert day_found(tmp_path, date(2025, 11, 16)) == date(2025, 11, 2)
