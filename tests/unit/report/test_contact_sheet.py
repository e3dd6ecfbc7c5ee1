"""Pages to tag on: every visit with its row and pictures, a long backlog bounded, text as text."""

from __future__ import annotations

import json
import re
from base64 import b64encode
from dataclasses import replace
from hashlib import sha256
from typing import Any
from urllib.parse import unquote

from invented.invented_page import HOSTILE_NAME
from invented.invented_sheets import START, sheet, visit

from deerlog.ingest.to_tag import Picture, SheetToTag
from deerlog.report.page.contact_sheet import (
    PICTURES_SHOWN,
    KnownBuck,
    render_contact_sheet,
)


def page(shown: SheetToTag, *bucks: KnownBuck) -> str:
    return render_contact_sheet(shown, property_name="Alder Bottom", bucks=bucks)


def words(html: str) -> str:
    body = html[html.index("<body") :].partition("<script")[0]
    return " ".join(re.sub(r"<[^>]+>", " ", body).split())


def data(html: str) -> dict[str, Any]:
    (text,) = re.findall(r'<script type="application/json" id="data">(.*?)</script>', html)
    found: dict[str, Any] = json.loads(text)
    return found


def test_a_visit_is_given_with_row_time_site_file_and_pictures() -> None:
    shown = data(page(sheet(visit(0), visit(1, 1))))["visits"]
    assert [(v["row"], v["title"], v["about"], v["photo"], v["photos"]) for v in shown] == [
        (
            2,
            "Saturday 15 November 2025, 16:58:00",
            "Alder bend, 3 photos",
            "dump/100/V000_0.JPG",
            3,
        ),
        (3, "Saturday 15 November 2025, 23:58:00", "Alder bend, 1 photo", "dump/100/V001_0.JPG", 1),
    ]
    assert shown[0]["frames"] == [
        [f"../cards/cam-2/dump/100/V000_{n}.JPG", "photo", f"Photo {n + 1} of 3, 16:58:{10 * n:02}"]
        for n in range(3)
    ]


def test_the_time_of_a_row_is_that_of_its_photo_not_of_the_visit() -> None:
    late = replace(visit(0), photo_taken=START.replace(minute=59))
    (shown,) = data(page(sheet(late)))["visits"]
    assert (shown["taken"], shown["title"][-8:]) == ("2025-11-15 16:59:00", "16:58:00")


def test_visits_are_in_the_order_of_the_sheet() -> None:
    shown = data(page(sheet(*(visit(n) for n in (4, 0, 1)))))["visits"]
    assert [v["row"] for v in shown] == [6, 2, 3]


def test_a_long_backlog_is_counted() -> None:
    said = words(page(sheet(visit(0), visit(1), waiting=1640)))
    assert "The 2 newest visits of 1,640 still to tag in tags/cam-2.csv ." in said


def test_a_visit_of_very_many_pictures_is_bounded() -> None:
    (shown,) = data(page(sheet(visit(0, PICTURES_SHOWN + 30))))["visits"]
    assert len(shown["frames"]) == PICTURES_SHOWN
    assert shown["lacking"] == "30 later pictures not shown."


def test_without_files_it_says_so() -> None:
    some = visit(0, 3)
    gone = replace(some, pictures=(replace(some.pictures[0], file=None), *some.pictures[1:]))
    lists = sheet(visit(0, 1, kind="log", on_disk=False), visit(1, 3, on_disk=False), gone)
    one, none, two = data(page(lists))["visits"]
    assert one["lacking"].startswith("There is no picture of it on the disk")
    assert none["lacking"].startswith("There are no pictures of it on the disk")
    assert two["lacking"] == "1 of 3 are not on the disk any more."
    assert [len(v["frames"]) for v in (one, none, two)] == [0, 0, 2]


def test_videos_play_or_are_linked() -> None:
    film = visit(1, 1, kind="video")
    film = replace(film, pictures=(replace(film.pictures[0], file="cards/cam-2/a.AVI"),))
    one, other = data(page(sheet(visit(0, 1, kind="video"), film)))["visits"]
    assert one["frames"] == [
        ["../cards/cam-2/dump/100/V000_0.MP4", "video", "Video 1 of 1, 16:58:00"]
    ]
    assert one["about"] == "Alder bend, 1 video"
    assert other["frames"][0][:2] == ["../cards/cam-2/a.AVI", "link"]


def test_a_picture_of_the_other_camera_at_the_site_is_named() -> None:
    one = visit(0, 2)
    other = Picture("cam-9", one.taken, "photo", "cards/cam-9/x.JPG")
    (shown,) = data(page(sheet(replace(one, pictures=(one.pictures[0], other)))))["visits"]
    assert shown["frames"][1][2] == "Photo 2 of 2, 16:58:00, cam-9"


def test_nothing_to_tag() -> None:
    html = page(sheet(), KnownBuck("Mud Lark"))
    assert words(html).endswith("Nothing is left to tag in tags/cam-2.csv .")
    assert "Mud Lark" not in html and "<script" not in html


def test_the_names_and_the_cells_are_there_as_typed() -> None:
    bucks = (
        KnownBuck("Mud Lark", "split brow tine", ("data:image/jpeg;base64,AA==",)),
        KnownBuck("Ash"),
    )
    shown = data(page(replace(sheet(visit()), cells={2: "", 3: "Ash?"}), *bucks))
    assert shown["names"] == [
        ["Mud Lark", "split brow tine", ["data:image/jpeg;base64,AA=="]], ["Ash", "", []]
    ]  # fmt: skip
    assert shown["cells"] == {"2": "", "3": "Ash?"}


def test_what_a_person_or_a_card_named_is_text() -> None:
    folder = "a b#1/" + HOSTILE_NAME.replace("/", "") + "%20?x"
    evil = HOSTILE_NAME + "</script><!--<script>"
    shown = sheet(visit(0, 1, folder=folder, site=evil, camera="cam-2"))
    html = render_contact_sheet(shown, property_name=evil, bucks=[KnownBuck(evil, evil)])
    assert len(re.findall("<script", html)) == len(re.findall("</script>", html)) == 2
    found = data(html)
    assert found["names"] == [[evil, evil, []]] and found["property"] == evil
    address = found["visits"][0]["frames"][0][0]
    assert not re.search(r"[#?\"'<> ]", address), "nothing in a path is read as an address's own"
    assert unquote(address) == f"../cards/cam-2/{folder}/V000_0.JPG"


def test_only_the_script_of_the_page_may_run() -> None:
    html = page(sheet(visit(0)))
    (script,) = re.findall(r"<script>(.*?)</script>", html, re.DOTALL)
    own = b64encode(sha256(script.encode()).digest()).decode()
    assert f"default-src 'none'; script-src 'sha256-{own}';" in html
    assert not re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval\(", script)


def test_the_same_visits_give_the_same_bytes() -> None:
    assert page(sheet(visit(0), visit(1))) == page(sheet(visit(0), visit(1)))
