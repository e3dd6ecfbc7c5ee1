"""``deerlog plan`` from the command line."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from click.testing import CliRunner, Result
from icalendar import Calendar
from invented.small_property import make_small_property

from deerlog.cli import main
from deerlog.report.tables import TABLE_COLUMNS

pytestmark = pytest.mark.usefixtures("few_weeks")

ZONE = ZoneInfo("America/Chicago")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_small_property(tmp_path_factory.mktemp("plan") / "small")


def run(folder: Path, *words: str) -> Result:
    result = CliRunner().invoke(main, ["--property", str(folder), "plan", *words])
    assert result.exception is None or isinstance(result.exception, SystemExit)
    return result


def rows_of(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))


def test_it_ranks_writes_and_goes(folder: Path) -> None:
    result = run(folder)
    assert result.exit_code == 0
    assert "Hollow Fork, 21 to 27 October 2025" in result.output
    written = folder / "reports" / "2025-10-20"
    assert {p.name for p in written.iterdir()} == {"plan.csv", "plan.ics"}
    rows = rows_of(written / "plan.csv")
    assert tuple(rows[0]) == TABLE_COLUMNS["plan.csv"]
    assert rows[0]["advice"] == "sit" and rows[0]["why"]
    events = Calendar.from_ical((written / "plan.ics").read_bytes()).walk("VEVENT")
    sits = [r for r in rows if r["advice"] == "sit"]
    assert len(events) == len(sits) > 0
    first = {(r["day"], r["half"]) for r in sits}
    assert {
        (str(e.decoded("DTSTART").astimezone(ZONE).date()), e["SUMMARY"].split(", ")[1].split()[0])
        for e in events
    } == {(day, {"AM": "morning", "PM": "evening"}[half]) for day, half in first}


def test_the_same_command_writes_the_same_bytes_and_keeps_what_is_there(folder: Path) -> None:
    run(folder, "--from", "2025-10-10")
    written = folder / "reports" / "2025-10-09"
    before = {p.name: p.read_bytes() for p in written.iterdir()}
    (written / "report.html").write_text("a report", encoding="utf-8")
    (written / "mine.txt").write_text("a note", encoding="utf-8")
    run(folder, "--from", "2025-10-10")
    after = {p.name: p.read_bytes() for p in written.iterdir()}
    assert after == before | {"report.html": b"a report", "mine.txt": b"a note"}


def test_all_sites(folder: Path) -> None:
    result = run(folder, "--from", "2024-11-05", "--all")
    assert result.exit_code == 0
    rows = rows_of(folder / "reports" / "2024-11-04" / "plan.csv")
    # Seven days, two halves, three sites, one target known by then; Creek has no stand.
    assert len(rows) == 7 * 2 * 3
    assert {r["stand"] for r in rows if r["site"] == "Creek"} == {""}
    assert {r["stand"] for r in rows if r["site"] == "Ridge"} == {"Ridge Ladder"}
    *text, last = result.output.splitlines()
    assert max(map(len, text)) <= 80 and last.startswith("plan.csv and plan.ics are in")


def test_a_part_of_the_plan_is_printed_and_not_written(folder: Path) -> None:
    run(folder)
    written = folder / "reports" / "2025-10-20"
    before = {p.name: p.read_bytes() for p in written.iterdir()}
    for words in (("--stand", "bean blind"), ("--buck", "Lamp"), ("--days", "3")):
        result = run(folder, *words)
        assert result.exit_code == 0, words
        assert "Bean Blind" in result.output, words
        assert "Only printed, since it is a part of the plan" in result.output, words
        assert {p.name: p.read_bytes() for p in written.iterdir()} == before, words
    assert json.loads(run(folder, "--json", *words).output)["folder"] is None


def test_more_days_are_the_whole_plan_and_more(folder: Path) -> None:
    run(folder, "--from", "2024-10-20", "--days", "10")
    rows = rows_of(folder / "reports" / "2024-10-19" / "plan.csv")
    assert len({r["day"] for r in rows}) == 10


def test_what_is_to_mend_is_told_and_a_stand_left_out_is_named(tmp_path: Path) -> None:
    stands = "stand,sites,winds\nRidge Ladder,Ridge,northish\nBean Blind,Beans,\n"
    lame = make_small_property(tmp_path / "lame", {"stands.csv": stands, "sits.csv": None})
    said = " ".join(run(lame).output.split())
    assert "1 to mend, which may change this: `deerlog check` lists them." in said
    assert "Ridge Ladder: the row of this stand is left out until it is mended" in said


def test_json(folder: Path) -> None:
    data = json.loads(run(folder, "--json", "--buck", "lantern").output)
    assert data["as_of"] == "2025-10-20" and data["bucks"] == ["Lantern"]
    assert set(TABLE_COLUMNS["plan.csv"]) == set(data["plan"][0])
    assert data["not_considered"][0]["what"].startswith("Wind")


def test_a_forecast_file(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "week.csv"
    path.write_text(
        "time,wind_from,wind_mph\n"
        + "".join(f"2025-10-{d},S,8\n" for d in range(21, 27))
        + "2025-10-27,upward,8\n",
        encoding="utf-8",
    )
    result = run(folder, "--weather", str(path))
    rows = rows_of(folder / "reports" / "2025-10-20" / "plan.csv")
    ladder = [r for r in rows if r["stand"] == "Ridge Ladder" and r["day"] < "2025-10-27"]
    assert len(ladder) == 12 and {r["advice"] for r in ladder} == {"stay out"}
    assert all("wind from the S, hunt it on N or NW wind" in r["why"] for r in ladder)
    # What could not be read of it is told, and counts as something to mend; `check` knows nothing
    # of this file.
    assert "upward" in result.output and "deerlog check" not in result.output
    assert result.exit_code == 1
    told = run(folder, "--json", "--weather", str(path))
    assert told.exit_code == 1 and json.loads(told.output)["to_mend"] == 1
    path.write_text(path.read_text(encoding="utf-8").replace("upward", "S"), encoding="utf-8")
    assert run(folder, "--weather", str(path)).exit_code == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--from", "10/21/2025"), "YYYY-MM-DD"),
        (("--days", "0"), "1<=x<=60"),
        (("--buck", "Nobody"), "there is no buck Nobody"),
        (("--stand", "Nowhere"), "stands.csv: there is no stand Nowhere"),
        (("--weather", "no-such-file.csv"), "no-such-file.csv"),
    ],
)
def test_wrong_words_are_one_paragraph_and_exit_two(
    folder: Path, words: tuple[str, ...], said: str
) -> None:
    result = run(folder, *words)
    assert result.exit_code == 2
    assert said in " ".join(result.output.split())
    assert "Traceback" not in result.output


def test_the_calendar_names_places_only_when_asked(folder: Path) -> None:
    written = folder / "reports" / "2025-10-20" / "plan.ics"
    run(folder)
    assert "GEO" not in written.read_text(encoding="utf-8")
    assert "LOCATION:Ridge Ladder" in written.read_text(encoding="utf-8")
    run(folder, "--places")
    assert "GEO:40.101200;-91.201100" in written.read_text(encoding="utf-8")


def test_who_has_a_sit_is_not_told_to_wait(tmp_path: Path) -> None:
    """The season's line of a buck names the sit, whatever his ways say."""
    from deerlog.report.words.season_words import season_lines
    from deerlog.study import open_study

    study = open_study(make_small_property(tmp_path / "farm", seasons=1))
    (plain, *_), (sat, *_) = season_lines(study), season_lines(study, {study.wanted[0]})
    assert sat.startswith(f"{study.wanted[0]}: The sit above is for him.")
    assert "sit above" not in plain
