"""The page: what a person typed stays text, the same numbers give the same bytes, and every part
that was not made says so."""

from __future__ import annotations

import hashlib
import os
import pickle
import re
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from invented.invented_page import HOSTILE_NAME

from deerlog.errors import Problem
from deerlog.report.page.contents import to_share
from deerlog.report.page.page import render_page
from deerlog.report.words.words import score

Page = dict[str, Any]


class Outline(HTMLParser):
    """Tags, ids, references and text of a page."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.ids: list[str] = []
        self.wanted: set[str] = set()
        self.addresses: list[str] = []
        self.text: list[str] = []
        self._silent = 0
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self._silent += tag == "style"
        for name, value in attrs:
            assert not name.startswith("on"), f"an event handler: {name}"
            if name == "id":
                self.ids.append(value or "")
            elif name in ("aria-labelledby", "aria-describedby", "for"):
                self.wanted.update((value or "").split())
            elif name in ("href", "xlink:href", "src"):
                if (value or "").startswith("#"):
                    self.wanted.add((value or "")[1:])
                else:
                    self.addresses.append(value or "")
            self.wanted.update(re.findall(r"url\(#([^)]+)\)", value or ""))

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag == "style"

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.text.append(data)

    @property
    def words(self) -> str:
        return " ".join(" ".join(self.text).split())


def rendered(page: Page, **changes: Any) -> str:
    """The page with parts changed, without the targets, which take most of the time."""
    return render_page(page | {"bucks": []} | changes)


def one_buck(page: Page) -> list[dict[str, Any]]:
    """The first target without his drawings."""
    return [page["bucks"][0] | {"weeks": {}, "visits": {}, "ground": None}]


def with_week(page: Page, **changes: Any) -> str:
    return rendered(page, week=page["week"] | changes)


def test_what_a_person_typed_stays_text(html: str) -> None:
    assert "<script" not in html.lower()
    outline = Outline(html)
    assert "script" not in outline.tags
    # It is all there to be read: in the title, the headings, the charts, the lists.
    assert outline.words.count(HOSTILE_NAME) > 20


def test_a_hostile_text_adds_no_element(page: Page) -> None:
    tags = [Outline(rendered(page, property_name=name)).tags for name in ("plain", HOSTILE_NAME)]
    assert tags[0] == tags[1]


def test_same_page_same_bytes_in_another_process(page: Page, html: str, tmp_path: Path) -> None:
    (tmp_path / "page").write_bytes(pickle.dumps(page))
    program = (
        "import sys, hashlib, pickle, pathlib;"
        "from deerlog.report.page.page import render_page;"
        "page = pickle.loads(pathlib.Path(sys.argv[1]).read_bytes());"
        "print(hashlib.sha256(render_page(page).encode()).hexdigest())"
    )
    other = subprocess.run(
        [sys.executable, "-c", program, str(tmp_path / "page")],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONHASHSEED": "7"},
    )
    assert other.stdout.strip() == hashlib.sha256(html.encode()).hexdigest()


def test_a_changed_number_changes_the_page(page: Page) -> None:
    first, *rest = page["other_bucks"]
    changed = [first | {"facts": first["facts"] | {"score": 81.0}}, *rest]
    assert rendered(page, other_bucks=changed) != rendered(page)


def test_needs_nothing_from_outside_and_no_script(html: str) -> None:
    outline = Outline(html)
    assert all(a.startswith("data:image/jpeg;base64,") for a in outline.addresses)
    assert "script" not in outline.tags
    assert not re.search(r"@import|url\((?!#)", html)
    assert "default-src 'none'" in html


@pytest.mark.parametrize("made", ["html", "untagged"])
def test_ids_are_unique_and_every_reference_leads_somewhere(
    made: str, request: pytest.FixtureRequest
) -> None:
    outline = Outline(request.getfixturevalue(made))
    doubled = {i for i in outline.ids if outline.ids.count(i) > 1}
    assert doubled == set()
    assert outline.wanted - set(outline.ids) == set()


def test_parts_come_in_the_order_a_reader_asks(html: str) -> None:
    order = ("this-week", "bucks", "season", "cameras", "how-good", "words")
    places = [html.index(f'<section id="{part}"') for part in order]
    assert places == sorted(places)
    sections = html.split('id="safety-heading"')
    assert len(sections) == 2, "safety stands once"
    assert html.index("<footer>") < html.index('id="safety-heading"')


def test_headings_step_down_one_at_a_time(html: str) -> None:
    levels = [int(tag[1]) for tag in Outline(html).tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_each_buck_has_label_score_and_one_sentence(page: Page, html: str) -> None:
    words = Outline(html).words
    for buck in page["bucks"]:
        facts = buck["facts"]
        assert f"{facts['label'].capitalize()} {score(facts['score'])}" in words
    assert "He lives here" in words


def test_a_part_that_was_not_made_is_not_shown_and_the_missing_file_is_named(page: Page) -> None:
    words = Outline(rendered(page)).words
    assert "Your sits" in words and "Changed since" not in words
    assert "Wind: no forecast is given ( deerlog report --weather FILE )." in words
    assert "Your sits" not in Outline(rendered(page, sits=None)).words
    since = {"changed": ["Ash is gone."], "changed_since": date(2025, 10, 12)}
    said = Outline(with_week(page, **since)).words
    assert "Changed since 12 October 2025: 1 Ash is gone." in said


def test_a_target_never_seen_has_no_rate(page: Page) -> None:
    none = {"shooting_light_visits": 0, "visits": 0, "share": None, "low": None, "high": None}
    facts = {"daylight_share": None, "longest_absence_days": None, "phases_seen": []} | none
    first = page["bucks"][0]
    unseen = first | {
        "facts": first["facts"] | facts,
        "daylight": [first["daylight"][0] | none],
        "weeks": {},
        "visits": {},
        "ground": None,
    }
    words = Outline(rendered(page, bucks=[unseen])).words
    assert "no visits" in words
    assert "0 of 0" not in words
    assert "nan" not in words.lower().split()


def test_no_target_chosen_is_said(page: Page) -> None:
    first = page["bucks"][0] | {"weeks": {}, "visits": {}}
    words = Outline(rendered(page, bucks=[first], targets_chosen=False)).words
    assert "No buck is marked as a target in bucks.csv" in words
    assert "Target bucks" not in words


def test_before_any_name_the_page_tells_what_passes_and_what_to_look_at_first(
    untagged: str,
) -> None:
    words = Outline(untagged).words
    assert "931 visits in" in words and "Visits by hour, in 100 camera-days" in words
    first, _ = words.split("Look at these first", 1)[1].split("Write the names", 1)
    assert re.match(r" ?Ridge \(travel\), \d+ \w+ 2025 \d\d:\d\d: tags/c1.csv row \d+", first)
    assert "931 visits to tag" in words
    for not_true in ("No sit stands out", "Nothing to mend", "Target bucks"):
        assert not_true not in words


def test_each_visit_that_a_mark_leads_to_is_there_with_its_picture_where_it_is_kept(
    page: Page,
) -> None:
    first = page["bucks"][0]
    season = max(first["visits"])
    files = ["cards/c1/a b#1.jpg"] + [None] * (len(first["visits"][season]) - 1)
    visits = first["visits"] | {season: first["visits"][season].assign(file=files)}
    html = rendered(page, bucks=[first | {"visits": visits}])
    outline = Outline(html)
    marks = {w for w in outline.wanted if re.fullmatch(rf"hours-1-{season}-v\d+", w)}
    assert marks and marks <= set(outline.ids)
    assert outline.addresses == ["../../cards/c1/a%20b%231.jpg"]


def test_a_page_to_hand_on_names_no_file_note_or_fault(page: Page) -> None:
    first = page["bucks"][0]
    visits = {s: v.assign(file="cards/c1/IMG_1.JPG") for s, v in first["visits"].items()}
    own = first | {"visits": visits, "row": first["row"] | {"notes": "by the old gate"}}
    item = Problem(kind="x", file="tags/c1.csv", why="Why.", how="How.")
    week = page["week"] | {"mend_first": [item], "to_mend": 1, "untagged": 7}
    whole = page | {"bucks": [own], "week": week}
    private = ("IMG_1.JPG", "old gate", "tags/", "to mend", "to tag", "clock.csv", "41.", "-91.2")
    mine, shared = render_page(whole), render_page(to_share(whole))
    assert all(word in mine for word in private[:5])
    assert [word for word in private if word in re.sub(r"<svg.*?</svg>", "", shared)] == []
    assert "Lantern" in shared and "Sit" in shared


def test_a_new_buck_is_marked(page: Page) -> None:
    new = [buck | {"listed": False} for buck in page["other_bucks"]]
    assert 'class="new"' in rendered(page, other_bucks=new)
    assert 'class="new"' not in rendered(page)


def test_other_bucks_come_by_score(page: Page) -> None:
    def buck(name: str, score: float) -> Page:
        like = page["other_bucks"][0]
        return like | {"name": name, "facts": like["facts"] | {"score": score}}

    html = rendered(page, other_bucks=[buck("Basket", 50.0), buck("ash", 10.0), buck("Mud", 90.0)])
    table = html[html.index('<table class="others"') :]
    assert re.findall(r'rowheader">(\w+)', table) == ["Mud", "Basket", "ash"]
    assert "3 other bucks" in html


def test_a_long_path_is_shown_short_and_kept_whole(page: Page) -> None:
    path = "cards/cam-3/" + "a long folder name/" * 12 + "IMG_0001.JPG"
    item = Problem(kind="x", file=path, why="Why.", how="How.")
    html = with_week(page, mend_first=[item], to_mend=1)
    assert f'title="{path}">cards/cam-3/…/IMG_0001.JPG</span>' in html
    assert path not in Outline(html).words


def test_days_not_watched_before_the_report_are_said(page: Page) -> None:
    words = Outline(rendered(page, ran_until=date(2025, 10, 8))).words
    assert "The 12 days since, 9 to 20 October 2025, are not watched." in words
    assert "are known to have run" not in Outline(rendered(page)).words


def test_a_sit_names_its_buck_and_the_page_what_the_plan_stands_on(html: str) -> None:
    summary = re.search(r"<summary>(Any evening.*?)</summary>", html)
    assert summary is not None
    line = re.sub(r"<[^>]+>", "", summary.group(1))
    assert re.fullmatch(r"Any evening, .* Oct: Bean Blind, Lantern, \d.*%", line)
    assert "No weather forecast went in: deerlog report --weather FILE" in Outline(html).words


@pytest.mark.parametrize("advised", [1, 3, 5])
def test_three_sits_stand_open_where_three_are_advised_and_never_more(
    page: Page, advised: int
) -> None:
    sit = page["week"]["plan"]["sits"][0]
    sits = [sit | {"stand": f"Stand {n}"} for n in range(advised)]
    plan = page["week"]["plan"] | {"sits": sits}
    html = rendered(page, bucks=one_buck(page), week=page["week"] | {"plan": plan})
    first, *folded = re.findall(r'<ol class="sits".*?</ol>', html, flags=re.DOTALL)
    assert re.findall(r"Stand \d", first) == [f"Stand {n}" for n in range(min(advised, 3))]
    assert "".join(folded).count("<li>") == max(advised - 3, 0)
    assert html.index(first) < html.index('id="bucks"')


def test_what_went_wrong_lately_stands_under_its_own_heading(page: Page) -> None:
    why = "The clock of c1 looks 1 h ahead. Of 9 pictures, 3 are grey."
    lately = Problem(kind="clock", file="clock.csv", why=why, how="Add a row.", lately=True)
    cameras = [page["cameras"][0] | {"clock": [lately]}]
    html = rendered(page, week=page["week"] | {"lately": [lately]}, cameras=cameras)
    words = Outline(html).words
    assert "What went wrong lately The clock of c1 looks 1 h ahead. Of 9 pictures" in words
    assert words.count("looks 1 h ahead") == 1
    none = Outline(rendered(page, week=page["week"] | {"lately": []})).words
    assert "What went wrong lately" not in none
    assert "What went wrong lately" not in Outline(render_page(to_share(page))).words


def test_the_first_season_says_what_is_missing_and_when_there_will_be_enough(page: Page) -> None:
    assert "first season" not in Outline(rendered(page, bucks=one_buck(page))).words
    said = "This is the first season."
    assert said in Outline(rendered(page, bucks=one_buck(page), first_season=said)).words


def test_silence_and_untagged_visits_are_told(page: Page, untagged: str) -> None:
    silent = {"site": "Ridge", "start": date(2025, 9, 1), "end": date(2025, 9, 9), "status": "down"}
    cameras = [page["cameras"][0] | {"silent": [silent]}]
    words = Outline(rendered(page, cameras=cameras)).words
    assert "c1 at Ridge, 1 to 9 September 2025: noted as down." in words
    assert "tags/c1.html (358)" in Outline(untagged).words.replace("html  (", "html (")


def test_page_is_small_enough_for_a_phone(html: str) -> None:
    assert len(html.encode()) < 1_200_000


def test_golden_page(html: str, golden: Callable[[str, str], None]) -> None:
    """The charts' own lines are left out: they change with matplotlib, and have their own test."""
    without = re.sub(
        r'(<svg class="chart".*?</desc>).*?(</svg>)', r"\1<!-- drawing -->\2", html, flags=re.DOTALL
    )
    assert without.count("<!-- drawing -->") == 4
    golden("report_page.html", without)
