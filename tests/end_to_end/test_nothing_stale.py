"""A report always speaks of the files as they are: each input changed in turn changes the report.

Each test changes one file the way a person would, ingests where that is what a person does after
such a change, and looks at the place in the report where that file shows.
"""

from __future__ import annotations

import csv
import re
import shutil
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from end_to_end.conftest import run
from invented.card_photos import photo, put
from invented.small_property import LAST_DAY, make_small_property

CLOCK = "camera,shown,actual,from,to\n"
OUTAGES = "camera,from,to,status\n"
WEATHER_DAYS = 60


def weather(days: int) -> str:
    """Weather from 20 August on, a row every six hours."""
    times = (datetime(2025, 8, 20) + timedelta(hours=6 * n) for n in range(days * 4))  # noqa: DTZ001
    rows = [f"{time:%Y-%m-%d %H:%M},{8 + n % 9},3,N,{1010 + n % 7}" for n, time in enumerate(times)]
    return "\n".join(["time,temperature_c,wind_ms,wind_from,pressure_hpa", *rows]) + "\n"


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The property with every input file, reported on. Tests change a copy."""
    tables = {
        "clock.csv": CLOCK,
        "outages.csv": OUTAGES,
        "weather.csv": weather(WEATHER_DAYS),
    }
    folder = make_small_property(tmp_path_factory.mktemp("stale") / "before", tables)
    assert run("--property", folder, "report").exit_code == 0
    return folder


@pytest.fixture
def after(before: Path, tmp_path: Path) -> Path:
    """A copy to change, its earlier report and its photo log with it."""
    return shutil.copytree(before, tmp_path / "after")


def report(folder: Path, *, ingest: bool = False, day: date = LAST_DAY) -> Path:
    """Report again; gives the folder of that day's report."""
    if ingest:
        assert run("--property", folder, "ingest").exit_code in (0, 1)
    assert run("--property", folder, "report").exit_code in (0, 1)
    return folder / "reports" / day.isoformat()


def told(folder: Path, day: date = LAST_DAY) -> Path:
    """The report that is there."""
    return folder / "reports" / day.isoformat()


def page(reported: Path) -> str:
    return (reported / "report.html").read_text(encoding="utf-8")


def table(reported: Path, name: str, **wanted: str) -> list[dict[str, str]]:
    """Rows of a table beside the page that hold these cells."""
    with (reported / name).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return [row for row in rows if wanted.items() <= row.items()]


def figure(reported: Path, name: str, column: str, **wanted: str) -> float:
    """Sum of a column over rows of a table."""
    return sum(float(row[column]) for row in table(reported, name, **wanted))


def visits(reported: Path, buck: str) -> float:
    return figure(reported, "residency.csv", "visits", buck=buck, season="all")


def edit(path: Path, change: Callable[[str], str]) -> None:
    """Change a text file; it must really change."""
    text = path.read_text(encoding="utf-8")
    changed = change(text)
    assert changed != text
    path.write_text(changed, encoding="utf-8", newline="\n")


def test_nothing_changed_gives_the_same_bytes(before: Path, after: Path) -> None:
    first = {p.name: p.read_bytes() for p in told(before).iterdir()}
    again = {p.name: p.read_bytes() for p in report(after).iterdir()}
    ingested = {p.name: p.read_bytes() for p in report(after, ingest=True).iterdir()}
    assert "report.html" in first and len(first) > 5
    assert again == first
    assert ingested == first


def test_property_toml(before: Path, after: Path) -> None:
    # Shooting light until two hours after sunset: evening visits come into it.
    edit(after / "property.toml", lambda text: "light_after_sunset_minutes = 120\n" + text)
    lit = "residency.csv", "shooting_light_visits"
    now = report(after)
    assert figure(now, *lit, buck="Lantern") > figure(told(before), *lit, buck="Lantern") > 0
    assert visits(now, "Lantern") == visits(told(before), "Lantern")


def test_cameras_csv(before: Path, after: Path) -> None:
    edit(
        after / "cameras.csv",
        lambda text: text.replace("-91.205,2024-08-01,", "-91.205,2024-08-01,2025-09-01"),
    )
    now = report(after)
    late = [row for row in table(now, "effort.csv", site="Beans") if row["day"] > "2025-09-01"]
    were = table(told(before), "effort.csv", site="Beans")
    assert late == [] and were[-1]["day"] == LAST_DAY.isoformat()
    assert visits(now, "Lantern") < visits(told(before), "Lantern"), "no site, no visit"


def test_bucks_csv(before: Path, after: Path) -> None:
    edit(after / "bucks.csv", lambda text: text.replace("Passer,yes,,,", "Passer,yes,,Summers,"))
    edit(after / "bucks.csv", lambda text: text.replace("Summers,no,,,\n", ""))
    was, now = told(before), report(after)
    assert table(was, "residency.csv", buck="Summers")
    assert not table(now, "residency.csv", buck="Summers")
    assert visits(now, "Passer") == visits(was, "Passer") + visits(was, "Summers")


def test_clock_csv(before: Path, after: Path) -> None:
    # Its clock was five hours slow: mornings were afternoons.
    row = "c1,2024-09-01 12:00,2024-09-01 17:00,,\n"
    edit(after / "clock.csv", lambda text: text + row)
    was, now = told(before), report(after)
    mornings = {"buck": "Passer", "half": "AM"}
    evenings = {"buck": "Passer", "half": "PM"}
    assert figure(was, "daylight.csv", "visits", **mornings) > 0
    assert not table(was, "daylight.csv", **evenings)
    assert not table(now, "daylight.csv", **mornings)
    assert figure(now, "daylight.csv", "visits", **evenings) > 0


def test_outages_csv(before: Path, after: Path) -> None:
    edit(after / "outages.csv", lambda text: text + "c1,2025-03-01,2025-04-01,running\n")
    in_march = [f"2025-03-{n:02d}" for n in range(1, 32)]

    def ran(reported: Path) -> float:
        return sum(
            figure(reported, "effort.csv", "camera_day", camera="c1", day=d) for d in in_march
        )

    assert ran(told(before)) == 0
    assert ran(report(after)) >= 30


def test_stands_csv(before: Path, after: Path) -> None:
    edit(after / "stands.csv", lambda text: text + "Oak Perch,Ridge,,,either,,0,\n")
    assert "Oak Perch" not in page(told(before))
    assert "Oak Perch" in page(report(after))


def test_sits_csv(before: Path, after: Path) -> None:
    edit(after / "sits.csv", lambda text: text.replace("2025-10-19", "2025-10-17"))

    def last_sit(reported: Path) -> str:
        found = re.search(r">Ridge Ladder</th>\s*<td[^>]*>([^<]*)<", page(reported))
        assert found is not None
        return found.group(1)

    assert last_sit(told(before)) == "19 Oct 2025"
    assert last_sit(report(after)) == "17 Oct 2025"


def test_weather_csv(before: Path, after: Path) -> None:
    edit(after / "weather.csv", lambda _: weather(WEATHER_DAYS * 2 // 3))

    def visits_with_weather(reported: Path) -> int:
        found = re.search(r"(\d+) visits? in shooting light on days w", page(reported))
        assert found is not None
        return int(found.group(1))

    assert 0 < visits_with_weather(report(after)) < visits_with_weather(told(before))


def test_a_tag_sheet(before: Path, after: Path) -> None:
    edit(after / "tags" / "c1.csv", lambda text: text.replace(",Lantern,", ",Passer,", 1))
    was, now = told(before), report(after)
    assert visits(now, "Lantern") == visits(was, "Lantern") - 1
    assert visits(now, "Passer") == visits(was, "Passer") + 1


def test_a_list_of_photos(before: Path, after: Path) -> None:
    day = LAST_DAY + timedelta(days=1)
    edit(after / "cards" / "c2" / "log.csv", lambda text: text + f"late.jpg,{day} 13:00:00\n")
    now = report(after, ingest=True, day=day)
    assert table(now, "effort.csv", camera="c2", day=day.isoformat())
    assert not table(told(before), "effort.csv", day=day.isoformat())


def test_a_new_photo_and_its_tag(before: Path, after: Path) -> None:
    day = LAST_DAY + timedelta(days=1)
    taken = datetime.combine(day, datetime.min.time()) + timedelta(hours=18)
    put(after / "cards" / "c1" / "pulled" / "IMG_0001.JPG", photo(taken))
    assert run("--property", after, "ingest").exit_code in (0, 1)
    sheet = after / "tags" / "c1.csv"
    edit(sheet, lambda text: text.replace(f"{taken},1,,", f"{taken},1,Summers,"))
    now = report(after, day=day)
    assert visits(now, "Summers") == visits(told(before), "Summers") + 1


def test_a_workbook(before: Path, after: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl", reason="the package openpyxl is not installed")
    put(after / "cards" / "c1" / "pulled" / "IMG_0001.JPG", photo(datetime(2025, 10, 19, 18)))  # noqa: DTZ001
    assert run("--property", after, "ingest", "--workbook").exit_code in (0, 1)
    (path,) = (after / "tags" / "workbooks").iterdir()
    book = openpyxl.load_workbook(path)
    to_tag = book["To tag"]
    header = [cell.value for cell in to_tag[1]]
    to_tag.cell(2, header.index("bucks") + 1).value = "Summers"
    book.save(path)
    assert visits(report(after), "Summers") == visits(told(before), "Summers") + 1
