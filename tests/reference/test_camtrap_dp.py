"""An exported package against the standard's own schemas (Camtrap DP 1.0.2, tdwg/camtrap-dp)."""

from __future__ import annotations

import csv
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("frictionless", reason="frictionless, which validates, is not installed")

from invented.camtrap_check import SHIPPED, package_faults, profile_faults
from invented.small_property import make_small_property

from deerlog.report.exports.camtrap import TABLES, Rounding, camtrap_package
from deerlog.report.exports.write_files import write_files
from deerlog.study import open_study

ORIGINALS = Path(__file__).parents[3] / "shared" / "data" / "camtrap-dp" / "schemas"


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A package of the small property, one stretch of a camera being out of order."""
    folder = tmp_path_factory.mktemp("camtrap")
    outages = "camera,from,to,status\nc2,2024-10-01,2024-10-09,down\n"
    place = make_small_property(folder / "property", {"outages.csv": outages})
    package = camtrap_package(open_study(place), Rounding(3))
    write_files(folder / "package", package.texts)
    return folder / "package"


def test_the_package_validates(exported: Path) -> None:
    assert package_faults(exported) == []


def test_the_package_validates_against_the_originals(exported: Path) -> None:
    if not ORIGINALS.is_dir():
        pytest.skip(f"the original schemas are not at hand ({ORIGINALS})")
    assert package_faults(exported, ORIGINALS) == []


def test_shipped_schemas_demand_what_the_originals_demand() -> None:
    if not ORIGINALS.is_dir():
        pytest.skip(f"the original schemas are not at hand ({ORIGINALS})")
    for name in TABLES:
        file = f"{name}-table-schema.json"
        ours, theirs = (
            json.loads((folder / file).read_text(encoding="utf-8"))
            for folder in (SHIPPED, ORIGINALS)
        )
        for schema in (ours, theirs):
            for field in schema["fields"]:
                for text in ("description", "example", "skos:exactMatch", "skos:broadMatch",
                             "skos:narrowMatch"):  # fmt: skip
                    field.pop(text, None)
        assert ours["fields"] == theirs["fields"]
        for key in ("primaryKey", "foreignKeys", "missingValues"):
            assert ours.get(key) == theirs.get(key)


def test_our_columns_are_the_standards() -> None:
    for name, columns in TABLES.items():
        schema = json.loads((SHIPPED / f"{name}-table-schema.json").read_text(encoding="utf-8"))
        assert columns == tuple(field["name"] for field in schema["fields"])


@pytest.mark.parametrize(
    ("table", "column", "value"),
    [
        ("media", "timestamp", "2024-10-05 17:04"),
        ("media", "timestamp", "2024-13-05T17:04:12-05:00"),
        ("media", "timestamp", "2024-10-05T17:04:12"),
        ("observations", "eventStart", "2024-10-05T17:04:12"),
        ("deployments", "deploymentEnd", ""),
        ("media", "deploymentID", "d-0000000000000000"),
        ("observations", "deploymentID", "d-0000000000000000"),
        ("observations", "sex", "buck"),
        ("observations", "observationType", "deer"),
        ("observations", "count", "0"),
        ("deployments", "latitude", "95"),
        ("deployments", "latitude", ""),
        ("media", "filePath", "../secret.jpg"),
        ("media", "mediaID", "twice"),
    ],
)
def test_a_wrong_cell_does_not_validate(
    exported: Path, tmp_path: Path, table: str, column: str, value: str
) -> None:
    wrong = tmp_path / "wrong"
    shutil.copytree(exported, wrong)
    path = wrong / f"{table}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows[:2]:
        assert row[column] != value
        row[column] = value
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, TABLES[table], lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    faults = package_faults(wrong)
    assert faults and any(column in fault for fault in faults), faults[:3]


def _without(key: str) -> Callable[[dict[str, Any]], None]:
    return lambda descriptor: descriptor.pop(key)


def _old_schema(descriptor: dict[str, Any]) -> None:
    descriptor["resources"][0]["schema"] = descriptor["resources"][0]["schema"].replace(
        "1.0.2", "1"
    )


def _made_up_design(descriptor: dict[str, Any]) -> None:
    descriptor["project"]["samplingDesign"] = "by feel"


@pytest.mark.parametrize(
    "spoil", [*map(_without, ("created", "spatial", "taxonomic")), _old_schema, _made_up_design]
)
def test_a_wrong_descriptor_does_not_validate(
    exported: Path, spoil: Callable[[dict[str, Any]], None]
) -> None:
    descriptor = json.loads((exported / "datapackage.json").read_text(encoding="utf-8"))
    assert profile_faults(descriptor) == []
    spoil(descriptor)
    assert profile_faults(descriptor)
