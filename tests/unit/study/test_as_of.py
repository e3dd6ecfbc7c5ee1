"""A report as of a day is that of a property on which nothing later was ever written down."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from pathlib import Path

import pytest
from invented.small_property import TABLES, make_small_property

from deerlog.errors import PropertyError
from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property
from deerlog.report.report_files import write_study_report
from deerlog.study import open_study

CUT = date(2025, 9, 30)
CAMERAS = TABLES["cameras.csv"].replace("c2,Beans,food,40.104,-91.205,2024-08-01,", "{c2}")
WHOLE = {
    "cameras.csv": CAMERAS.format(c2="c2,Beans,food,40.104,-91.205,2024-08-01,2025-10-12")
    + "c4,Ridge Top,bed,40.102,-91.203,2025-10-05,\n",
    "bucks.csv": TABLES["bucks.csv"] + "Newcomer,yes,,,first seen in October\n",
    "clock.csv": "camera,shown,actual,from,to\nc1,2025-10-08 12:00,2025-10-08 13:00,2025-10-01,\n",
    "outages.csv": "camera,from,to,status\nc2,2025-10-02,2025-10-04,down\n",
    "weather.csv": "time,temperature_f\n2025-09-29 12:00,61\n2025-10-09 12:00,33\n",
}
KNOWN = WHOLE | {
    "cameras.csv": CAMERAS.format(c2="c2,Beans,food,40.104,-91.205,2024-08-01,"),
    "bucks.csv": TABLES["bucks.csv"],
    "clock.csv": "camera,shown,actual,from,to\n",
    "outages.csv": "camera,from,to,status\n",
    "weather.csv": "time,temperature_f\n2025-09-29 12:00,61\n",
    "sits.csv": "".join(TABLES["sits.csv"].splitlines(keepends=True)[:2]),
}
LATER = (
    ("2025-10-09 17:00:00", "Newcomer"),
    ("2025-10-10 17:00:00", "Lantern; Newcomer"),
    ("2025-10-11 17:10:00", "Lanternn"),
    ("2025-10-12 17:20:00", "10-Aug"),
    # A clock that was set back by ten days at a battery change, which its own numbering shows.
    *((f"2025-10-{4 + day:02d} 13:30:00", "-") for day in range(8)),
)
"""Photos of c1 of which the cut property knows nothing: a new buck, typing slips, a clock fault."""


def rows_of(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def rewrite(path: Path, rows: list[list[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as out:
        csv.writer(out, lineterminator="\n").writerows(rows)


def add_later(folder: Path) -> None:
    log, sheet = folder / "cards" / "c1" / "log.csv", folder / "tags" / "c1.csv"
    files = [(f"c1_{90000 + n}.jpg", taken, bucks) for n, (taken, bucks) in enumerate(LATER)]
    rewrite(log, rows_of(log) + [[file, taken] for file, taken, _ in files])
    rewrite(sheet, rows_of(sheet) + [[f, taken, "1", bucks, "", ""] for f, taken, bucks in files])


def cut(folder: Path) -> None:
    last = f"{CUT} 23:59:59"
    for path in (*folder.glob("cards/*/log.csv"), *folder.glob("tags/*.csv")):
        head, *rows = rows_of(path)
        rewrite(path, [head, *(row for row in rows if row[1] <= last)])


def report_of(folder: Path) -> dict[str, bytes]:
    written = write_study_report(open_study(folder, as_of=CUT))
    return {path.name: path.read_bytes() for path in sorted(written.iterdir())}


def ingested(folder: Path, day: date) -> Path:
    (folder / "deerlog.sqlite").unlink()
    ingest_cards(open_property(folder), today=day)
    return folder


def test_nothing_later_is_known(tmp_path: Path) -> None:
    whole = make_small_property(tmp_path / "whole" / "farm", WHOLE)
    add_later(whole)
    known = make_small_property(tmp_path / "known" / "farm", KNOWN)
    cut(known)
    ingested(whole, date(2025, 10, 22))
    ingested(known, CUT + timedelta(days=1))

    late = report_of(whole)
    assert {"report.html", "residency.csv", "plan.csv"} & late.keys() >= {"report.html"}
    for name, held in report_of(known).items():
        assert late[name] == held, name
    # What was cut off is there to be told of: as of the last day the whole property tells it.
    today = open_study(whole)
    assert "Newcomer" in set(today.visits["buck"])
    assert any("Lanternn" in problem.value for problem in today.problems)
    assert "Newcomer" not in late["report.html"].decode()
    assert "Lanternn" not in late["report.html"].decode()
    assert "Ridge Top" not in late["report.html"].decode()


def test_a_day_after_all_that_is_known_cuts_nothing(tmp_path: Path) -> None:
    whole = make_small_property(tmp_path / "farm", WHOLE)
    log = open_study(whole, as_of=date(2025, 12, 1)).field_log
    today = open_study(whole).field_log
    assert log.photos.equals(today.photos) and log.effort.equals(today.effort)
    assert [p.why for p in log.problems] == [p.why for p in today.problems]


def test_a_day_by_which_nothing_was_recorded_writes_no_report(tmp_path: Path) -> None:
    farm = make_small_property(tmp_path / "farm", seasons=1)
    with pytest.raises(PropertyError, match="nothing is recorded yet"):
        write_study_report(open_study(farm, as_of=date(2025, 6, 1)))
    assert not (farm / "reports").exists()
