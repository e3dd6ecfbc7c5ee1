"""Contact sheets: every visit with its row and pictures, a long backlog bounded, text as text."""

from __future__ import annotations

import re
from dataclasses import replace
from urllib.parse import unquote

from invented.invented_page import HOSTILE_NAME
from invented.invented_sheets import sheet, visit

from deerlog.ingest.to_tag import Picture, SheetToTag
from deerlog.report.page.contact_sheet import (
    PICTURES_OPEN,
    PICTURES_SHOWN,
    render_contact_sheet,
)


def page(shown: SheetToTag, *bucks: dict[str, str]) -> str:
    return render_contact_sheet(shown, property_name="Alder Bottom", bucks=bucks)


def words(html: str) -> str:
    body = html[html.index("<body") :]
    return " ".join(re.sub(r"<[^>]+>", " ", body).split())


def pictures(html: str) -> list[str]:
    return re.findall(r'<img [^>]*src="([^"]*)"', html)


def test_a_visit_is_shown_with_row_time_site_file_and_pictures() -> None:
    html = page(sheet(visit(0), visit(1, 1)))
    said = words(html)
    assert "2 visits still to tag in tags/cam-2.csv , in its order." in said
    assert "Row 2 16:58:00, Alder bend, 3 photos dump/100/V000_0.JPG" in said
    assert "Row 3 23:58:00, Alder bend, 1 photo dump/100/V001_0.JPG" in said
    assert pictures(html) == [
        *(f"../cards/cam-2/dump/100/V000_{n}.JPG" for n in range(3)),
        "../cards/cam-2/dump/100/V001_0.JPG",
    ]
    assert html.count('loading="lazy"') == 4
    assert 'alt="Photo 2 of 3, 16:58:10, Alder bend"' in html


def test_days_head_the_visits_in_the_order_of_the_sheet() -> None:
    html = page(sheet(*(visit(n) for n in (4, 0, 1))))
    assert re.findall(r"<h2>(.*?)</h2>", html) == [
        "Sunday 16 November 2025",
        "Saturday 15 November 2025",
    ]


def test_a_long_backlog_is_counted() -> None:
    said = words(page(sheet(visit(0), visit(1), waiting=1640)))
    assert "The 2 newest visits of 1,640 still to tag in tags/cam-2.csv ." in said


def test_a_visit_of_very_many_pictures_is_folded_and_bounded() -> None:
    html = page(sheet(visit(0, PICTURES_SHOWN + 30)))
    opened, folded = html.split("<details>")
    assert len(pictures(opened)) == PICTURES_OPEN
    assert len(pictures(folded)) == PICTURES_SHOWN - PICTURES_OPEN
    assert "228 more pictures" in words(html)
    assert "30 later pictures not shown." in words(html)


def test_without_files_it_says_so() -> None:
    listed = sheet(visit(0, 1, kind="log", on_disk=False))
    assert "There is no picture of it on the disk" in words(page(listed))
    assert "There are no pictures of it" in words(page(sheet(visit(0, 3, on_disk=False))))
    some = visit(0, 3)
    gone = replace(some, pictures=(replace(some.pictures[0], file=None), *some.pictures[1:]))
    html = page(sheet(gone))
    assert "1 of 3 are not on the disk any more." in words(html)
    assert len(pictures(html)) == 2


def test_videos_play_or_are_linked() -> None:
    html = page(sheet(visit(0, 1, kind="video")))
    assert '<video controls preload="none" src="../cards/cam-2/dump/100/V000_0.MP4"' in html
    assert "1 video" in words(html)
    film = visit(0, 1, kind="video")
    film = replace(film, pictures=(replace(film.pictures[0], file="cards/cam-2/a.AVI"),))
    html = page(sheet(film))
    assert "<video" not in html
    assert 'href="../cards/cam-2/a.AVI"' in html


def test_a_picture_of_the_other_camera_at_the_site_is_named() -> None:
    one = visit(0, 2)
    other = Picture("cam-9", one.taken, "photo", "cards/cam-9/x.JPG")
    html = page(sheet(replace(one, pictures=(one.pictures[0], other))))
    assert "2 of 2, 16:58:00, cam-9" in words(html)


def test_a_visit_without_a_row_says_so() -> None:
    assert "No row yet" in words(page(sheet(visit(0, row=None))))


def test_nothing_to_tag() -> None:
    said = words(page(sheet(), {"buck": "Mud Lark", "notes": ""}))
    assert said.endswith("Nothing is left to tag in tags/cam-2.csv .")
    assert "Mud Lark" not in said


def test_the_names_that_may_be_written_are_there() -> None:
    lark, ash = {"buck": "Mud Lark", "notes": "split brow tine"}, {"buck": "Ash", "notes": ""}
    said = words(page(sheet(visit()), lark, ash))
    assert "Mud Lark : split brow tine Ash" in said


def test_what_a_person_or_a_card_named_is_text() -> None:
    folder = "a b#1/" + HOSTILE_NAME.replace("/", "") + "%20?x"
    shown = sheet(visit(0, 1, folder=folder, site=HOSTILE_NAME, camera="cam-2"))
    html = render_contact_sheet(
        shown, property_name=HOSTILE_NAME, bucks=[{"buck": HOSTILE_NAME, "notes": HOSTILE_NAME}]
    )
    assert "<script" not in html
    (address,) = pictures(html)
    assert not re.search(r"[#?\"'<> ]", address), "nothing in a path is read as an address's own"
    assert unquote(address) == f"../cards/cam-2/{folder}/V000_0.JPG"


def test_the_same_visits_give_the_same_bytes() -> None:
    assert page(sheet(visit(0), visit(1))) == page(sheet(visit(0), visit(1)))
