"""The page to tag on, in a headless browser: how soon it is there, and answers a key."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from statistics import median

from benchmarks.table import NOT_MEASURED, Row, seconds
from benchmarks.workbench import Workbench
from invented.card_photos import picture, put
from invented.invented_sheets import sheet, visit

from deerlog.report.page.contact_sheet import KnownBuck, render_contact_sheet
from deerlog.report.page.visit_pictures import picture_address

OPEN_SECONDS, KEY_SECONDS = 1.5, 0.05
BUCKS = 20
FACES = 4
PAUSE_SECONDS = 0.25
"""Between keys, as for a quick person: else the pictures of all are drawn at once."""
LOOKS = ("one by one", "in the list")
BARE = """<!doctype html><title>bare</title><p></p><script>
addEventListener("keydown", event => { document.querySelector("p").textContent += event.key; });
</script>"""
TIMED = """
strokes = [];
addEventListener("keydown", event => requestAnimationFrame(() => {
  const painted = new MessageChannel();
  painted.port1.onmessage = () => strokes.push(performance.now() - event.timeStamp);
  painted.port2.postMessage(0);
}), true);
"""


def rows(bench: Workbench) -> Iterator[Row]:
    """Opened until the first picture is there; each key until what it changed is painted."""
    bare = bench.folder / "bare.html"
    bare.write_text(BARE, encoding="utf-8")
    keys = 6 * bench.sizes.many
    floor = _times(bare, 1, keys)
    for visits in bench.sizes.page_visits:
        bench.tell(f"a page of {visits} visits")
        page = _page(bench.folder / f"page-{visits}", visits, 3 * keys)
        times = _times(page, bench.sizes.few, keys)
        aims = visits <= 500
        size = f"page to tag {visits:,} visits on"
        if times is None or floor is None:
            yield Row(work=size, measured=NOT_MEASURED)
            continue
        opened = times["open"][0]
        yield Row(
            work=f"{size}: opens",
            measured=seconds(opened),
            aim=f"{OPEN_SECONDS:g} s" * aims,
            met=opened <= OPEN_SECONDS if aims else None,
        )
        for look in LOOKS:
            spent, processor = median(times[look]), times[look + ", processor"][0]
            bare_spent = median(floor[look])
            yield Row(
                work=f"{size}: answers a key, {look}",
                measured=f"{seconds(spent)}, slowest {seconds(max(times[look]))}, "
                f"processor {seconds(processor)}",
                floor=f"{seconds(bare_spent)}, a page that shows the key",
                ratio=spent / bare_spent,
                aim=f"{KEY_SECONDS:g} s" * aims,
                met=spent <= KEY_SECONDS if aims else None,
            )


def _page(folder: Path, n: int, with_files: int) -> Path:
    shown = [visit(number, 5) for number in range(n)]
    for number, each in enumerate(shown[:with_files]):
        for k, one in enumerate(each.pictures):
            assert one.file is not None
            put(folder / one.file, picture((number + k) % 12, grey=False, width=1920, height=1440))
    bucks = [
        KnownBuck(
            f"{chr(65 + number)}nvil {number}",
            faces=tuple(
                picture_address(picture(FACES * number + k, grey=False, width=240, height=180))
                for k in range(FACES)
            ),
        )
        for number in range(BUCKS)
    ]
    given = replace(sheet(*shown), cells={each.row: "" for each in shown if each.row})
    path = folder / "tags" / "cam-2.html"
    path.parent.mkdir(parents=True)
    text = render_contact_sheet(given, property_name="Alder Bottom", bucks=bucks)
    path.write_text(text, encoding="utf-8")
    return path


def _times(page: Path, runs: int, keys: int) -> dict[str, list[float]] | None:
    """Seconds to open, the median of some runs; and of each key in each look. None: no browser.

    By the browser's own clock, from when it is asked for the page and from when a key is pressed;
    ``processor`` is what the page's main thread spent on a key, on average.
    """
    try:
        from invented.headless_browser import HeadlessBrowser, find_browser
    except ImportError:
        return None
    program = find_browser()
    if program is None:
        return None
    opened: list[float] = []
    times: dict[str, list[float]] = {}
    with HeadlessBrowser(program) as browser:
        for _ in range(runs):
            browser.open(page, width=1280)
            browser.until("[...document.querySelectorAll('#one img')].every(i => i.complete)")
            painted = "new Promise(d => requestAnimationFrame(() => setTimeout(d, 0)))"
            opened.append(browser.evaluate(f"{painted}.then(() => performance.now() / 1000)"))
        times["open"] = [median(opened)]
        browser.evaluate(TIMED)
        browser.call("Performance.enable", timeDomain="threadTicks")

        def processor() -> float:
            metrics = browser.call("Performance.getMetrics")["metrics"]
            return float(next(m["value"] for m in metrics if m["name"] == "TaskDuration"))

        for look in LOOKS:
            before = processor()
            for number in range(keys):
                browser.press("abcdefgh"[number % 8] if number % 2 else " ")
                time.sleep(PAUSE_SECONDS)
            times[look + ", processor"] = [(processor() - before) / keys]
            browser.press(".")
            browser.until(f"strokes.length === {keys + 1}")
            times[look] = [ms / 1000 for ms in browser.evaluate("strokes.splice(0)")[:keys]]
    return times
