"""Each problem says how many visits it touches and whose, and the worst is told first."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import pytest
from click.testing import CliRunner
from invented.card_photos import photo

from deerlog.cli import main
from deerlog.errors import Problem
from deerlog.study import open_study

if TYPE_CHECKING:
    from conftest import Place

At = Callable[..., datetime]


@pytest.fixture
def troubled(place: Place, at: At) -> Place:
    """A card of a camera not in the table, one from before 2005, a copied card and a typo."""
    place.photos("Gate/DCIM", at(10, 5, 6), 6, every=timedelta(minutes=20))
    place.photos("Seep/DCIM", at(10, 6, 6), 2, every=timedelta(hours=5), seed=20)
    for name in ("IMG_0001.JPG", "IMG_0002.JPG"):
        content = (place.folder / "cards/Gate/DCIM" / name).read_bytes()
        place.card(f"Seep/copied/{name}", content)
    # Six photos in three visits each.
    factory = datetime(2001, 1, 1)  # noqa: DTZ001
    for folder, first, seed in (("Zed", at(10, 5, 6), 100), ("Seep/reset", factory, 200)):
        for i in range(6):
            time = first + timedelta(hours=5 * (i // 2), seconds=30 * (i % 2))
            place.card(f"{folder}/IMG_{i + 1:04d}.JPG", photo(time, seed=seed + i))
    place.ingest()
    place.tag("Gate", "DCIM/IMG_0001.JPG", "Old Plow;Splitbrow")
    place.tag("Seep", "DCIM/IMG_0001.JPG", "Splitbrov")
    sheet = place.sheet("Seep")
    place.write("tags/Seep.csv", f"{sheet}reset/IMG_0003.JPG,,1,Plow,,\nlost.jpg,,1,Splitbrow,,\n")
    place.write("tags/Zed.csv", "photo,bucks\nIMG_0001.JPG,Old Plow\nIMG_0006.JPG,Nobody Yet?\n")
    return place


def test_what_each_problem_touches(troubled: Place) -> None:
    problems = {p.kind: p for p in open_study(troubled.folder).problems}

    def touches(kind: str) -> tuple[float, tuple[str, ...]]:
        return problems[kind].harm, problems[kind].bucks

    # Photos that belong to no visit count as the visits they would make.
    assert touches("unknown-camera") == (3.0, ("Nobody Yet", "Old Plow"))
    assert touches("impossible-time") == (3.0, ("Old Plow",))
    assert touches("same-picture-two-cameras") == (1.0, ("Old Plow", "Splitbrow"))
    assert touches("tag-photo-unknown") == (1.0, ("Splitbrow",))
    assert touches("tag-typo") == (1.0, ("Splitbrow",))


def test_the_most_harmful_comes_first_and_json_says_the_same(troubled: Place) -> None:
    def asked(*more: str) -> str:
        answer = CliRunner().invoke(main, ["--property", str(troubled.folder), "check", *more])
        assert answer.exit_code == 1
        return answer.output

    listed = json.loads(asked("--json"))
    for group in ("to_mend", "worth_knowing"):
        harms = [p["harm"] for p in listed[group]]
        assert harms == sorted(harms, reverse=True)
        assert all(p["must_mend"] == (group == "to_mend") for p in listed[group])
    assert {p["kind"] for p in listed["to_mend"][:2]} == {"unknown-camera", "impossible-time"}
    for problem in listed["to_mend"]:
        assert problem["file"] and problem["why"] and problem["how"]
    text = asked()
    assert text.index("cards/Zed") < text.index("Splitbrov")
    assert "Touches 3 visits; Nobody Yet, Old Plow." in text
    assert "Touches 1 visit; Splitbrow." in text


def test_a_card_problem_of_no_photo_touches_nothing(place: Place) -> None:
    place.card("Seep/zero.jpg", b"")
    place.ingest()
    problems: list[Problem] = place.log().problems
    assert [(p.kind, p.harm, p.camera) for p in problems] == [("card-brought-nothing", 0.0, "Seep")]
