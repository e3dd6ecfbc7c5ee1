"""Days that could be read in two ways: settled by their column, or by the settings."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from deerlog.property import Property, open_property
from deerlog.property.cell_values import CellError
from deerlog.property.day_and_time import parse_day, possible_moments, settled_order

TABLES = {
    "cameras.csv": "camera,site,latitude,longitude,start,end\n"
    "Seep,Oak Flat,40.101,-91.201,6/1/2024,{}\nRidge,Saddle,40.105,-91.195,6/1/2024,{}\n",
    "stands.csv": "stand,sites\nLadder,Saddle\n",
    "clock.csv": "camera,shown,actual\nSeep,{} 7:00,{} 8:00\nRidge,{} 7:00,{} 8:00\n",
    "outages.csv": "camera,from,to\nSeep,{},{}\nRidge,{},{}\n",
    "sits.csv": "day,half,stand\n{},AM,Ladder\n{},AM,Ladder\n",
    "weather.csv": "time,temperature_f\n{} 7:00,45\n{} 7:00,46\n",
}
DAY = pd.Timestamp("2026-11-08")


def written(folder: Path, first: str, second: str) -> Property:
    """Tables of which every column of days has one day in the first row, one in the second."""
    for name, text in TABLES.items():
        rows = text.replace("6/1/2024", "2024-06-01").splitlines()
        rows[1] = rows[1].replace("{}", first)
        rows[2:] = [row.replace("{}", second) for row in rows[2:]]
        (folder / name).write_text("\n".join(rows) + "\n", encoding="utf-8")
    return open_property(folder)


def set_order(folder: Path, order: str) -> None:
    path = folder / "property.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(f'date_order = "{order}"\n{text}', encoding="utf-8")


def first_days(found: Property) -> list[pd.Timestamp]:
    assert found.weather is not None
    columns = (
        found.placements["end"] - pd.Timedelta(days=1),
        found.clock_readings["shown"],
        found.outages["start"],
        found.sits["day"],
        found.weather["time"],
    )
    return [column.iloc[0].normalize() for column in columns]


@pytest.mark.parametrize(
    ("first", "second"), [("11/8/2026", "11/13/2026"), ("8.11.2026", "13.11.2026")]
)
def test_the_other_days_of_a_column_settle_it(folder: Path, first: str, second: str) -> None:
    found = written(folder, first, second)
    assert found.problems == ()
    assert first_days(found) == [DAY] * 5


@pytest.mark.parametrize(
    ("order", "first", "second"),
    [("month first", "11/8/2026", "11/9/2026"), ("day first", "8/11/2026", "9/11/2026")],
)
def test_the_setting_reads_what_is_still_open(
    folder: Path, order: str, first: str, second: str
) -> None:
    set_order(folder, order)
    found = written(folder, first, second)
    assert found.problems == ()
    assert first_days(found) == [DAY] * 5


def test_the_setting_does_not_overrule_a_column_nor_touch_iso(folder: Path) -> None:
    set_order(folder, "day first")
    assert first_days(written(folder, "11/8/2026", "11/13/2026")) == [DAY] * 5
    assert first_days(written(folder, "2026-11-08", "2026-11-09")) == [DAY] * 5


@pytest.mark.parametrize("other", ["11/9/2026", "2026-11-13", "11/11/2026"])
def test_without_either_the_row_is_left_out_and_both_ways_out_are_named(
    folder: Path, other: str
) -> None:
    found = written(folder, "11/8/2026", other)
    told = [p for p in found.problems if p.file == "sits.csv" and p.row == 2]
    assert [p.why for p in told] == ["'11/8/2026' can be read in two ways. The row is left out."]
    assert told[0].how == (
        "Write 2026-08-11 or 2026-11-08, whichever it is, and format the column as text or as "
        "year-month-day, so that the spreadsheet program keeps it; or set date_order in "
        "property.toml."
    )


@pytest.mark.parametrize(
    ("column", "order"),
    [
        (["3/4/2025", "", "13/4/2025"], "day first"),
        (["3/4/2025", "4/13/2025 7:05 PM"], "month first"),
        (["3/4/2025", "13/4/2025", "4/13/2025"], ""),  # they disagree
        (["3/4/2025", "4/4/2025", "2025-13-01", "Nov 13, 2025"], ""),
        (["26-11-08", "26-11-13"], ""),  # the year may be first
        (["11/8/26", "11/13/26"], "month first"),
    ],
)
def test_what_a_column_tells(column: list[str], order: str) -> None:
    assert settled_order(column) == order


def test_an_order_that_a_day_cannot_have_is_not_forced_on_it() -> None:
    assert str(parse_day("13/4/2025", date_order="month first")) == "2025-04-13"
    with pytest.raises(CellError, match="two ways"):
        parse_day("13/4/25", date_order="month first")  # 2025-04-13 or 2013-04-25


def test_every_meaning_of_a_cell() -> None:
    assert [str(m.time) for m in possible_moments("9/12/2026 18:52")] == [
        "2026-09-12 18:52:00",
        "2026-12-09 18:52:00",
    ]
    assert len(possible_moments("9/9/2026 18:52")) == 1
    assert possible_moments("soon") == ()
