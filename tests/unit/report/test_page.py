"""The page: what a person typed stays text, the same numbers give the same bytes, and every part
that was not made says so."""

from __future__ import annotations

import hashlib
import os
import re
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest
from invented.invented_page import (
    HOSTILE_NAME,
    SITES,
    empty_page,
    full_page,
    invented_page,
    share,
)

from deerlog.report.page.buck_data import BuckMap
from deerlog.report.page.page import render_page
from deerlog.report.page.page_data import BuckSection, MendItem, ReportPage

TESTS = Path(__file__).parents[2]


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


@pytest.fixture(scope="module")
def full() -> str:
    return render_page(full_page())


@pytest.fixture(scope="module")
def plain() -> str:
    return render_page(invented_page())


def quick(page: ReportPage) -> ReportPage:
    """The page without its charts, which take most of the time."""
    return replace(page, bucks=tuple(replace(b, day_hour=()) for b in page.bucks))


def with_target(page: ReportPage, **changes: object) -> ReportPage:
    first, *rest = page.bucks
    return replace(page, bucks=(replace(first, **changes), *rest))  # type: ignore[arg-type]


def hostile_ground(ground: BuckMap) -> BuckMap:
    first = ground.phases[1]
    assert first.move is not None
    return replace(
        ground,
        sites=(replace(ground.sites[0], site=HOSTILE_NAME),),
        phases=(
            replace(
                first,
                uses=(replace(first.uses[0], site=HOSTILE_NAME),),
                move=replace(first.move, words=HOSTILE_NAME),
            ),
        ),
    )


def all_hostile() -> ReportPage:
    """A page whose every typed text tries to get out."""
    page = full_page()
    seasons = tuple(
        replace(f, hunting=tuple(replace(h, name=HOSTILE_NAME) for h in f.hunting))
        for f in page.seasons
    )

    def renamed(buck: BuckSection) -> BuckSection:
        return replace(
            buck,
            name=HOSTILE_NAME,
            aliases=(HOSTILE_NAME,),
            notes=HOSTILE_NAME,
            why=(HOSTILE_NAME,),
            windows=None,
            day_hour=tuple(
                replace(s, visits=tuple(replace(v, site=HOSTILE_NAME) for v in s.visits))
                for s in buck.day_hour
            ),
            daylight=tuple(replace(d, site=d.site and HOSTILE_NAME) for d in buck.daylight),
            ground=buck.ground and hostile_ground(buck.ground),
        )

    return replace(
        page,
        property_name=HOSTILE_NAME,
        seasons=seasons,
        sites=(HOSTILE_NAME,),
        bucks=tuple(renamed(b) for b in page.bucks),
        cameras=tuple(
            replace(
                c,
                camera=HOSTILE_NAME,
                placements=tuple(replace(p, site=HOSTILE_NAME) for p in c.placements),
                effort=tuple(replace(e, site=HOSTILE_NAME) for e in c.effort),
                tag_sheet=HOSTILE_NAME,
            )
            for c in page.cameras
        ),
        this_week=replace(
            page.this_week,
            mend_first=(
                MendItem(place=HOSTILE_NAME, why=HOSTILE_NAME, how="", value=HOSTILE_NAME),
            ),
        ),
    )


def test_what_a_person_typed_stays_text() -> None:
    html = render_page(all_hostile())
    assert "<script" not in html.lower()
    outline = Outline(html)
    assert "script" not in outline.tags
    # It is all there to be read: in the title, the headings, the charts, the lists.
    assert outline.words.count(HOSTILE_NAME) > 20


def test_a_hostile_text_adds_no_element() -> None:
    count = {}
    for name in ("plain", HOSTILE_NAME):
        page = quick(replace(invented_page(), property_name=name))
        count[name] = Outline(render_page(page)).tags
    assert count["plain"] == count[HOSTILE_NAME]


def test_same_page_same_bytes_in_another_process(full: str) -> None:
    program = (
        "import sys, hashlib; sys.path.insert(0, sys.argv[1]);"
        "from invented.invented_page import full_page;"
        "from deerlog.report.page.page import render_page;"
        "print(hashlib.sha256(render_page(full_page()).encode()).hexdigest())"
    )
    here = hashlib.sha256(full.encode()).hexdigest()
    other = subprocess.run(
        [sys.executable, "-c", program, str(TESTS)],
        check=True,
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONHASHSEED": "7"},
    )
    assert other.stdout.strip() == here


def test_a_changed_number_changes_the_page() -> None:
    page = quick(full_page())
    facts = replace(page.bucks[0].facts, score=81.0)
    assert render_page(with_target(page, facts=facts)) != render_page(page)


def test_needs_nothing_from_outside_and_no_script(full: str) -> None:
    outline = Outline(full)
    assert outline.addresses == []
    assert "script" not in outline.tags
    assert not re.search(r"@import|url\((?!#)", full)
    assert "default-src 'none'" in full


@pytest.mark.parametrize("made", ["full", "plain", "empty"])
def test_ids_are_unique_and_every_reference_leads_somewhere(
    made: str, full: str, plain: str
) -> None:
    html = {"full": full, "plain": plain, "empty": render_page(empty_page())}[made]
    outline = Outline(html)
    doubled = {i for i in outline.ids if outline.ids.count(i) > 1}
    assert doubled == set()
    assert outline.wanted - set(outline.ids) == set()


def test_parts_come_in_the_order_a_reader_asks(full: str) -> None:
    html = full
    order = ("this-week", "bucks", "other-bucks", "cameras", "how-good", "words")
    places = [html.index(f'<section id="{part}"') for part in order]
    assert places == sorted(places)
    sections = html.split('id="safety-heading"')
    assert len(sections) == 2, "safety stands once"
    assert html.index("<footer>") < html.index('id="safety-heading"')


def test_headings_step_down_one_at_a_time(full: str) -> None:
    levels = [int(tag[1]) for tag in Outline(full).tags if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


def test_each_buck_has_label_score_and_one_sentence(plain: str) -> None:
    words = Outline(plain).words
    assert "Resident 96 of 100" in words
    assert "Visiting 6 of 100" in words
    assert "Undecided 47 of 100" in words
    assert "He lives here, most likely all year round." in words
    assert "He passes through around the rut and does not live here." in words
    assert "Not enough to tell yet. Seen in" in words


def test_a_part_that_was_not_made_is_not_shown_and_the_missing_file_is_named(
    full: str, plain: str
) -> None:
    words = Outline(plain).words
    for heading in ("Where to sit", "His windows", "Where he is", "Your sits", "Since the last"):
        assert heading not in words.replace("Where to sit and where to stay out", "")
    assert "Where to sit and where to stay out ( stands.csv )." in words
    everything = Outline(full).words
    for heading in ("Where to sit", "His windows", "Where he is", "Your sits", "Since the last"):
        assert heading in everything


def test_a_target_never_seen_has_no_rate() -> None:
    page = quick(invented_page())
    first = page.bucks[0]
    unseen = replace(
        first,
        facts=replace(
            first.facts,
            label="undecided",
            score=50.0,
            visits=0,
            weeks_seen=0,
            daylight=share(0, 0),
            first_seen=None,
            last_seen=None,
            longest_absence_days=None,
            phases_seen=(),
        ),
        daylight=(replace(first.daylight[0], daylight=share(0, 0)),),
        evidence=(),
    )
    words = Outline(render_page(replace(page, bucks=(unseen,)))).words
    assert "no visits" in words
    assert "0 of 0" not in words
    assert "nan" not in words.lower().split()


def test_no_target_chosen_is_said() -> None:
    words = Outline(render_page(quick(replace(invented_page(), targets_chosen=False)))).words
    assert "No buck is marked as a target in bucks.csv" in words
    assert "Target bucks" not in words


def test_first_day_says_what_to_do() -> None:
    words = Outline(render_page(empty_page())).words
    assert "No buck has been tagged yet." in words
    assert "Fill cameras.csv." in words


def test_a_new_buck_is_marked(plain: str) -> None:
    row = re.search(r'<tr role="row">(?:(?!</tr>).)*HYPERLINK.*?</tr>', plain, re.DOTALL)
    assert row is not None
    assert 'class="new"' in row.group(0)


def test_other_bucks_come_in_each_order_they_may_be_read_in(plain: str) -> None:
    html = plain
    orders = {}
    for order in ("score", "last-seen", "name"):
        table = html[html.index(f'<table class="others order-{order}"') :]
        table = table[: table.index("</table>")]
        orders[order] = re.findall(r'rowheader">(\w+)', table)
    assert orders["score"] == ["Mud", "Basket", "Ninepin", "Ash"]
    assert orders["name"] == ["Ash", "Basket", "Mud", "Ninepin"]
    assert orders["last-seen"][-1] == "Ash", "who left with the summer comes last"


def test_one_other_buck_has_no_order_to_choose(plain: str) -> None:
    page = quick(invented_page())
    html = render_page(replace(page, other_bucks=page.other_bucks[:1]))
    assert "Order by" not in html and html.count('<table class="others') == 1
    assert "1 buck</caption>" in html
    assert "Order by" in plain and plain.count('<table class="others') == 3


def test_one_season_is_one_column_of_facts() -> None:
    page = quick(invented_page())
    first = page.bucks[0]
    one = render_page(with_target(page, seasons=first.seasons[-1:]))
    head = one[one.index("The facts by season") :]
    head = head[: head.index("</thead>")]
    assert re.findall(r'<th scope="col">([^<]+)', head) == ["2025"]
    assert "all seasons" in render_page(page)


def test_a_long_path_is_shown_short_and_kept_whole() -> None:
    path = "cards/cam-3/" + "a long folder name/" * 12 + "IMG_0001.JPG"
    page = quick(invented_page())
    week = replace(page.this_week, mend_first=(MendItem(place=path, why="Why.", how="How."),))
    html = render_page(replace(page, this_week=week))
    assert f'title="{path}">cards/cam-3/…/IMG_0001.JPG</span>' in html
    assert path not in Outline(html).words


def test_days_not_watched_before_the_report_are_said() -> None:
    page = quick(invented_page())
    until = page.as_of - timedelta(days=12)
    words = Outline(render_page(replace(page, ran_until=until))).words
    assert "The 12 days since, 5 to 16 November 2025, are not watched." in words
    assert "up to Tuesday 4 November 2025 , as of Sunday 16" in words.replace("2025,", "2025 ,")
    assert "are known to have run" not in Outline(render_page(page)).words


def test_a_sit_names_its_buck_and_the_page_what_the_plan_stands_on(full: str) -> None:
    summary = re.search(r"<summary>(Any evening.*?)</summary>", full)
    assert summary is not None
    line = re.sub(r"<[^>]+>", "", summary.group(1))
    assert (
        line == "Any evening, Mon 17 to Thu 20 Nov: Seep ladder, Lantern Jaw, 20 to 21% (12 to 33%)"
    )
    words = Outline(full).words
    assert "made without a weather forecast. To have it in: deerlog report --weather FILE" in words
    assert "read them lower" in words


def test_a_site_keeps_its_mark_all_through(full: str) -> None:
    for site in SITES:
        marks = set(
            re.findall(rf'(<svg class="mark[^>]*>(?:(?!</svg>).)*</svg>) {re.escape(site)}', full)
        )
        assert len(marks) == 1, site


def test_silence_clock_and_untagged_visits_are_told(plain: str) -> None:
    words = Outline(plain).words
    assert "37 visits not tagged yet" in words
    assert "Silent 4 to 24 August 2025 at Oak flat: counted as not watched." in words
    assert "Down 1 to 9 September 2025 at Oak flat, as noted in outages.csv: not watched." in words
    running = "at Oak flat, but running, as noted in outages.csv: counted as watched."
    assert f"Silent 20 to 23 September 2025 {running}" in words
    assert "cam3,2025-11-02 09:00,2025-11-02 08:00,2025-11-02 02:00," in words


def test_page_is_small_enough_for_a_phone(full: str) -> None:
    assert len(full.encode()) < 1_000_000


def test_golden_page(full: str, golden: Callable[[str, str], None]) -> None:
    """The charts' own lines are left out: they change with matplotlib, and have their own test."""
    without = re.sub(
        r'(<svg class="chart".*?</desc>).*?(</svg>)', r"\1<!-- drawing -->\2", full, flags=re.DOTALL
    )
    assert without.count("<!-- drawing -->") == 8
    golden("report_page.html", without)
