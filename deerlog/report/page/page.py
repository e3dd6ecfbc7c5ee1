"""Renders the report page: one HTML file that needs no network and no script."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from markupsafe import Markup

from deerlog.report.page import strip_layout
from deerlog.report.page.day_hour_chart import day_hour_chart
from deerlog.report.page.map_drawing import map_panels
from deerlog.report.page.page_data import (
    BuckSection,
    DayHourSeason,
    OtherBuck,
    ReportPage,
    SeasonFrame,
)
from deerlog.report.page.svg import site_marks
from deerlog.report.page.template_engine import page_templates, style_sheet
from deerlog.report.words import words
from deerlog.report.words.plan_words import BRACKETS

SEASONS_OPEN = 2
"""How many seasons of charts stand open; earlier ones are folded away."""

SITS_OPEN = 5
"""How many of the recommended sits stand open; the others are folded away."""

_WORDS: Mapping[str, Callable[..., str]] = {
    "ago": words.ago,
    "answer": words.answer,
    "chance_words": words.chance_words,
    "count": words.count,
    "day": words.day,
    "half": words.half,
    "interval": words.interval,
    "label_word": words.label_word,
    "last_seen_words": words.last_seen_words,
    "listing": words.listing,
    "shortened_place": words.shortened_place,
    "number": words.number,
    "pattern_words": words.pattern_words,
    "percent": words.percent,
    "score": words.score,
    "season_name": words.season_name,
    "share_words": words.share_words,
    "shift_words": words.shift_words,
    "short_day": words.short_day,
    "weekday": words.weekday,
    "weekday_only": words.weekday_only,
}


def render_page(page: ReportPage) -> str:
    """The page as HTML text. The same page gives the same bytes.

    Every text a person typed is escaped by the template engine. The page also forbids itself any
    script and any address outside it, by its own content security policy.
    """
    environment = page_templates()
    environment.filters.update(_WORDS)
    environment.globals.update(
        span=words.span,
        why_sentences=words.why_sentences,
        rut_boxes=strip_layout.rut_boxes,
        hunting_boxes=strip_layout.hunting_boxes,
        week_boxes=strip_layout.week_boxes,
        month_boxes=strip_layout.month_boxes,
        effort_boxes=strip_layout.effort_boxes,
        chance_shape=strip_layout.chance_shape,
        window_boxes=strip_layout.window_boxes,
        highest_chance=words.highest_chance,
    )
    marks = site_marks(page.sites)
    frames = {frame.season: frame for frame in page.seasons}
    context: dict[str, Any] = {
        "page": page,
        "frames": frames,
        "marks": marks,
        "now": page.seasons[-1],
        "style": style_sheet(environment, "style.css"),
        "charts": [_charts(page, buck, n, frames) for n, buck in enumerate(page.bucks, start=1)],
        "maps": [_map(page, buck, n) for n, buck in enumerate(page.bucks, start=1)],
        "strip_frames": [strip_layout.strip_frames(buck.strip, frames) for buck in page.bucks],
        "sites_drawn": [_sites_drawn(buck) for buck in page.bucks],
        "other_orders": _other_orders(page.other_bucks),
        "seasons_open": SEASONS_OPEN,
        "sits_open": SITS_OPEN,
        "brackets": BRACKETS,
        "not_watched": words.not_watched_since(page.ran_until, page.as_of),
        "definitions": words.definitions(page),
        "safety": words.SAFETY,
    }
    return environment.get_template("page.html.j2").render(context)


def _charts(
    page: ReportPage, buck: BuckSection, place: int, frames: Mapping[int, SeasonFrame]
) -> list[tuple[DayHourSeason, Markup]]:
    """Day-by-hour charts of one buck, latest season first."""
    marks = site_marks(page.sites)
    charts = []
    for season in reversed(buck.day_hour):
        drawing = day_hour_chart(
            frames[season.season],
            season,
            page.sun[season.season],
            marks,
            as_of=page.as_of,
            chart_id=f"hours-{place}-{season.season}",
            title=f"{buck.name}, season {season.season}: his visits by day and hour",
            description=_chart_words(season),
        )
        charts.append((season, Markup(drawing)))
    return charts


def _map(page: ReportPage, buck: BuckSection, place: int) -> Markup:
    if buck.ground is None:
        return Markup("")
    marks = site_marks(page.sites)
    return Markup(map_panels(buck.ground, marks, map_id=f"map-{place}", buck=buck.name))


def _sites_drawn(buck: BuckSection) -> frozenset[str]:
    return frozenset(visit.site for season in buck.day_hour for visit in season.visits)


def _chart_words(season: DayHourSeason) -> str:
    sure = [v for v in season.visits if not v.unsure]
    unsure = len(season.visits) - len(sure)
    said = (
        f"{words.count(len(sure), 'visit')}, "
        f"{sum(v.in_light for v in sure)} of them in shooting light"
    )
    if unsure:
        said += f"; {words.count(unsure, 'unsure visit')} more, hollow"
    stretches = words.listing(words.span(s.first, s.last) for s in season.not_watched)
    if stretches:
        said += f". Not watched: {stretches}"
    return said + "."


def _other_orders(
    bucks: tuple[OtherBuck, ...],
) -> tuple[tuple[str, str, tuple[OtherBuck, ...]], ...]:
    """The table of other bucks in each order a reader may choose: id, words, rows.

    Each order is written out, so that choosing one needs no script and the order on the screen is
    the order a screen reader and a printer meet.
    """

    def by_name(buck: OtherBuck) -> tuple[str, str]:
        return buck.name.casefold(), buck.name

    named = sorted(bucks, key=by_name)
    scored = sorted(named, key=lambda b: -b.facts.score)
    last = sorted(
        named,
        key=lambda b: -(b.facts.last_seen.toordinal() if b.facts.last_seen else 0),
    )
    return (
        ("score", "Score", tuple(scored)),
        ("last-seen", "Last seen", tuple(last)),
        ("name", "Name", tuple(named)),
    )
