"""The pages by axe-core's rules (WCAG 2.2 A and AA, and best practice), and by the keyboard.

axe-core is the rule set of Deque Systems, from npm. Its file is looked for in node_modules/ of the
checkout (`npm install --no-save --no-package-lock axe-core`), or where the environment variable
DEERLOG_TEST_AXE says; where it is not found, its tests are skipped.
"""

from __future__ import annotations

import os
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from invented.headless_browser import HeadlessBrowser

ENVIRONMENT = "DEERLOG_TEST_AXE"
USUAL_PLACE = Path(__file__).parents[2] / "node_modules" / "axe-core" / "axe.min.js"

OPEN_ALL = "document.querySelectorAll('details').forEach(d => d.open = true)"
VIOLATIONS = """
axe.run(document, {resultTypes: ['violations']}).then(r => r.violations.map(
  v => `${v.id}: ${v.help} (${v.nodes.length}), as in ${v.nodes[0].html.slice(0, 200)}`))
"""

# Where the keyboard is: place among all elements, and whether one sees it.
FOCUS = """(() => {
  const e = document.activeElement;
  if (!e || e === document.body || e === document.documentElement) return null;
  const box = e.getBoundingClientRect(), style = getComputedStyle(e);
  return {
    place: [...document.querySelectorAll('*')].indexOf(e),
    shown: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
    marked: e.matches(':focus-visible') && style.outlineStyle !== 'none'
      && parseFloat(style.outlineWidth) >= 2,
    what: e.outerHTML.slice(0, 120),
  };
})()"""
REACHABLE = """
[...document.querySelectorAll('a[href], summary, [tabindex="0"], video[controls], input,'
  + 'button:enabled')].filter(
  e => e.checkVisibility() && (e.type !== 'radio' || e.checked)).length
"""


@pytest.fixture(scope="session")
def axe() -> str:
    path = Path(os.environ.get(ENVIRONMENT) or USUAL_PLACE)
    if not path.is_file():
        pytest.skip(f"no axe-core: neither {USUAL_PLACE}, nor one named by {ENVIRONMENT}")
    return path.read_text(encoding="utf-8")


def violations(browser: HeadlessBrowser, axe: str) -> list[str]:
    browser.evaluate(OPEN_ALL)
    browser.evaluate(f"{axe}; 0")
    found: list[str] = browser.evaluate(VIOLATIONS)
    return found


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("name", ["full", "empty"])
def test_the_report_breaks_no_rule(
    browser: HeadlessBrowser,
    pages: dict[str, Path],
    axe: str,
    name: str,
    width: int,
    dark: bool,
) -> None:
    browser.open(pages[name], width=width, dark=dark)
    assert violations(browser, axe) == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_a_contact_sheet_breaks_no_rule(
    browser: HeadlessBrowser, contact_sheet: Path, axe: str, width: int, dark: bool
) -> None:
    browser.open(contact_sheet, width=width, dark=dark)
    assert violations(browser, axe) == []
    browser.evaluate("document.getElementById('look').click()")
    assert violations(browser, axe) == []


def test_the_rules_see_a_page_that_breaks_them(
    browser: HeadlessBrowser, tmp_path: Path, axe: str
) -> None:
    page = tmp_path / "wrong.html"
    page.write_text(
        "<!doctype html><html><title>x</title><p style='color:#999;background:#fff'>faint</p>"
        "<img src='data:,'><a href='x'></a>",
        encoding="utf-8",
    )
    browser.open(page, width=390)
    found = {line.split(":")[0] for line in violations(browser, axe)}
    assert {"color-contrast", "image-alt", "link-name", "html-has-lang"} <= found


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("name", ["full", "contact sheet"])
def test_the_keyboard_goes_through_the_page_in_order_and_is_seen(
    browser: HeadlessBrowser, pages: dict[str, Path], contact_sheet: Path, name: str, width: int
) -> None:
    browser.open(contact_sheet if name == "contact sheet" else pages[name], width=width)
    reachable = browser.evaluate(REACHABLE)
    stops = []
    for _ in range(reachable + 20):
        browser.press_tab()
        stop = browser.evaluate(FOCUS)
        if stop is None or (stops and stop["place"] == stops[0]["place"]):
            break  # round once
        stops.append(stop)
    assert len({stop["place"] for stop in stops}) == reachable
    # A video has several stops of its own.
    assert all(a["place"] <= b["place"] for a, b in pairwise(stops)), [
        stop["what"] for stop in stops
    ]
    assert [
        stop["what"] for stop in stops if not stop["marked"] and "<video" not in stop["what"]
    ] == []
    assert [stop["what"] for stop in stops if not stop["shown"]] == []


def test_the_first_stop_leads_past_the_links(
    browser: HeadlessBrowser, pages: dict[str, Path]
) -> None:
    browser.open(pages["full"], width=390)
    browser.press_tab()
    assert "Skip to this week" in browser.evaluate("document.activeElement.textContent")
    browser.evaluate("document.activeElement.click()")
    browser.press_tab()
    inside = "document.getElementById('this-week').contains(document.activeElement)"
    assert browser.evaluate(inside)
