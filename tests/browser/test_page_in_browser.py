"""The pages in a real browser, at a phone's, a tablet's and a desk's width."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from invented.invented_page import HOSTILE_NAME

if TYPE_CHECKING:
    from invented.headless_browser import HeadlessBrowser

WIDTHS = (390, 820, 1280)

# What sticks out of the window sideways, save inside a container that scrolls by itself.
STICKS_OUT = """
[...document.querySelectorAll('body *')].filter(e => {
  const box = e.getBoundingClientRect();
  return box.width && box.right > document.documentElement.clientWidth + 1
    && !e.closest('.scroll') && !e.closest('pre') && !e.closest('.skip');
}).map(e => e.tagName + '.' + (e.className.baseVal ?? e.className)).slice(0, 5)
"""

BROKEN_PICTURES = """
[...document.querySelectorAll('img')].filter(i => !i.complete || !i.naturalWidth).length
+ [...document.querySelectorAll('svg[role=img]')].filter(s => {
    const box = s.getBoundingClientRect();
    return s.checkVisibility() && (box.width < 20 || box.height < 8);
  }).length
"""

REFERENCES_LOST = """
[...document.querySelectorAll('use')].filter(
  u => !document.getElementById(u.getAttribute('href').slice(1))).length
"""


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["full", "empty", "hostile"])
def test_no_error_no_sideways_scroll_no_picture_missing(
    browser: HeadlessBrowser, pages: dict[str, Path], name: str, width: int
) -> None:
    browser.open(pages[name], width=width)
    assert browser.complaints() == []
    assert browser.requests() == [pages[name].resolve().as_uri()], "it asks for nothing else"
    assert browser.evaluate("innerWidth") == width
    assert browser.evaluate(STICKS_OUT) == []
    assert browser.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert browser.evaluate(BROKEN_PICTURES) == 0
    assert browser.evaluate(REFERENCES_LOST) == 0


@pytest.mark.parametrize("width", WIDTHS)
def test_a_contact_sheet_shows_its_pictures_and_nothing_sticks_out(
    browser: HeadlessBrowser, contact_sheet: Path, width: int
) -> None:
    browser.open(contact_sheet, width=width)
    browser.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    browser.evaluate("document.getElementById('look').click()")
    browser.evaluate("document.querySelectorAll('img').forEach(i => i.loading = 'eager')")
    browser.until("[...document.images].every(i => i.complete)")
    assert browser.evaluate("document.images.length") == 4
    assert browser.evaluate(BROKEN_PICTURES) == 0
    assert browser.complaints() == []
    assert browser.evaluate(STICKS_OUT) == []
    assert browser.evaluate("document.documentElement.scrollWidth <= innerWidth")
    browser.evaluate("document.getElementById('look').click()")
    assert browser.evaluate("document.images[0].width") >= min(340, 0.6 * width)
    own = contact_sheet.resolve().as_uri()
    # The buttons of a video are the browser's own, and come as data.
    may = (own, own.replace("/tags/cam-2.html", "/cards/"), "data:image/svg+xml")
    assert [a for a in browser.requests() if not a.startswith(may)] == []


def test_the_checks_see_a_page_that_is_wrong(browser: HeadlessBrowser, tmp_path: Path) -> None:
    page = tmp_path / "wrong.html"
    page.write_text(
        "<!doctype html><meta name=viewport content='width=device-width'>"
        "<div style='width:900px'>wide</div><img src='gone.png'><script>nowhere()</script>",
        encoding="utf-8",
    )
    browser.open(page, width=390)
    assert browser.evaluate(STICKS_OUT) == ["DIV."]
    assert browser.evaluate("document.documentElement.scrollWidth > 390")
    assert browser.evaluate(BROKEN_PICTURES) == 1
    complaints = " ".join(browser.complaints())
    assert "nowhere" in complaints
    assert "ERR_FILE_NOT_FOUND" in complaints


def test_a_typed_script_does_not_run(browser: HeadlessBrowser, pages: dict[str, Path]) -> None:
    browser.open(pages["hostile"], width=390)
    assert browser.evaluate("document.scripts.length") == 0
    title = browser.evaluate("document.querySelector('h1').textContent")
    assert title == HOSTILE_NAME * 3


def test_the_first_screen_of_a_phone_answers(
    browser: HeadlessBrowser, pages: dict[str, Path]
) -> None:
    browser.open(pages["full"], width=390, height=844)
    shown = """
    [...document.querySelectorAll('#this-week summary')].filter(
      e => e.getBoundingClientRect().bottom <= innerHeight).map(e => e.innerText.trim())
    """
    assert "Lantern" in browser.evaluate(shown)[0]


def test_dark_is_dark(browser: HeadlessBrowser, pages: dict[str, Path]) -> None:
    ground = "getComputedStyle(document.body).backgroundColor"
    browser.open(pages["full"], width=390, dark=True)
    assert browser.evaluate(ground) == "rgb(20, 24, 26)"
    browser.open(pages["full"], width=390)
    assert browser.evaluate(ground) == "rgb(248, 245, 237)"


def test_what_scrolls_sideways_can_be_reached_by_key_and_is_named(
    browser: HeadlessBrowser, pages: dict[str, Path]
) -> None:
    browser.open(pages["full"], width=390)
    nameless = "[...document.querySelectorAll('.scroll')].filter(" \
        "e => e.tabIndex !== 0 || !e.getAttribute('aria-label')).length"  # fmt: skip
    assert browser.evaluate("document.querySelectorAll('.scroll').length") > 0
    assert browser.evaluate(nameless) == 0


def test_prints(browser: HeadlessBrowser, pages: dict[str, Path], tmp_path: Path) -> None:
    browser.open(pages["full"], width=1280)
    browser.print_pdf(tmp_path / "page.pdf")
    data = (tmp_path / "page.pdf").read_bytes()
    assert data.startswith(b"%PDF")
    assert 3 <= data.count(b"/Type /Page\n") <= 14
