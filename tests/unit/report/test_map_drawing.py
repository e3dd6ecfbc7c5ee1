"""The map of one buck: to scale, north up, and readable without seeing it."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from itertools import combinations
from typing import Any

import pytest
from invented.invented_page import ground, site_use

from deerlog.report.page.map_drawing import ground_map, map_panels, round_length
from deerlog.report.words.words import YARD_M, distance_words


def panels(drawn: dict[str, Any]) -> list[ET.Element]:
    markup = map_panels(drawn, "map-1", "Lantern & Co <i>")
    return list(ET.fromstring(markup).iter("svg"))


def place_of(svg: ET.Element, site: str) -> tuple[float, float]:
    """Where a site is drawn, whichever way it is marked."""
    for group in svg.iter("g"):
        title = group.find("title")
        if title is None or not (title.text or "").startswith(f"{site}:"):
            continue
        circle, polygon, path = group.find("circle"), group.find("polygon"), group.find("path")
        if circle is not None:
            return float(circle.attrib["cx"]), float(circle.attrib["cy"])
        if polygon is not None:
            x, y = re.findall(r"[-\d.]+", polygon.attrib["transform"])[:2]
            return float(x), float(y)
        assert path is not None
        x, y = re.findall(r"[-\d.]+", path.attrib["d"])[:2]
        return float(x) + 2.5, float(y) + 2.5
    raise AssertionError(f"{site} is not drawn")


def bar_length(svg: ET.Element) -> float:
    (bar,) = (g for g in svg.iter("g") if g.get("class") == "scale-bar")
    path = bar.find("path")
    assert path is not None
    return float(re.findall(r"h([\d.]+)", path.attrib["d"])[0])


@pytest.mark.parametrize("units", ["imperial", "metric"])
def test_the_scale_bar_measures_the_distances_drawn(units: str) -> None:
    drawn = ground() | {"units": units}
    for svg in panels(drawn):
        words = "".join(svg.itertext())
        value, unit = re.findall(r"([\d,]+) (yd|m)", words)[-1]
        bar_m = float(value.replace(",", "")) * (YARD_M if unit == "yd" else 1.0)
        assert unit == {"imperial": "yd", "metric": "m"}[units]
        per_metre = bar_length(svg) / bar_m
        for a in drawn["sites"]:
            for b in drawn["sites"]:
                apart = math.hypot(a["x_m"] - b["x_m"], a["y_m"] - b["y_m"])
                (ax, ay), (bx, by) = place_of(svg, a["site"]), place_of(svg, b["site"])
                assert math.hypot(ax - bx, ay - by) == pytest.approx(apart * per_metre, abs=0.3)


def test_north_is_up_and_east_to_the_right_at_one_scale_in_every_panel() -> None:
    drawn = ground()
    first, *others = panels(drawn)
    by_name = {s["site"]: s for s in drawn["sites"]}
    a, b = by_name["Seep"], by_name["Gate lane"]
    assert b["y_m"] > a["y_m"] and b["x_m"] > a["x_m"]
    (ax, ay), (bx, by) = place_of(first, a["site"]), place_of(first, b["site"])
    assert by < ay and bx > ax
    for other in others:
        assert other.get("viewBox") == first.get("viewBox")
        assert place_of(other, "Seep") == place_of(first, "Seep")


def test_everything_lies_inside_the_panel() -> None:
    drawn = ground()
    for svg in panels(drawn):
        _, _, width, height = map(float, svg.attrib["viewBox"].split())
        for site in drawn["sites"]:
            x, y = place_of(svg, site["site"])
            assert 8 <= x <= width - 8 and 8 <= y <= height - 24


def test_seen_not_seen_and_not_watched_differ_in_shape() -> None:
    summer, _, rut = panels(ground())
    kinds = {g.get("class"): g for g in rut.iter("g")}
    assert "no-camera" in kinds and "not-there" in kinds
    assert not any(g.get("class") == "no-camera" for g in summer.iter("g"))


def test_more_use_is_drawn_larger_and_by_area() -> None:
    summer = panels(ground())[0]
    size = {}
    for polygon in summer.iter("polygon"):
        x, y, scale = map(float, re.findall(r"[-\d.]+", polygon.attrib.get("transform", "0 0 0")))
        size[x, y] = scale
    # 24, 15 and 6 visits for the same camera-days.
    assert sorted(size.values(), reverse=True) == list(size.values())
    most, middle, least = size.values()
    assert most == 11.0
    assert (least - 4) / (most - 4) == pytest.approx(math.sqrt(6 / 24), abs=0.02)
    assert middle > least


def test_the_alternative_text_says_it_all() -> None:
    _, early, rut = panels(ground())
    title, words = early.findtext("title"), early.findtext("desc")
    assert title == "Lantern & Co <i>, early season: use of the sites"
    assert words is not None
    assert words.startswith("Oak flat: 24 visits, 8 in shooting light, 61.5 camera-days; ")
    assert "Cameras ran and he was not seen at Fence gap, Creek ford and Old still" in words
    assert words.endswith(
        "From summer the centre of his use moved 1,236 yd (1,028 yd to 1,433 yd)."
    )
    assert "Old still" not in (rut.findtext("desc") or "")
    labelled = early.attrib["aria-labelledby"].split()
    ids = [e.get("id") for e in early.iter() if e.get("id")]
    assert labelled == ids == ["map-1-2-title", "map-1-2-desc"]


def test_the_arrow_goes_from_centre_to_centre() -> None:
    drawn = ground()
    _, early, _ = panels(drawn)
    (group,) = (g for g in early.iter("g") if g.get("class") == "move")
    line, head = group.find("line"), group.find("polygon")
    assert line is not None and head is not None
    tail = float(line.attrib["x1"]), float(line.attrib["y1"])
    tip = tuple(map(float, head.attrib["points"].split()[0].split(",")))
    seep = place_of(early, "Seep")
    per_metre = bar_length(early) / (500 * YARD_M)
    assert tail == pytest.approx((seep[0] + 40 * per_metre, seep[1] - 90 * per_metre), abs=0.3)
    assert tip == pytest.approx((seep[0] + 870 * per_metre, seep[1] - 480 * per_metre), abs=0.3)


def test_one_site_or_none() -> None:
    one: dict[str, Any] = {
        "sites": [{"site": "Seep", "setting": "food", "x_m": 0.0, "y_m": 0.0}],
        "phases": {"rut": {"Seep": site_use("Seep", 1, camera_days=0.0)}},
        "moves": {},
        "units": "metric",
    }
    (svg,) = panels(one)
    x, y = place_of(svg, "Seep")
    assert 140 < x < 200 and y > 20
    assert map_panels(one | {"sites": []}, "m", "x") == ""
    still = {"from_x_m": 0, "from_y_m": 0, "to_x_m": 1, "to_y_m": 0, "words": "hardly"}
    unmoved = one | {"moves": {"rut": still}}
    assert not any(g.get("class") == "move" for g in panels(unmoved)[0].iter("g"))


def boxes(svg: ET.Element) -> dict[str, tuple[float, float, float, float]]:
    """Where each name is written: left, top, right, low."""
    return {
        text.text or "": (x := float(text.attrib["x"]), (y := float(text.attrib["y"])) - 8,
                          x + 5.6 * len(text.text or ""), y + 1)
        for text in svg.findall("text")
    }  # fmt: skip


def test_every_site_and_stand_is_named_and_no_name_lies_over_another() -> None:
    stands = [{"stand": "Oak ladder", "x_m": 440.0, "y_m": 600.0},
              {"stand": "Blind", "x_m": 10.0, "y_m": 20.0}]  # fmt: skip
    drawn = ground()
    svg = ET.fromstring(ground_map(drawn["sites"], stands, "imperial"))
    names = boxes(svg)
    assert set(names) == {s["site"] for s in drawn["sites"]} | {
        "Oak ladder",
        "Blind",
    }
    for (a, one), (b, other) in combinations(names.items(), 2):
        apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
        assert apart, (a, b)
    _, _, width, _ = map(float, svg.attrib["viewBox"].split())
    assert all(left >= 0 and right <= width for left, _, right, _ in names.values())
    classes = {g.get("class") for g in svg.iter("g")}
    assert {"scale-bar", "north", "stand"} <= classes
    assert ground_map([], stands, "imperial") == ""


def test_a_site_is_named_where_he_was_seen() -> None:
    summer = panels(ground())[0]
    assert set(boxes(summer)) == {"Seep", "Oak flat", "Gate lane"}


@pytest.mark.parametrize(
    ("most_m", "units", "metres", "words"),
    [
        (640.0, "metric", 500.0, "500 m"),
        (500.0, "metric", 500.0, "500 m"),
        (499.0, "metric", 200.0, "200 m"),
        (2300.0, "metric", 2000.0, "2,000 m"),
        (640.0, "imperial", 500 * YARD_M, "500 yd"),
        (100.0, "imperial", 100 * YARD_M, "100 yd"),
    ],
)
def test_round_lengths(most_m: float, units: str, metres: float, words: str) -> None:
    assert round_length(most_m, units) == (pytest.approx(metres), words)


@pytest.mark.parametrize(
    ("metres", "units", "words"),
    [
        (1146.0, "imperial", "1,250 yd"),
        (1609.344, "imperial", "1.0 miles"),
        (2300.0, "imperial", "1.4 miles"),
        (644.0, "metric", "640 m"),
        (2345.0, "metric", "2.3 km"),
        (0.0, "metric", "0 m"),
    ],
)
def test_distances_in_words(metres: float, units: str, words: str) -> None:
    assert distance_words(metres, units) == words
