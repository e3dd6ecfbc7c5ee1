from __future__ import annotations

import re
import warnings
from dataclasses import replace
from datetime import date
from xml.etree import ElementTree

import pandas as pd
import pytest
from invented.invented_page import AS_OF, HOSTILE_NAME, frame, sun

from deerlog.report.page.day_hour_chart import day_hour_chart
from deerlog.report.page.season_frame import SeasonFrame
from deerlog.report.page.svg import MARKS

Visit = tuple[pd.Timestamp, str, bool, bool]


def visit(day: date, hour: float, setting: str, **more: bool) -> Visit:
    local = pd.Timestamp(day, tz="America/Chicago") + pd.Timedelta(hours=hour)
    return local, setting, more.get("in_light", True), more.get("unsure", False)


def chart(
    *visits: Visit,
    not_watched: tuple[tuple[date, date], ...] = (),
    the_frame: SeasonFrame | None = None,
    as_of: date = AS_OF,
    linked: bool = False,
    chart_id: str = "hours-1-2025",
    title: str = "t",
) -> str:
    table = pd.DataFrame(list(visits), columns=["local", "setting", "in_light", "unsure"])
    table["site"] = "Seep & Co"
    return day_hour_chart(
        the_frame or frame(2025),
        table.astype({"local": "datetime64[us, America/Chicago]"}),
        sun(2025),
        not_watched=not_watched,
        as_of=as_of,
        linked=linked,
        chart_id=chart_id,
        title=title,
        description="d",
    )


def marks_drawn(svg: str, colour: int) -> list[tuple[float, float]]:
    """Places of the filled marks of one colour, in drawing units."""
    pattern = rf'<use [^>]*x="([\d.]+)" y="([\d.]+)" style="fill: var\(--mark-{colour}\)'
    return [(float(x), float(y)) for x, y in re.findall(pattern, svg)]


def test_a_mark_a_visit_where_its_day_and_hour_are() -> None:
    svg = chart(
        visit(date(2025, 6, 1), 6.0, "food"),
        visit(date(2025, 6, 1), 18.0, "food"),
        visit(date(2025, 9, 1), 6.0, "food"),
        visit(date(2025, 9, 1), 6.0, "bed"),
    )
    food = sorted(marks_drawn(svg, MARKS["food"].colour))
    assert len(food) == 3
    assert len(marks_drawn(svg, MARKS["bed"].colour)) == 1
    dawn, dusk, later = food
    assert dusk[1] > dawn[1], "the day reads downwards"
    assert later[0] > dawn[0], "the season reads to the right"
    assert later[1] == pytest.approx(dawn[1], abs=0.02)
    # 92 days on which hunting is closed, of 232 and 100 open ones, 22 of them in the rut.
    wide = 265 * 0.3 + 100 + 22
    assert later[0] - dawn[0] == pytest.approx(92 * 0.3 / wide * 292, abs=0.05)


def test_a_visit_in_the_dark_is_hollow_and_an_unsure_one_grey() -> None:
    colour = MARKS["food"].colour
    dark = chart(visit(date(2025, 9, 1), 3.0, "food", in_light=False))
    assert marks_drawn(dark, colour) == []
    assert re.search(rf"fill: var\(--card\); stroke: var\(--mark-{colour}\)", dark)
    unsure = chart(visit(date(2025, 9, 1), 6.0, "food", unsure=True))
    assert f"--mark-{colour}" not in unsure
    assert "fill: var(--soft); stroke: var(--card)" in unsure


@pytest.mark.parametrize("in_light", [True, False])
def test_a_mark_is_six_pixels_wide_at_the_least(in_light: bool) -> None:
    svg = chart(visit(date(2025, 9, 1), 6.0, "bed", in_light=in_light), linked=True)
    (path,) = re.findall(r'<path id="hours-1-2025-m[^"]+" d="(M -?3[^"]+)"', svg)
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", path)]
    assert max(numbers[::2]) - min(numbers[::2]) >= 6


def test_a_mark_leads_to_its_visit() -> None:
    visits = (visit(date(2025, 9, 1), 6.0, "bed"), visit(date(2025, 9, 2), 6.0, "food"))
    linked = chart(*visits, linked=True)
    assert set(re.findall(r'<a [^>]*href="#([^"]+)"', linked)) == {
        "hours-1-2025-v0",
        "hours-1-2025-v1",
    }
    assert "<title>Seep &amp; Co, 1 Sep 2025 06:00</title>" in linked
    assert "<a " not in chart(*visits)


def test_stretches_not_watched_are_hatched() -> None:
    stretch = (date(2025, 7, 1), date(2025, 7, 20))
    assert "<pattern" not in chart()
    hatched = chart(not_watched=(stretch,))
    assert hatched.count("<pattern") == 1
    assert "var(--hatch)" in hatched


def test_days_to_come_are_veiled_and_a_past_season_is_not() -> None:
    assert "still to come" in chart()
    assert "still to come" not in chart(as_of=date(2026, 8, 1))


def test_only_colours_of_the_page() -> None:
    svg = chart(visit(date(2025, 9, 1), 6.0, "food"))
    assert not re.search(r"#[0-9a-fA-F]{6}\b", svg.replace('href="#', ""))
    assert "<style" not in svg, "a style element would rule over the whole page"


def test_two_charts_share_no_id() -> None:
    visits = (visit(date(2025, 9, 1), 6.0, "food"),)
    ids = [set(re.findall(r'\bid="([^"]+)"', chart(*visits, chart_id=c))) for c in ("one", "two")]
    assert ids[0]
    assert ids[0].isdisjoint(ids[1])


def test_every_reference_stays_inside_the_chart() -> None:
    svg = chart(
        visit(date(2025, 9, 1), 6.0, "food"),
        not_watched=((date(2025, 7, 1), date(2025, 7, 2)),),
    )
    ids = set(re.findall(r'\bid="([^"]+)"', svg))
    wanted = set(re.findall(r'href="#([^"]+)"|url\(#([^)]+)\)', svg))
    assert {a or b for a, b in wanted} <= ids


def test_same_input_same_bytes() -> None:
    visits = (visit(date(2025, 9, 1), 6.0, "food"), visit(date(2025, 9, 2), 7.0, "bed"))
    assert chart(*visits) == chart(*visits)
    assert chart(*visits) == chart(*reversed(visits))


def test_hostile_names_are_text_and_warn_of_nothing() -> None:
    dates = ("$x_1$ <b>", date(2025, 10, 1), date(2025, 10, 9))
    emoji = ("🦌" * 30, date(2025, 12, 1), date(2025, 12, 9))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        svg = chart(the_frame=replace(frame(2025), hunting=(dates, emoji)), title=HOSTILE_NAME)
    texts = ["".join(e.itertext()) for e in ElementTree.fromstring(svg).iter()]
    assert "$x_1$ <b>" in texts
    assert "🦌" * 13 + "…" in texts
    assert HOSTILE_NAME in texts


def test_hunting_dates_that_overlap_lie_in_lanes_of_their_own() -> None:
    bow = ("bow", date(2025, 9, 27), date(2026, 1, 4))
    gun = ("gun", date(2025, 11, 29), date(2025, 12, 5))
    late = ("late", date(2026, 3, 1), date(2026, 3, 5))
    places = {}
    for name, hunting in {"apart": (bow, late), "overlapping": (bow, gun)}.items():
        svg = chart(the_frame=replace(frame(2025), hunting=hunting))
        found = [re.search(rf'<text [^>]*y="([\d.]+)"[^>]*>{h[0]}</text>', svg) for h in hunting]
        places[name] = [float(f.group(1)) for f in found if f]
        assert len(places[name]) == 2
    assert places["apart"][0] == places["apart"][1]
    assert places["overlapping"][0] > places["overlapping"][1]


def test_a_season_without_a_visit_can_be_drawn() -> None:
    ElementTree.fromstring(chart())
    assert "noon" in chart()
