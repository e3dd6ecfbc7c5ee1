"""One headless browser and the pages it is shown, for all tests here.

A Chromium is taken from the path, or from the environment variable DEERLOG_TEST_BROWSER; where
there is none these tests are skipped.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from invented.card_photos import photo, put
from invented.invented_page import HOSTILE_NAME, page_of_property
from invented.invented_sheets import sheet, visit

from deerlog.report.page.contact_sheet import KnownBuck, render_contact_sheet
from deerlog.report.page.page import render_page

if TYPE_CHECKING:
    from conftest import Demo
    from invented.headless_browser import HeadlessBrowser


@pytest.fixture(scope="session")
def browser() -> Iterator[HeadlessBrowser]:
    pytest.importorskip("websocket", reason="the package websocket-client is not installed")
    from invented.headless_browser import ENVIRONMENT, HeadlessBrowser, find_browser

    program = find_browser()
    if program is None:
        pytest.skip(f"no Chromium on the path, nor one named by {ENVIRONMENT}")
    with HeadlessBrowser(program) as opened:
        yield opened


@pytest.fixture(scope="session")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Report pages by name, one file each."""
    folder = tmp_path_factory.mktemp("pages")
    full = page_of_property(folder / "property")
    first = full["bucks"][0] | {"name": "W" * 80 + HOSTILE_NAME}
    made = {
        "full": full,
        "empty": page_of_property(folder / "new", tagged=False),
        "hostile": full | {"property_name": HOSTILE_NAME * 3, "bucks": [first]},
    }
    paths = {}
    for name, page in made.items():
        paths[name] = folder / f"{name}.html"
        paths[name].write_text(render_page(page), encoding="utf-8", newline="\n")
    return paths


@pytest.fixture(scope="session")
def sample_page(demo: Demo) -> Path:
    """The report of the sample property, as `deerlog demo` writes it."""
    return demo.report / "report.html"


@pytest.fixture(scope="session")
def contact_sheet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A contact sheet in ``tags/`` with its cards beside it: long, hostile, gone and video."""
    folder = tmp_path_factory.mktemp("ground")
    hostile = "a b#1%20 " + HOSTILE_NAME.replace("/", "").replace('"', "'").replace("<", "(")
    hostile = "".join(c for c in hostile if c not in '<>:"|?*')
    visits = [
        visit(0, 20),
        visit(1, 2, folder=hostile, site=HOSTILE_NAME),
        visit(2, 1, kind="log", on_disk=False),
        visit(3, 1, kind="video"),
        visit(4, 1, row=None, folder="W" * 90),
    ]
    shown = sheet(*visits, waiting=640)
    for number, each in enumerate(visits):
        for n, picture in enumerate(each.pictures):
            if picture.file is not None and picture.kind == "photo":
                put(folder / picture.file, photo(picture.taken, seed=40 * number + n))
    page = folder / "tags" / "cam-2.html"
    page.parent.mkdir()
    notes = {"Mud Lark": "split brow tine", HOSTILE_NAME: HOSTILE_NAME}
    bucks = [KnownBuck(name=buck, notes=note) for buck, note in notes.items()]
    text = render_contact_sheet(shown, property_name="Alder Bottom", bucks=bucks)
    page.write_text(text, encoding="utf-8", newline="\n")
    return page
