"""Renders the report page: one HTML file that needs no network and no script."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any
from urllib.parse import quote

import pandas as pd
from markupsafe import Markup

from deerlog.report.page import season_frame
from deerlog.report.page.buck_contents import not_watched
from deerlog.report.page.day_hour_chart import day_hour_chart
from deerlog.report.page.map_drawing import map_panels
from deerlog.report.page.svg import MARKS
from deerlog.report.page.template_engine import Row, page_templates, records, style_sheet
from deerlog.report.words import words

SITS_OPEN = 3
"""How many of the recommended sits stand on the first screens; the others are folded away."""
STAY_OUTS_OPEN = 3
BUCKS_OPEN = 8
"""Bucks whose state is told on the first screens; more would leave no room (our choice)."""

_WORDS: Mapping[str, Callable[..., str]] = {
    name: getattr(words, name)
    for name in (
        "ago", "answer", "chance_words", "count", "day", "half", "interval",
        "last_seen_words", "listing", "number", "percent", "score", "share_words",
        "shift_words", "short_day", "shortened_place", "span", "sentence", "weekday",
    )
}  # fmt: skip


def render_page(page: Row) -> str:
    """The page of `deerlog.report.page.contents.page_of_study` as HTML text, the same bytes for the
    same page.

    Every text a person typed is escaped by the template engine. The page also forbids itself any
    script and any address outside it, by its own content security policy.
    """
    environment = page_templates()
    environment.filters.update(_WORDS, from_report=lambda file: f"../../{quote(file)}")
    drawn = ("day_paths", "evidence_bars", "effort_boxes", "chance_shape", "window_boxes")
    environment.globals.update(_WORDS, **{name: getattr(season_frame, name) for name in drawn})
    frames = page["frames"]
    bucks = [
        buck
        | {
            "charts": _charts(page, buck, n),
            "map": Markup(
                map_panels(buck["ground"], f"map-{n}", buck["name"]) if buck["ground"] else ""
            ),
            "linked": {
                f"hours-{n}-{season}-v{place}": row
                for season in sorted(buck["weeks"])[-1:]
                for place, row in enumerate(records(buck["visits"][season]))
            },
            "frames": season_frame.cut_frames(buck["weeks"], frames),
        }
        for n, buck in enumerate(page["bucks"], start=1)
    ]
    return environment.get_template("page.html.j2").render(
        page | {"bucks": bucks, "ground": Markup(page["ground"])},
        now=frames[max(frames)],
        style=style_sheet(environment, "style.css"),
        settings_drawn=MARKS.items(),
        highest=max((day["chance"] for b in bucks for day in b["ahead"]), default=0.0),
        sits_open=SITS_OPEN,
        stay_outs_open=STAY_OUTS_OPEN,
        bucks_open=BUCKS_OPEN,
        not_watched=words.not_watched_since(page["ran_until"], page["as_of"]),
        definitions=words.definitions(page["settings"]),
        safety=words.SAFETY,
    )


def _charts(page: Row, buck: Row, place: int) -> dict[int, Markup]:
    """Day-by-hour charts of one buck by season, the latest first."""
    charts = {}
    for season in sorted(buck["weeks"], reverse=True):
        stretches = not_watched(buck["weeks"][season], page["as_of"])
        visits = buck["visits"][season]
        drawing = day_hour_chart(
            page["frames"][season],
            visits,
            page["sun"][season],
            not_watched=stretches,
            linked=season == max(buck["weeks"]),
            as_of=page["as_of"],
            chart_id=f"hours-{place}-{season}",
            title=f"{buck['name']}, season {season}: his visits by day and hour",
            description=_chart_words(visits, stretches),
        )
        charts[season] = Markup(drawing)
    return charts


def _chart_words(visits: pd.DataFrame, stretches: list[tuple[Any, Any]]) -> str:
    is_unsure = visits["unsure"].astype(bool)
    unsure = int(is_unsure.sum())
    light = int(visits.loc[~is_unsure, "in_light"].sum())
    said = f"{words.count(len(visits) - unsure, 'visit')}, {light} of them in shooting light"
    if unsure:
        said += f"; {words.count(unsure, 'unsure visit')} more, grey"
    if stretches:
        said += f". Not watched: {words.listing(words.span(*s) for s in stretches)}"
    return said + "."
