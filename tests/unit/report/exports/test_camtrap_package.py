"""What a Camtrap DP package says, row by row. That it is well formed is in tests/reference."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter
from dataclasses import replace
from datetime import date, datetime
from itertools import pairwise

import pytest

from deerlog.errors import Problem, PropertyError
from deerlog.report.exports.camtrap import (
    CamtrapPackage,
    Rounding,
    allowed_path,
    camtrap_package,
    deployment_table,
    media_type,
)
from deerlog.study import PropertyStudy

Rows = list[dict[str, str]]


@pytest.fixture(scope="module")
def package(study: PropertyStudy) -> CamtrapPackage:
    return camtrap_package(study, Rounding())


def rows(package: CamtrapPackage, table: str) -> Rows:
    return list(csv.DictReader(io.StringIO(package.texts[f"{table}.csv"])))


def test_deployments_are_the_stretches_in_which_a_camera_ran(package: CamtrapPackage) -> None:
    table = rows(package, "deployments")
    spans = [
        (r["cameraID"], r["locationName"], r["deploymentStart"], r["deploymentEnd"]) for r in table
    ]
    assert spans == [
        ("Gate", "Gate", "2024-10-01T00:00:00-05:00", "2024-10-20T00:00:00-05:00"),
        ("Gate", "Gate", "2024-10-26T00:00:00-05:00", "2024-11-14T12:00:00-06:00"),
        ("Seep", "Seep", "2024-11-01T00:00:00-05:00", "2024-11-20T12:00:00-06:00"),
        ("Seep", "Oak", "2024-11-20T12:00:00-06:00", "2024-11-30T07:00:00-06:00"),
    ]
    assert [r["baitUse"] for r in table] == ["false", "false", "true", "false"]
    assert [r["deploymentTags"] for r in table[1:]] == [
        "setting:travel", "setting:water", "setting:food",
    ]  # fmt: skip
    assert table[0]["deploymentComments"] == "by the post"
    assert len({r["deploymentID"] for r in table}) == 4
    assert table[0]["locationID"] == table[1]["locationID"] != table[2]["locationID"]


def test_their_length_is_the_camera_days(study: PropertyStudy, package: CamtrapPackage) -> None:
    seconds = sum(
        (datetime.fromisoformat(r["deploymentEnd"]) - datetime.fromisoformat(r["deploymentStart"]))
        .total_seconds()
        for r in rows(package, "deployments")
    )  # fmt: skip
    # The clocks go back once in two of the stretches; a camera-day is a day on the wall.
    assert seconds / 86_400 == pytest.approx(study.effort["camera_day"].sum() + 2 / 24, abs=1e-3)


def test_every_photo_of_a_running_camera_is_there_once(package: CamtrapPackage) -> None:
    media = rows(package, "media")
    assert package.n_outside == 6  # 20 to 25 October, when the Gate was said to be down
    assert len(media) == len(package.tables["media"]) == 33 + 13 + 30 - 6
    assert len({r["mediaID"] for r in media}) == len(media)
    spans = {r["deploymentID"]: r for r in rows(package, "deployments")}
    for r in media:
        span = spans[r["deploymentID"]]
        taken = datetime.fromisoformat(r["timestamp"])
        assert datetime.fromisoformat(span["deploymentStart"]) <= taken
        assert taken <= datetime.fromisoformat(span["deploymentEnd"])
    by_name = {r["fileName"]: r for r in media}
    assert by_name["clip.MOV"]["fileMediatype"] == "video/quicktime"
    assert by_name["clip.MOV"]["timestamp"] == "2024-11-05T06:30:00-06:00"
    assert by_name["x%2E.y.JPG"]["filePath"] == "cards/Gate/x%2E.y.JPG"
    assert by_name["night.JPG"]["timestamp"] == "2024-11-03T01:30:00-05:00"
    assert "happens twice" in by_name["night.JPG"]["mediaComments"]


def test_observations_say_what_the_tags_say(package: CamtrapPackage) -> None:
    seen: dict[str, Rows] = {}
    for r in rows(package, "observations"):
        seen.setdefault(r["eventStart"][:16], []).append(r)

    def told(time: str) -> list[tuple[str, ...]]:
        columns = ("observationType", "individualID", "sex", "lifeStage", "observationComments")
        return [tuple(r[c] for c in columns) for r in seen[time]]

    assert told("2024-10-02T17:02") == [("animal", "Old Plow", "male", "", "")]
    third = told("2024-10-03T17:03")
    assert [t[:4] for t in third] == [
        ("animal", "Old Plow", "male", ""),
        ("animal", "Splitbrow", "male", ""),
        ("animal", "", "female", ""),
        ("animal", "", "", "juvenile"),
    ]
    assert [r["observationTags"] for r in seen["2024-10-03T17:03"]] == ["", "unsure", "", ""]
    assert told("2024-10-04T17:04") == [
        ("unclassified", "", "", "", "Looked at: no buck known by name.")
    ]
    assert told("2024-10-05T17:05") == [("blank", "", "", "", "empty")]
    assert told("2024-10-06T17:06") == [
        ("human", "", "", "", "Person"),
        ("unclassified", "", "", "", "heron"),
    ]
    untagged = told("2024-10-07T17:07")
    assert untagged == [("unclassified", "", "", "", "")]
    assert not any(time.startswith("2024-10-22") for time in seen)  # its camera was down
    methods = Counter(r["classificationMethod"] for r in rows(package, "observations"))
    assert methods == {"human": 10, "": 64}


def test_no_cell_is_a_formula(study: PropertyStudy) -> None:
    log = study.field_log
    named = replace(log, sightings=log.sightings.assign(buck="=cmd|x"))
    table = rows(camtrap_package(replace(study, field_log=named), Rounding()), "observations")
    assert {r["individualID"] for r in table} == {"", "'=cmd|x"}
    assert rows(camtrap_package(study, Rounding()), "deployments")[0]["longitude"][0] == "-"


def test_identifiers_and_bytes_stay_the_same(study: PropertyStudy, package: CamtrapPackage) -> None:
    again = camtrap_package(replace(study), Rounding())
    assert again.texts == package.texts
    everything = "".join(package.texts.values())
    ids = [r["observationID"] for r in rows(package, "observations")]
    assert len(set(ids)) == len(ids)
    assert everything.count("Old Plow") == 2  # a name stands where it is meant to, in no identifier


def test_rounding_hides_the_place_everywhere(study: PropertyStudy) -> None:
    package = camtrap_package(study, Rounding(2))
    table = rows(package, "deployments")
    assert {(r["latitude"], r["longitude"]) for r in table} == {("44.0", "-91.0")}
    # Half the diagonal of a cell of 0.01 degrees at 44 N: 556.6 m and 400.4 m.
    assert {r["coordinateUncertainty"] for r in table} == {"686"}
    descriptor = json.loads(package.texts["datapackage.json"])
    assert descriptor["coordinatePrecision"] == 0.01
    assert descriptor["spatial"]["bbox"] == [-91.0, 44.0, -91.0, 44.0]
    assert "44.001" not in "".join(package.texts.values())


def test_without_rounding_they_are_exact(package: CamtrapPackage) -> None:
    first = rows(package, "deployments")[0]
    assert (first["latitude"], first["longitude"]) == ("44.001234", "-91.001678")
    assert first["coordinateUncertainty"] == ""
    assert "coordinatePrecision" not in json.loads(package.texts["datapackage.json"])


def fault(**more: object) -> Problem:
    usual = {"kind": "clock-light", "file": "clock.csv", "why": "Off.", "how": "Add.",
             "camera": "Gate"}  # fmt: skip
    return Problem(**usual | more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("problem", "marked"),
    [
        (fault(), [True, True, False, False]),
        (fault(first_day=date(2024, 11, 3)), [False, True, False, False]),
        (fault(last_day=date(2024, 10, 19)), [True, False, False, False]),
        (fault(camera="Seep", first_day=date(2024, 11, 25)), [False, False, False, True]),
        (fault(must_mend=False), [False] * 4),
        (fault(kind="truncated-photos"), [False] * 4),
    ],
)
def test_a_clock_that_is_wrong_marks_what_it_touches(
    study: PropertyStudy, problem: Problem, marked: list[bool]
) -> None:
    faulty = replace(study)
    faulty.__dict__["clock_faults"] = (problem,)
    none = study.field_log.photos.iloc[:0].assign(deployment=0)
    table = deployment_table(faulty, none, Rounding())
    assert (table["timestampIssues"] == "true").tolist() == marked
    assert table["deploymentComments"].str.endswith("Off.").tolist() == marked


def test_nothing_to_export_is_said(study: PropertyStudy) -> None:
    log = replace(study.field_log, stretches=study.field_log.stretches.iloc[:0])
    with pytest.raises(PropertyError, match="nothing to export"):
        camtrap_package(replace(study, field_log=log), Rounding())


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("cards/a/b.JPG", "cards/a/b.JPG"),
        ("cards/a..b/c...JPG", "cards/a%2E.b/c%2E%2E.JPG"),
        ("cards/a\nb.JPG", "cards/a%0Ab.JPG"),
    ],
)
def test_a_path_the_standard_forbids_is_encoded(path: str, expected: str) -> None:
    assert allowed_path(path) == expected


def test_media_types() -> None:
    assert media_type("a/b.JPG", "photo") == "image/jpeg"
    assert media_type("a/b", "log") == "image/jpeg"
    assert media_type("a/b.png", "log") == "image/png"
    assert media_type("a/b.AVI", "video") == "video/x-msvideo"
    assert media_type("a/b", "video") == "video/mp4"


def test_stretches_of_a_placement_do_not_overlap(package: CamtrapPackage) -> None:
    by_camera: dict[str, list[tuple[datetime, datetime]]] = {}
    for r in rows(package, "deployments"):
        span = (datetime.fromisoformat(r["deploymentStart"]),
                datetime.fromisoformat(r["deploymentEnd"]))  # fmt: skip
        by_camera.setdefault(r["cameraID"], []).append(span)
    for spans in by_camera.values():
        assert all(before[1] <= after[0] for before, after in pairwise(sorted(spans)))
