"""The page in a real browser, at a phone's, a tablet's and a desk's width.

A Chromium is taken from the path, or from the environment variable DEERLOG_TEST_BROWSER; where
there is none these tests are skipped.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

pytest.importorskip("websocket", reason="the package websocket-client is not installed")

from invented.headless_browser import ENVIRONMENT, HeadlessBrowser, find_browser
from invented.invented_page import HOSTILE_NAME, empty_page, full_page, invented_page

from deerlog.report.page import render_page

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


@pytest.fixture(scope="module")
def browser() -> Iterator[HeadlessBrowser]:
    program = find_browser()
    if program is None:
        pytest.skip(f"no Chromium on the path, nor one named by {ENVIRONMENT}")
    with HeadlessBrowser(program) as opened:
        yield opened


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("pages")
    hostile = full_page()
    hostile = replace(
        hostile,
        property_name=HOSTILE_NAME * 3,
        bucks=tuple(replace(b, name="W" * 80 + HOSTILE_NAME) for b in hostile.bucks[:1]),
    )
    made = {
        "full": full_page(),
        "invented": invented_page(),
        "empty": empty_page(),
        "hostile": hostile,
    }
    paths = {}
    for name, page in made.items():
        paths[name] = folder / f"{name}.html"
        paths[name].write_text(render_page(page), encoding="utf-8", newline="\n")
    return paths


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["full", "invented", "empty", "hostile"])
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
    browser.open(pages["invented"], width=390, height=844)
    shown = """
    [...document.querySelectorAll('.now .label')].filter(
      e => e.getBoundingClientRect().bottom <= innerHeight).map(e => e.innerText.trim())
    """
    labels = [" ".join(text.split()) for text in browser.evaluate(shown)]
    assert labels == ["Resident 96", "Visiting 6", "Undecided 47"]


def test_dark_is_dark(browser: HeadlessBrowser, pages: dict[str, Path]) -> None:
    ground = "getComputedStyle(document.body).backgroundColor"
    browser.open(pages["invented"], width=390, dark=True)
    assert browser.evaluate(ground) == "rgb(20, 24, 26)"
    browser.open(pages["invented"], width=390)
    assert browser.evaluate(ground) == "rgb(248, 245, 237)"


def test_choosing_an_order_shows_that_table_alone(
    browser: HeadlessBrowser, pages: dict[str, Path]
) -> None:
    browser.open(pages["invented"], width=820)
    shown = "[...document.querySelectorAll('.others')].filter(t => t.checkVisibility()).length"
    first = (
        "[...document.querySelectorAll('.others')].find(t => t.checkVisibility())"
        ".querySelector('tbody th').innerText"
    )
    assert browser.evaluate(shown) == 1
    assert browser.evaluate(first).startswith("Mud Lark")
    browser.evaluate("document.getElementById('order-name').click()")
    assert browser.evaluate(shown) == 1
    assert browser.evaluate(first).startswith("=HYPERLINK")


def test_what_scrolls_sideways_can_be_reached_by_key_and_is_named(
    browser: HeadlessBrowser, pages: dict[str, Path]
) -> None:
    browser.open(pages["full"], width=390)
    nameless = "[...document.querySelectorAll('.scroll')].filter(" \
        "e => e.tabIndex !== 0 || !e.getAttribute('aria-label')).length"  # fmt: skip
    assert browser.evaluate("document.querySelectorAll('.scroll').length") > 0
    assert browser.evaluate(nameless) == 0


def test_prints(browser: HeadlessBrowser, pages: dict[str, Path], tmp_path: Path) -> None:
    browser.open(pages["invented"], width=1280)
    browser.print_pdf(tmp_path / "page.pdf")
    data = (tmp_path / "page.pdf").read_bytes()
    assert data.startswith(b"%PDF")
    assert 3 <= data.count(b"/Type /Page\n") <= 14
