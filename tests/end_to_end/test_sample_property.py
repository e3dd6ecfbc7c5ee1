"""The sample property from card dumps to labels, held against the truth it was drawn from."""

from __future__ import annotations

import json
import shutil
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd
import pytest
from end_to_end.conftest import run, truth

from deerlog.analysis.effort_grid import watched_effort
from deerlog.analysis.residency.residency import residency
from deerlog.study import PropertyStudy, open_study
from deerlog.study.sample import LAST_CARD

if TYPE_CHECKING:
    from conftest import Demo


@pytest.fixture(scope="module")
def labels(sample: Path) -> dict[str, dict[str, Any]]:
    """What ``residency --json`` says of each buck over all seasons."""
    result = run("--property", sample, "residency", "--json")
    assert result.exit_code == 1, "names with a slip and a clock are there to be mended"
    rows = json.loads(result.output)["residency"]
    return {row["buck"]: row for row in rows if row["season"] == "all"}


@pytest.fixture(scope="module")
def study(sample: Path) -> PropertyStudy:
    return open_study(sample)


@pytest.mark.parametrize("expected", truth("labels.csv"), ids=lambda row: row["buck"])
def test_every_buck_has_his_true_label(
    labels: dict[str, dict[str, Any]], expected: dict[str, str]
) -> None:
    found = labels[expected["buck"]]
    assert found["label"] == expected["label"]
    if expected["label"] != "undecided":
        assert found["pattern"] == expected["pattern"]


def test_labels_of_the_truth_are_not_all_alike() -> None:
    # The test above could not fail by a constant answer.
    assert {row["label"] for row in truth("labels.csv")} == {"resident", "visiting", "undecided"}


def test_a_name_with_a_slip_is_nobody_yet(labels: dict[str, dict[str, Any]]) -> None:
    listed = {row["buck"] for row in truth("labels.csv")}
    slips = set(labels) - listed
    assert slips == {"Ladel", "Thimbel", "Pickett"}
    assert {labels[s]["label"] for s in slips} == {"undecided"}


@pytest.fixture(scope="module")
def checked(sample: Path) -> dict[str, list[dict[str, Any]]]:
    """What ``check --json`` says of it."""
    result = run("--property", sample, "check", "--json")
    assert result.exit_code == 1
    found: dict[str, list[dict[str, Any]]] = json.loads(result.output)
    return found


def test_the_dead_camera_is_found_by_name(checked: dict[str, list[dict[str, Any]]]) -> None:
    silent = [p for p in checked["worth_knowing"] if "took no photo of any kind" in p["why"]]
    dead = [w for w in truth("warts.csv") if w["wart"] == "dead camera"]
    assert len(dead) == 1
    assert [w["camera"] for w in dead] == [p["value"] for p in silent]
    assert "2026-09-21 to" in silent[0]["why"]


def test_the_clock_left_on_summer_time_is_found_by_name_and_its_row_mends_it(
    sample: Path,
    checked: dict[str, list[dict[str, Any]]],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    (wrong,) = [w for w in truth("warts.csv") if w["wart"] == "clock one hour ahead"]
    every = checked["to_mend"] + checked["worth_knowing"]
    (problem,) = [p for p in every if p["kind"].startswith("clock-")]
    assert problem == checked["to_mend"][0]
    assert problem["value"] == problem["camera"] == wrong["camera"]
    assert "1 h ahead" in problem["why"] and "the night the clocks changed" in problem["why"]
    assert problem["harm"] > 10 and problem["bucks"]

    def refuse(*args: object) -> None:
        raise AssertionError("a picture was read again")

    monkeypatch.setattr("deerlog.ingest.cards.photo_file.begin_photo_file", refuse)
    folder = tmp_path / "property"
    shutil.copytree(sample, folder, ignore=shutil.ignore_patterns("reports"))
    with (folder / "clock.csv").open("a", encoding="utf-8", newline="") as table:
        table.write(problem["paste"] + "\n")
    assert run("--property", folder, "ingest").exit_code == 1  # the typos are still there
    study = open_study(folder)
    assert [p for p in study.problems if p.kind.startswith("clock-")] == []
    log = study.field_log
    touched = [
        v for v in truth("visits.csv")
        if v["camera"] == wrong["camera"] and v["true_utc"] >= wrong["from"][:10]
    ]  # fmt: skip
    assert len(touched) > 10
    mine = log.photos[log.photos["camera"] == wrong["camera"]].set_index("path")["time"]
    # The truth tells the time of the buck; where others came before him, the photo is of them.
    off = [pd.Timestamp(v["true_utc"], tz="UTC") - mine[v["photo"]] for v in touched]
    assert all(pd.Timedelta(0) <= each < pd.Timedelta(hours=1) for each in off)
    assert sum(each == pd.Timedelta(0) for each in off) >= 0.8 * len(off)


def test_a_report_is_written_and_says_what_is_to_be_mended(sample: Path, demo: Demo) -> None:
    result = run("--property", sample, "report")
    assert result.exit_code == 1, result.output
    folder = sample / "reports" / "2026-11-22"
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert "Nettlepost Farm" in page
    names = {path.name for path in folder.iterdir()}
    assert {"report.html", "residency.csv", "weekly.csv", "daylight.csv", "effort.csv"} <= names
    # The demo has written the same, byte for byte.
    first = {path.name: path.read_bytes() for path in demo.report.iterdir()}
    assert {name: (folder / name).read_bytes() for name in first} == first


def test_an_earlier_day_knows_nothing_of_what_came_after(sample: Path) -> None:
    result = run("--property", sample, "residency", "--as-of", "2025-10-20", "--json")
    rows = json.loads(result.output)["residency"]
    assert max(row["last_seen"] for row in rows if row["last_seen"]) <= "2025-10-20"
    assert "Hinge" not in {row["buck"] for row in rows}  # first seen in October 2026


def test_terminal_json_and_csv_carry_the_same_figures(
    sample: Path, demo: Demo, labels: dict[str, dict[str, Any]]
) -> None:
    table = (demo.report / "residency.csv").read_text(encoding="utf-8")
    lines = [line.split(",") for line in table.splitlines()]
    by_csv = {r[0]: r for r in lines[1:] if r[2] == "all"}
    text = run("--property", sample, "residency").output
    for row in labels.values():
        mine = dict(zip(lines[0], by_csv[row["buck"]], strict=True))
        assert float(mine["score"]) == pytest.approx(row["score"], abs=0.05)
        assert mine["label"] == row["label"]
        assert int(mine["visits"]) == row["visits"]
        line = next(t for t in text.splitlines() if t[2:].startswith(row["buck"] + " "))
        assert f"{row['weeks_seen']}/{row['weeks_watched']}" in line
        assert f"{row['shooting_light_visits']}/{row['visits']}" in line


def test_the_demo_does_not_hang_on_the_day_it_is_run(
    study: PropertyStudy, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a machine whose clock is years behind, the sample's photos are not from the future."""
    photos = study.field_log.photos
    assert photos["local"].max().date() == LAST_CARD

    class Ingested(Exception):
        pass

    days: list[date] = []

    def stop(place: object, *, today: date, **how: object) -> None:
        days.append(today)
        raise Ingested

    monkeypatch.setattr("deerlog.cli.demo_command.today", lambda: date(2023, 5, 1))
    monkeypatch.setattr("deerlog.ingest.run.ingest_cards", stop)
    with pytest.raises(Ingested):
        run("demo", tmp_path / "demo")
    assert days == [LAST_CARD]


def test_a_card_nobody_has_looked_at_says_nothing(study: PropertyStudy) -> None:
    """Scores with the last five weeks untagged, against those with the weeks struck out."""
    since = pd.Timestamp("2026-10-18")
    came = study.field_log.visits
    looked = came["tagged"] & (came["first"].dt.tz_localize(None) < since)
    visits = study.visits[study.visits["visit"].isin(came.loc[looked, "visit"])]

    def scores(effort: pd.DataFrame) -> pd.Series:
        table = residency(visits, effort, study.calendar, as_of=study.last_day).table
        return table[table["season"] == "all"].set_index("buck")["score"]

    struck_out = scores(study.effort[study.effort["day"] < since])
    untagged = scores(watched_effort(study.effort, came.assign(tagged=looked)))
    as_if_looked_at = scores(study.effort)
    assert (untagged - struck_out).abs().max() < 3
    assert (as_if_looked_at - struck_out).abs().max() > 30
