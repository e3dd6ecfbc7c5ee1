"""A report always speaks of the files as they are: each input changed in turn changes the report.

Each test changes files the way a person would, ingests where that is what a person does after such
a change, and looks at the places in the report where these files show, each where no other does.
Where that is a table, the page beside it is not drawn (`tables_only`).
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
from invented.small_property import LAST_DAY, TABLES, make_small_property

CLOCK = "camera,shown,actual,from,to\n"
OUTAGES = "camera,from,to,status\n"
WEATHER_DAYS = 60


def weather(days: int) -> str:
    """Weather from 20 August on, a row every six hours."""
    times = (datetime(2025, 8, 20) + timedelta(hours=6 * n) for n in range(days * 4))  # noqa: DTZ001
    rows = [f"{time:%Y-%m-%d %H:%M},{8 + n % 9},3,N,{1010 + n % 7}" for n, time in enumerate(times)]
    return "\n".join(["time,temperature_c,wind_ms,wind_from,pressure_hpa", *rows]) + "\n"


pytestmark = pytest.mark.usefixtures("few_weeks")


@pytest.fixture
def tables_only(monkeypatch: pytest.MonkeyPatch) -> None:
    """The command reports as always, but for the page, which takes nine tenths of its time."""
    monkeypatch.setattr("deerlog.report.report_files.page_of_study", lambda *_, **__: {})
    monkeypatch.setattr("deerlog.report.report_files.render_page", lambda _: "not drawn")


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The property with every input file, reported on. Tests change a copy."""
    tables = {
        "clock.csv": CLOCK,
        "outages.csv": OUTAGES,
        "weather.csv": weather(WEATHER_DAYS),
        # Out since June; its first photo is of August.
        "cameras.csv": TABLES["cameras.csv"].replace("-91.201,2024-08-01", "-91.201,2025-06-01"),
    }
    folder = make_small_property(tmp_path_factory.mktemp("stale") / "before", tables, seasons=1)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("deerlog.study.study.RECENT_WEEKS", 3)
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


@pytest.mark.usefixtures("tables_only")
def test_property_toml(before: Path, after: Path) -> None:
    # Shooting light until sunset alone: the last evenings of August fall out of it.
    edit(after / "property.toml", lambda text: "light_after_sunset_minutes = 0\n" + text)
    lit = "residency.csv", "shooting_light_visits"
    now = report(after)
    assert 0 < figure(now, *lit, buck="Summers") < figure(told(before), *lit, buck="Summers")
    assert visits(now, "Summers") == visits(told(before), "Summers")


@pytest.mark.usefixtures("tables_only")
def test_cameras_csv(before: Path, after: Path) -> None:
    edit(
        after / "cameras.csv",
        lambda text: text.replace("-91.205,2025-08-01,", "-91.205,2025-08-01,2025-09-01"),
    )
    now = report(after)
    late = [row for row in table(now, "effort.csv", site="Beans") if row["day"] > "2025-09-01"]
    were = table(told(before), "effort.csv", site="Beans")
    assert late == [] and were[-1]["day"] == LAST_DAY.isoformat()
    assert visits(now, "Lantern") < visits(told(before), "Lantern"), "no site, no visit"


@pytest.mark.usefixtures("tables_only")
def test_bucks_csv(before: Path, after: Path) -> None:
    edit(
        after / "bucks.csv",
        lambda text: text.replace("Lamp", "Summers").replace("Summers,no,,,\n", ""),
    )
    was, now = told(before), report(after)
    assert table(was, "residency.csv", buck="Summers")
    assert not table(now, "residency.csv", buck="Summers")
    assert visits(now, "Lantern") == visits(was, "Lantern") + visits(was, "Summers")


@pytest.mark.usefixtures("tables_only")
def test_clock_csv(before: Path, after: Path) -> None:
    # Its clock was five hours slow: evenings were nights after midnight.
    row = "c3,2025-08-01 12:00,2025-08-01 17:00,,\n"
    edit(after / "clock.csv", lambda text: text + row)
    was, now = told(before), report(after)
    mornings = {"buck": "Summers", "half": "AM"}
    evenings = {"buck": "Summers", "half": "PM"}
    assert figure(was, "daylight.csv", "visits", **evenings) > 0
    assert not table(was, "daylight.csv", **mornings)
    assert not table(now, "daylight.csv", **evenings)
    assert figure(now, "daylight.csv", "visits", **mornings) > 0


@pytest.mark.usefixtures("tables_only")
def test_outages_csv(before: Path, after: Path) -> None:
    edit(after / "outages.csv", lambda text: text + "c1,2025-06-01,2025-07-01,running\n")
    in_june = [f"2025-06-{n:02d}" for n in range(1, 31)]

    def ran(reported: Path) -> float:
        return sum(
            figure(reported, "effort.csv", "camera_day", camera="c1", day=d) for d in in_june
        )

    assert ran(told(before)) == 0
    assert ran(report(after)) >= 30


def test_stands_sits_and_weather_csv_each_at_its_place_of_the_page(
    before: Path, after: Path
) -> None:
    edit(after / "stands.csv", lambda text: text + "Oak Perch,Ridge,,,either,,0,\n")
    edit(after / "sits.csv", lambda text: text.replace("2025-10-19", "2025-10-17"))
    edit(after / "weather.csv", lambda _: weather(WEATHER_DAYS * 2 // 3))
    was, now = page(told(before)), page(report(after))
    assert "Oak Perch" not in was
    assert "Oak Perch" in now

    def last_sit(page: str) -> str:
        found = re.search(r">Ridge Ladder</th>\s*<td[^>]*>([^<]*)<", page)
        assert found is not None
        return found.group(1)

    assert last_sit(was) == "19 Oct 2025"
    assert last_sit(now) == "17 Oct 2025"

    def visits_with_weather(page: str) -> int:
        found = re.search(r"(\d+) visits? in shooting light on days w", page)
        assert found is not None
        return int(found.group(1))

    assert 0 < visits_with_weather(now) < visits_with_weather(was)


@pytest.mark.usefixtures("tables_only")
def test_a_tag_sheet(before: Path, after: Path) -> None:
    edit(after / "tags" / "c1.csv", lambda text: text.replace(",Lantern,", ",Passer,", 1))
    was, now = told(before), report(after)
    assert visits(now, "Lantern") == visits(was, "Lantern") - 1
    assert visits(now, "Passer") == visits(was, "Passer") + 1


@pytest.mark.usefixtures("tables_only")
def test_a_list_of_photos(before: Path, after: Path) -> None:
    day = LAST_DAY + timedelta(days=1)
    edit(after / "cards" / "c2" / "log.csv", lambda text: text + f"late.jpg,{day} 13:00:00\n")
    now = report(after, ingest=True, day=day)
    assert table(now, "effort.csv", camera="c2", day=day.isoformat())
    assert not table(told(before), "effort.csv", day=day.isoformat())


@pytest.mark.usefixtures("tables_only")
def test_a_new_photo_and_its_tag(before: Path, after: Path) -> None:
    day = LAST_DAY + timedelta(days=1)
    taken = datetime.combine(day, datetime.min.time()) + timedelta(hours=18)
    put(after / "cards" / "c1" / "pulled" / "IMG_0001.JPG", photo(taken))
    assert run("--property", after, "ingest").exit_code in (0, 1)
    sheet = after / "tags" / "c1.csv"
    edit(sheet, lambda text: text.replace(f"{taken},1,,", f"{taken},1,Summers,"))
    now = report(after, day=day)
    assert visits(now, "Summers") == visits(told(before), "Summers") + 1


@pytest.mark.usefixtures("tables_only")
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
