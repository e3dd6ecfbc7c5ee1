"""Names in the sheets: what is none, what is a slip, and what bucks.csv does not list."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from deerlog.errors import Problem

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]
PlaceAt = Callable[[Path], "Place"]


@pytest.fixture(scope="module")
def ingested(place_at: PlaceAt, at: At, tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = place_at(tmp_path_factory.mktemp("names") / "alder")
    place.photos("Seep", at(10, 5), 9, every=timedelta(hours=1))
    place.ingest()
    return place.folder


@pytest.fixture
def nine(ingested: Path, place_at: PlaceAt, tmp_path: Path) -> Place:
    """Nine visits that nobody has tagged."""
    return place_at(shutil.copytree(ingested, tmp_path / "alder"))


def tag(place: Place, *names: str) -> list[Problem]:
    """Tag the first visits; what ``check`` says of the names."""
    for number, name in enumerate(names, start=1):
        place.tag("Seep", f"IMG_000{number}.JPG", f'"{name}"')
    return [p for p in place.log().problems if p.kind.startswith(("tag-", "name"))]


def test_one_item_for_all_names_that_are_not_listed(nine: Place) -> None:
    (problem,) = tag(nine, "Newcomer", "Hook", "Plow", "Hook", "Splitbrow; Hook?", "Wide 12")
    assert problem.kind == "names-not-listed" and not problem.must_mend and problem.harm == 5
    assert problem.why.startswith(
        "3 names are not in bucks.csv, most used first: Hook (tags/Seep.csv rows 3, 5 and 6); "
        "Newcomer (tags/Seep.csv row 2); Wide 12 (tags/Seep.csv row 7). "
    )
    assert "bucks.csv" in problem.how and "write -" in problem.how


def test_words_that_are_no_names_are_told_with_what_to_write(nine: Place) -> None:
    found = {p.value: p for p in tag(nine, "none", "same", "Plow; doe", "none", "nix", "me")}
    assert (found["none"].row, found["none"].harm) == (2, 2.0) and found["none"].must_mend
    assert "rows 2 and 5" in found["none"].why and found["none"].how.startswith("Write -")
    assert found["same"].how.startswith("Write the name again")
    assert found["doe"].how.startswith("Write - in bucks, and this in others.")
    log = nine.log()
    assert sorted(log.sightings["buck"]) == ["Old Plow", "nix"]
    assert log.visits["tagged"].tolist() == [False, False, True, False, True, *[False] * 4]
    settings = nine.folder / "property.toml"
    settings.write_text(settings.read_text("utf-8") + 'no_names = ["nix"]\n', encoding="utf-8")
    assert nine.log().sightings["buck"].tolist() == ["Old Plow"]


def test_dragged_numbers_remarks_and_two_spellings(nine: Place) -> None:
    texts = ("Big 8", "Big 9", "Big 10", "Splitbrow (maybe)", "Crab Claw", "crabclaw", "Crab Claw")
    found = {p.kind: p for p in tag(nine, *texts)}
    assert "Write Big 8" in found["tag-no-name"].how
    assert found["tag-remark"].how.startswith("Write Splitbrow, or Splitbrow? if")
    alike = found["names-alike"]
    assert (alike.value, alike.row) == ("crabclaw", 7) and alike.how.startswith("Write Crab Claw")
    assert "Splitbrow (maybe)" not in found["names-not-listed"].why


@pytest.mark.parametrize("text", ["Plow|Splitbrow", "Plow Splitbrow", "Plow\nSplitbrow"])
def test_names_that_are_parted_by_something_else(nine: Place, text: str) -> None:
    path = nine.folder / "tags/Seep.csv"
    with path.open("a", encoding="utf-8", newline="") as file:
        file.write(f'IMG_0001.JPG,,1,"{text}",,\n')
    (problem,) = tag(nine)
    assert problem.kind == "tag-separator" and problem.how == "Write Plow; Splitbrow."
    assert problem.must_mend


def test_notes_in_the_column_of_names_are_said_to_be_no_bucks(nine: Place) -> None:
    words = "; ".join(f"w{number}x" for number in range(1_000))
    (too_many,) = [p for p in tag(nine, words, "Hook", "Hook") if p.kind == "names-too-many"]
    assert too_many.why.startswith("1,001 different names") and too_many.must_mend
    assert nine.log().sightings["buck"].nunique() == 200
