"""The page to tag on, from an ingest by the keyboard to the next ingest, as a person would go."""

from __future__ import annotations

import csv
import random
import shutil
from collections.abc import Callable
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from invented.card_photos import photo, put

from deerlog.ingest.field_log import FieldLog, read_field_log
from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property
from deerlog.report.page.contact_sheet import TaggingPages

if TYPE_CHECKING:
    from invented.headless_browser import HeadlessBrowser

FIRST = datetime(2025, 10, 1, 6)  # noqa: DTZ001
TODAY = date(2025, 12, 30)
SETTINGS = """\
name = "Alder Bottom"
latitude = 44.0
longitude = -91.0
timezone = "America/Chicago"
"""
CAMERAS = "camera,site,latitude,longitude,start\nSeep,Alder bend,44.0,-91.0,2025-09-01\n"
BUCKS = ("Ladle", "Tongs", "Kettle", "Trivet")
HOSTILE = (
    "<img src=x onerror=alert(1)>",
    "</script><script>document.title='ran'</script>",
    "=HYPERLINK(\"http://x\")",
    "+1+1",
    "@SUM(A1)",
    "-cmd",
    "He said \"no\", twice",
    "أيل \u202eكبير",
    "W" * 500,
)  # fmt: skip


@pytest.fixture
def ground(tmp_path: Path) -> Callable[..., Path]:
    """Makes a property of one camera with so many visits, and gives its folder."""

    def make(visits: int, bucks: tuple[str, ...] = BUCKS) -> Path:
        (tmp_path / "property.toml").write_text(SETTINGS, encoding="utf-8")
        (tmp_path / "cameras.csv").write_text(CAMERAS, encoding="utf-8")
        with (tmp_path / "bucks.csv").open("w", encoding="utf-8", newline="") as out:
            csv.writer(out).writerows([["buck"], *([name] for name in bucks)])
        for n in range(visits):
            taken = FIRST + timedelta(hours=7 * n)
            put(tmp_path / f"cards/Seep/100/IMG_{n:04d}.JPG", photo(taken, seed=n))
        (tmp_path / "saved").mkdir()
        ingest(tmp_path)
        return tmp_path

    return make


def ingest(folder: Path) -> None:
    place = open_property(folder)
    ingest_cards(place, today=TODAY, on_to_tag=TaggingPages(place).write)


def log(folder: Path) -> FieldLog:
    return read_field_log(open_property(folder))


def show(
    browser: HeadlessBrowser, folder: Path, *, width: int = 1280, forget: bool = False
) -> None:
    browser.open(folder / "tags" / "Seep.html", width=width)
    if forget:
        browser.evaluate("localStorage.clear()")
        browser.open(folder / "tags" / "Seep.html", width=width)
    browser.save_to(folder / "saved")
    listen(browser)


def listen(browser: HeadlessBrowser) -> None:
    """Wait until the page takes keys: a browser drops those before its first picture is shown."""
    browser.evaluate("heard = 0; addEventListener('keydown', () => { heard += 1; })")
    for _ in range(2000):
        browser.press("Escape")  # means nothing to the page
        if browser.evaluate("heard"):
            return
    raise TimeoutError("the page takes no keys")


def save(browser: HeadlessBrowser, folder: Path, name: str) -> Path:
    """Save as a person would, and put the file into tags/ under a name."""
    browser.press("s", control=True)
    browser.until("document.getElementById('unsaved').textContent === ''")
    for _ in range(1000):
        found = list((folder / "saved").glob("*.csv"))
        if found:
            return Path(shutil.move(found[0], folder / "tags" / name))
        browser.evaluate("new Promise(done => setTimeout(done, 20, true))")
    raise TimeoutError("nothing was saved")


def said(folder: Path) -> dict[str, str]:
    """What the log has of each photo's visit: names, ``-`` for a look without one."""
    found = log(folder)
    names: dict[int, list[str]] = {}
    for buck, visit, unsure in zip(
        found.sightings["buck"], found.sightings["visit"], found.sightings["unsure"], strict=True
    ):
        names.setdefault(visit, []).append(buck + "?" * unsure)
    visits = found.visits[found.visits["tagged"].astype(bool)]
    path = found.photos["path"].take(visits["photo_id"].to_numpy())
    return {
        file.rpartition("/")[2]: "; ".join(sorted(names.get(visit, ["-"])))
        for file, visit in zip(path, visits["visit"], strict=True)
    }


def test_a_card_is_tagged_by_the_keyboard(
    browser: HeadlessBrowser, ground: Callable[..., Path]
) -> None:
    folder = ground(150)
    draw = random.Random(20251201)
    wanted: list[str] = []
    for n in range(150):
        kind = draw.random()
        if kind < 0.5:
            wanted.append("-")
        elif kind < 0.6 and n:
            wanted.append(wanted[-1])
        else:
            two = sorted(draw.sample(BUCKS, 2))
            wanted.append("; ".join(two) if kind > 0.95 else two[0] + "?" * (kind > 0.9))
    show(browser, folder, forget=True)
    assert (
        browser.evaluate("document.getElementById('left').textContent") == "150 of 150 visits left"
    )
    shown = browser.evaluate("[...document.querySelectorAll('#names kbd')].map(k => k.textContent)")
    keys = dict(zip(BUCKS, shown, strict=True))
    strokes = 0
    for answer in wanted:
        if answer == "-":
            browser.press(" ")
            strokes += 1
            continue
        *first, last = answer.split("; ")
        for name in first:
            browser.press(keys[name], shift=True)
            strokes += 2
        if last.endswith("?"):
            browser.press("?")  # written with shift on most keyboards
            strokes += 2
        browser.press(keys[last.rstrip("?")])
        strokes += 1
    assert browser.evaluate("document.getElementById('left').textContent") == "0 of 150 visits left"
    save(browser, folder, "what I saw.csv")
    ingest(folder)
    assert said(folder) == {f"IMG_{n:04d}.JPG": answer for n, answer in enumerate(wanted)}
    assert not [p for p in log(folder).problems if p.file.startswith("tags/")]
    assert browser.complaints() == []
    # In a spreadsheet: the letters that tell him from the others (the program fills in the rest),
    # the marks, and the key that goes to the row below.
    sheet = sum(2 + 3 * answer.count(";") + 2 * answer.count("?") for answer in wanted)
    print(f"{strokes / 150:.2f} strokes a visit on the page, {sheet / 150:.2f} in the sheet")
    assert strokes / 150 <= 1.3 < sheet / 150


def test_unsure_same_several_undo_rest_and_written_names(
    browser: HeadlessBrowser, ground: Callable[..., Path]
) -> None:
    folder = ground(12)
    show(browser, folder, forget=True)
    for stroke in ("?", "l", "=", "+", "t", "k", "Enter"):
        browser.press(stroke)
    browser.press("t")  # taken back, and given to another
    held = "new KeyboardEvent('keydown', {key: ' ', repeat: true, bubbles: true})"
    browser.evaluate(f"document.body.dispatchEvent({held})")
    browser.press("Backspace")
    browser.press("k")
    browser.press("/")
    for letter in "Anvil?; ladle":
        browser.press(letter)
    browser.press("Enter")
    assert browser.evaluate("document.querySelectorAll('#names button').length") == 5
    browser.press("a")  # the name that was written has a key now
    browser.press("_")
    browser.press("Backspace")
    browser.press("ArrowUp")
    browser.press("l")
    browser.press("_")
    save(browser, folder, "a.csv")
    ingest(folder)
    assert [said(folder)[f"IMG_{n:04d}.JPG"] for n in range(12)] == [
        "Ladle?", "Ladle?", "Kettle; Tongs", "Kettle", "Anvil?; Ladle", "Ladle", *["-"] * 6
    ]  # fmt: skip


def test_what_is_answered_outlives_the_page_and_leaves_it_once(
    browser: HeadlessBrowser, ground: Callable[..., Path]
) -> None:
    folder = ground(5)
    show(browser, folder, forget=True)
    browser.press("l")
    browser.press(" ")
    (folder / "other.html").write_text("<!doctype html>", encoding="utf-8")
    browser.open(folder / "other.html", width=1280)
    show(browser, folder)
    assert browser.evaluate("document.getElementById('left').textContent") == "3 of 5 visits left"
    save(browser, folder, "one.csv")
    browser.press("t")
    save(browser, folder, "two.csv")  # the three, two of them again
    ingest(folder)
    assert said(folder) == {"IMG_0000.JPG": "Ladle", "IMG_0001.JPG": "-", "IMG_0002.JPG": "Tongs"}
    assert log(folder).sightings["photos"].tolist() == [1, 1]
    assert not [p for p in log(folder).problems if p.kind == "tag-said-twice"]
    show(browser, folder)
    assert browser.evaluate("document.getElementById('left').textContent") == "2 of 2 visits left"
    assert browser.evaluate("localStorage.length") == 0


def test_a_page_from_before_the_sheet_was_sorted_and_the_photos_moved(
    browser: HeadlessBrowser, ground: Callable[..., Path]
) -> None:
    folder = ground(6)
    show(browser, folder, forget=True)
    for stroke in ("l", "t", "k", "-", "-", "-"):
        browser.press(stroke)
    made = save(browser, folder, "later.csv")
    aside = shutil.move(made, folder / "later.csv")
    sheet = folder / "tags" / "Seep.csv"
    header, *rows = sheet.read_text(encoding="utf-8").splitlines()
    tagged = [row.replace(",,,", ",Trivet,,") if "IMG_0001" in row else row for row in rows]
    sheet.write_text("\n".join([header, *reversed(tagged), ""]), encoding="utf-8")
    (folder / "cards/Seep/100").rename(folder / "cards/Seep/200")
    ingest(folder)
    shutil.move(aside, folder / "tags" / "Seep (1).csv")
    ingest(folder)
    assert [said(folder)[f"IMG_{n:04d}.JPG"] for n in range(6)] == [
        "Ladle", "Tongs; Trivet", "Kettle", "-", "-", "-"
    ]  # fmt: skip
    (problem,) = [p for p in log(folder).problems if p.kind == "tag-said-twice"]
    assert (problem.file, problem.row) == ("tags/Seep (1).csv", 3)
    assert "tags/Seep.csv says otherwise" in problem.why
    assert set(problem.bucks) == {"Tongs", "Trivet"}
    assert "Tongs" not in sheet.read_text(encoding="utf-8"), "the sheet is as it was"


def test_an_answer_that_was_never_saved_is_not_lost_when_its_visit_leaves_the_page(
    browser: HeadlessBrowser, ground: Callable[..., Path]
) -> None:
    folder = ground(3)
    show(browser, folder, forget=True)
    browser.press("l")
    sheet = folder / "tags" / "Seep.csv"
    text = sheet.read_text(encoding="utf-8")
    sheet.write_text(text.replace(",,,", ",-,,", 1), encoding="utf-8")
    ingest(folder)
    show(browser, folder)
    assert browser.evaluate("document.getElementById('left').textContent") == "2 of 2 visits left"
    words = browser.evaluate("document.getElementById('said').textContent")
    assert words.startswith("1 answer to visits that are not here any more")
    save(browser, folder, "a.csv")
    assert said(folder) == {"IMG_0000.JPG": "Ladle"}
    (problem,) = [p for p in log(folder).problems if p.kind == "tag-said-twice"]
    assert problem.file == "tags/a.csv"


def test_the_middle_picture_comes_first_and_the_others_by_arrow(
    browser: HeadlessBrowser, contact_sheet: Path
) -> None:
    browser.open(contact_sheet, width=1280)
    listen(browser)
    shown = "document.querySelector('#one img').alt.slice(0, 14)"
    assert browser.evaluate(shown) == "Photo 10 of 20"
    browser.press("ArrowRight")
    assert browser.evaluate(shown) == "Photo 11 of 20"
    for _ in range(11):
        browser.press("ArrowLeft")
    assert browser.evaluate(shown) == "Photo 20 of 20"


def test_names_that_mean_harm_pass_unchanged_and_run_nothing(
    browser: HeadlessBrowser, ground: Callable[..., Path]
) -> None:
    folder = ground(len(HOSTILE) + 1, HOSTILE)
    browser.call(
        "Page.addScriptToEvaluateOnNewDocument", source="window.alert = () => { ran = 1; }"
    )
    show(browser, folder, forget=True)
    for n in range(len(HOSTILE)):
        browser.evaluate(f"document.querySelectorAll('#names button')[{n}].click()")
    written = "\"';<b>=x</b>".replace(";", "")
    browser.evaluate(f"document.getElementById('name').value = {written!r}")
    browser.evaluate("document.getElementById('typed').requestSubmit()")
    assert browser.evaluate("document.title") == "To tag: Seep, Alder Bottom"
    assert browser.evaluate("typeof ran") == "undefined"
    assert browser.evaluate("document.querySelectorAll('aside img, aside b').length") == 0
    made = save(browser, folder, "saved.csv")
    with made.open(encoding="utf-8-sig", newline="") as file:
        cells = [row["bucks"] for row in csv.DictReader(file)]
    assert [cell.strip() for cell in cells] == [*HOSTILE, written]
    assert [cell for cell in cells if cell[0] in "=+-@\t\r"] == [], "nothing a program would run"
    ingest(folder)
    assert sorted(said(folder).values()) == sorted([*HOSTILE, written])
    # The same by way of the sheet.
    browser.evaluate("document.getElementById('copy').click()")
    column = browser.evaluate("document.getElementById('to-copy').value").split("\n")
    made.unlink()
    sheet = folder / "tags" / "Seep.csv"
    with sheet.open(encoding="utf-8", newline="") as file:
        header, *rows = csv.reader(file)
    with sheet.open("w", encoding="utf-8", newline="") as file:
        pasted = [[*row[:3], cell, *row[4:]] for row, cell in zip(rows, column, strict=True)]
        csv.writer(file).writerows([header, *pasted])
    assert sorted(said(folder).values()) == sorted([*HOSTILE, written])
    assert browser.complaints() == []


def test_the_column_is_copied_in_the_order_of_the_sheet_with_what_stands_between(
    browser: HeadlessBrowser, ground: Callable[..., Path]
) -> None:
    folder = ground(6)
    sheet = folder / "tags" / "Seep.csv"
    header, *rows = sheet.read_text(encoding="utf-8").splitlines()
    rows[2] = rows[2].replace(",,,", ",Trivet?,,")
    sheet.write_text("\n".join([header, *reversed(rows), ""]), encoding="utf-8")
    ingest(folder)
    show(browser, folder, forget=True)
    for stroke in ("ArrowDown", "l", "ArrowDown", "t"):
        browser.press(stroke)
    browser.evaluate("document.getElementById('copy').click()")
    assert browser.evaluate("document.getElementById('to-copy').value").split("\n") == [
        "Ladle", "", "Trivet?", "Tongs"
    ]  # fmt: skip
    words = browser.evaluate("document.getElementById('said').textContent")
    assert "Paste at row 3 of bucks: that row must be 100/IMG_0004.JPG" in words
    assert "row 6 must be 100/IMG_0001.JPG" in words


def test_pictures_load_as_they_come_into_sight(
    browser: HeadlessBrowser, ground: Callable[..., Path]
) -> None:
    folder = ground(60)
    show(browser, folder)

    def asked_for() -> int:
        box = "i.getBoundingClientRect()"
        seen = f"i.checkVisibility() && {box}.bottom > 0 && {box}.top < innerHeight"
        browser.until(f"[...document.images].filter(i => {seen}).every(i => i.complete)")
        return len({a for a in browser.requests() if "/cards/" in a})

    assert asked_for() <= 2, "this visit's and the next one's"
    browser.press(".")
    at_first = asked_for()
    assert 2 < at_first < 40
    for _ in range(59):
        browser.press("ArrowDown")
    assert browser.evaluate("document.querySelectorAll('#list li').length") == 60
    assert asked_for() > at_first


def test_by_thumb_on_a_phone_one_by_one_and_in_the_list(
    browser: HeadlessBrowser, ground: Callable[..., Path]
) -> None:
    folder = ground(50)
    show(browser, folder, width=390, forget=True)

    def tap(element: str) -> None:
        box = browser.evaluate(f"(() => {{ const b = {element}.getBoundingClientRect();"
                               "return [b.x + b.width / 2, b.y + b.height / 2]; })()")  # fmt: skip
        assert 0 < box[0] < 390 and 0 < box[1] < 844, "it can be reached"
        for kind in ("mousePressed", "mouseReleased"):
            browser.call("Input.dispatchMouseEvent", type=kind, x=box[0], y=box[1], button="left",
                         clickCount=1)  # fmt: skip

    tap("document.querySelectorAll('#names button')[1]")
    tap("document.getElementById('nobody')")
    tap("document.getElementById('look')")
    assert 40 <= browser.evaluate("document.querySelectorAll('#list li').length") <= 50
    tap("document.querySelector('li[aria-current] .answer')")
    tap("document.getElementById('same')")
    browser.press(" ")  # nothing that was tapped takes the keys
    assert browser.evaluate(
        "document.querySelector('li[aria-current] .note').textContent"
    ).startswith("Row 6")
    save(browser, folder, "a.csv")
    ingest(folder)
    assert said(folder) == {
        "IMG_0000.JPG": "Tongs", "IMG_0001.JPG": "-", "IMG_0002.JPG": "-", "IMG_0003.JPG": "-"
    }  # fmt: skip
