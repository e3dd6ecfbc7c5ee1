"""How long the sample's page is: on a phone, in words, on paper, in bytes."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from invented.headless_browser import HeadlessBrowser

WIDTH, HEIGHT = 390, 844
"""A phone's screen, CSS pixels."""
OPEN_ALL = "document.querySelectorAll('details').forEach(d => d.open = true)"
LEAVE = """
[...document.querySelectorAll('header, main > section, footer')].filter(
  e => !e.matches({!r})).forEach(e => e.remove())
"""


def test_this_week_fits_two_screens_and_all_of_it_closed_twelve(
    browser: HeadlessBrowser, sample_page: Path
) -> None:
    browser.open(sample_page, width=WIDTH, height=HEIGHT)
    end = "document.getElementById('this-week').getBoundingClientRect().bottom + scrollY"
    assert browser.evaluate(end) <= 2 * HEIGHT
    assert browser.evaluate("document.documentElement.scrollHeight") <= 12 * HEIGHT
    assert browser.evaluate("document.querySelectorAll('details[open]').length") == 0
    sits = "document.querySelector('#this-week ol.sits')?.children.length ?? 0"
    assert browser.evaluate(sits) <= 3


def test_half_the_words_it_had(browser: HeadlessBrowser, sample_page: Path) -> None:
    browser.open(sample_page, width=WIDTH)
    browser.evaluate(OPEN_ALL)
    n_words = browser.evaluate("document.body.innerText.split(/\\s+/).length")
    assert 1000 < n_words <= 9170 // 2


def test_statistics_stand_in_how_good_alone(browser: HeadlessBrowser, sample_page: Path) -> None:
    browser.open(sample_page, width=WIDTH)
    browser.evaluate(OPEN_ALL)
    whole = browser.evaluate("document.body.innerText").lower()
    inside = browser.evaluate("document.getElementById('how-good').innerText").lower()
    for word in ("log loss", "brier", "interval", "confidence"):
        assert whole.count(word) == inside.count(word), word
    assert "brier" in inside


def test_the_first_two_screens_say_nothing_twice(
    browser: HeadlessBrowser, sample_page: Path
) -> None:
    browser.open(sample_page, width=WIDTH, height=HEIGHT)
    text = browser.evaluate("document.getElementById('this-week').innerText")
    sentences = [s.strip() for s in text.replace("\n", ". ").split(". ") if len(s.split()) > 5]
    assert len(sentences) > 5
    assert len(sentences) == len(set(sentences))


def test_small_enough_to_send(sample_page: Path) -> None:
    text = sample_page.read_text("utf-8")
    assert text.count("data:image/jpeg") >= 3, "with pictures"
    assert len(text.encode()) < 1_200_000


@pytest.mark.parametrize("part", ["header, #this-week", "#season"])
def test_the_week_and_the_season_fit_one_sheet_each(
    browser: HeadlessBrowser, sample_page: Path, part: str, tmp_path: Path
) -> None:
    browser.open(sample_page, width=1280)
    browser.evaluate(LEAVE.format(part))
    browser.print_pdf(tmp_path / "part.pdf")
    assert (tmp_path / "part.pdf").read_bytes().count(b"/Type /Page\n") == 1


def test_no_sheet_holds_a_line_or_two(
    browser: HeadlessBrowser, sample_page: Path, tmp_path: Path
) -> None:
    program = shutil.which("pdftotext")
    if program is None:
        pytest.skip("no pdftotext (of Poppler) on the path")
    browser.open(sample_page, width=1280)
    browser.print_pdf(tmp_path / "whole.pdf")
    read = [program, "-layout", str(tmp_path / "whole.pdf"), "-"]
    text = subprocess.run(read, capture_output=True, check=True).stdout.decode("utf-8")
    *sheets, after = text.split("\f")
    lines = [sum(bool(line.strip()) for line in sheet.splitlines()) for sheet in sheets]
    assert not after.strip() and len(lines) > 10
    assert min(lines) >= 8, lines


def test_a_day_is_as_tall_as_the_key_says_at_a_phone_s_width(
    browser: HeadlessBrowser, sample_page: Path
) -> None:
    """What tells the states apart is height and place, not colour alone."""
    browser.open(sample_page, width=WIDTH)
    browser.evaluate(OPEN_ALL)
    drawn = """
    Object.fromEntries([['light', '.seen-in-light'], ['dark', '.seen-in-the-dark'],
      ['line', '.not-seen'], ['off', '.not-watched']].map(([name, which]) => {
        const box = document.querySelector('#bucks .days ' + which).getBoundingClientRect();
        return [name, {height: box.height, bottom: box.bottom}];
      }))
    """
    box = browser.evaluate(drawn)
    assert box["light"]["height"] >= 2 * box["dark"]["height"] > 4 * box["line"]["height"]
    assert abs(box["light"]["bottom"] - box["line"]["bottom"]) < 1.5
    assert box["off"]["bottom"] - box["off"]["height"] >= box["line"]["bottom"] - 1
    names = "[...document.querySelectorAll('#bucks .days')].map(e => [e.getAttribute('aria-label'),"
    names += " document.getElementById(e.getAttribute('aria-describedby')).innerText])"
    told = browser.evaluate(names)
    assert len(told) >= 9
    assert all(label.endswith("day by day") and "watched" in words for label, words in told)


def test_what_is_folded_is_printed_or_named_as_left_out(
    browser: HeadlessBrowser, sample_page: Path
) -> None:
    browser.open(sample_page, width=1000, printed=True)
    hidden = """
    [...document.querySelectorAll('details')].filter(d => {
      const inside = [...d.children].find(c => c.tagName !== 'SUMMARY');
      return d.checkVisibility() && !inside.checkVisibility({contentVisibilityAuto: true});
    }).map(d => getComputedStyle(d.querySelector('summary'), '::after').content)
    """
    left_out = browser.evaluate(hidden)
    assert left_out and all("not printed" in said for said in left_out)


def test_no_word_of_a_table_s_head_is_broken(browser: HeadlessBrowser, sample_page: Path) -> None:
    browser.open(sample_page, width=733, printed=True)  # A4 between its margins
    browser.evaluate(OPEN_ALL)
    broken = """
    [...document.querySelectorAll('th')].filter(th => th.checkVisibility()).flatMap(th => {
      const text = th.firstChild; if (!text || text.nodeType !== 3) return [];
      return [...text.data.matchAll(/\\S+/g)].filter(word => {
        const range = document.createRange();
        range.setStart(text, word.index); range.setEnd(text, word.index + word[0].length);
        return range.getClientRects().length > 1 && !word[0].includes('-');
      }).map(word => word[0]);
    })
    """
    assert browser.evaluate(broken) == []
