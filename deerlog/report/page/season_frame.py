"""Where things lie along a season: percents of its width, for the strips of weeks and of effort.

The strips are plain SVG with widths in percent and heights in px, so that a phone narrows them
without squeezing letters or hatching. A box is a row of ``left`` and ``width`` in percent,
``words`` for whoever points at it, and what its drawing needs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from deerlog.property.settings import Settings
from deerlog.report.page.template_engine import Row
from deerlog.report.words.words import MONTHS, count, day, half, number, percent, span

Dates = tuple[str, date, date]
"""A name with the days it begins and ends."""

LARGEST_BAR = 2.0
"""Weight (natural log of odds) that fills the height of an evidence bar; larger ones are cut."""


@dataclass(frozen=True, kw_only=True)
class SeasonFrame:
    """The fixed frame of one season, shared by all bucks.

    Attributes
    ----------
    season
        The calendar year it opens in.
    first, end
        Half-open days.
    phases
        In order, half-open, covering ``first`` to ``end``.
    hunting
        Hunting seasons as far as they lie in it; both their days are open days.
    """

    season: int
    first: date
    end: date
    rut_peak: date
    phases: tuple[Dates, ...]
    hunting: tuple[Dates, ...] = ()

    def place(self, first: date, end: date) -> tuple[float, float]:
        """Left end and width, in percent of the season, of half-open days cut to the season."""
        length = (self.end - self.first).days
        begin, finish = max(first, self.first), min(end, self.end)
        left = 100 * (begin - self.first).days / length
        return round(left, 3), round(max(100 * (finish - begin).days / length, 0), 3)

    def box(self, first: date, end: date, words: str = "", **more: Any) -> Row:
        """A box over half-open days."""
        left, width = self.place(first, end)
        return {"left": left, "width": width, "words": words, **more}

    def across(self, closed: float, rut: float) -> npt.NDArray[np.float64]:
        """How far across the season each of its days begins, and the last ends; 0 to 1.

        A day on which hunting is closed is ``closed`` as wide as another, one of the rut ``rut``
        times as wide.
        """
        days = [self.first + timedelta(days=n) for n in range((self.end - self.first).days)]
        is_open = [
            not self.hunting or any(opens <= day <= closes for _, opens, closes in self.hunting)
            for day in days
        ]
        in_rut = [
            any(name == "rut" and first <= day < end for name, first, end in self.phases)
            for day in days
        ]
        width = np.where(is_open, 1.0, closed) * np.where(in_rut, rut, 1.0)
        return np.append(0.0, np.cumsum(width)) / float(width.sum())

    @property
    def month_firsts(self) -> list[date]:
        """The first days of its months; of the first month, the season's first day."""
        days = [self.first]
        while (after := _next_month(days[-1])) < self.end:
            days.append(after)
        return days

    @property
    def months(self) -> list[Row]:
        """The months, with their first letter as words."""
        firsts = [*self.month_firsts, self.end]
        return [
            self.box(first, after, MONTHS[first.month - 1][:1]) for first, after in pairwise(firsts)
        ]

    @property
    def rut(self) -> list[Row]:
        """Where the rut lies: no box where the season has none, else one."""
        boxes = [self.box(first, end) for name, first, end in self.phases if name == "rut"]
        return [box for box in boxes if box["width"] > 0]

    @property
    def open_days(self) -> list[Row]:
        """When hunting is open, a box for each of its dates, named."""
        boxes = [
            self.box(opens, closes + timedelta(days=1), f"{name}: {span(opens, closes)}")
            for name, opens, closes in self.hunting
        ]
        return [box for box in boxes if box["width"] > 0]


def season_frame(settings: Settings, season: int) -> SeasonFrame:
    """The frame of one season of a property."""
    first, end = settings.calendar.bounds(season)
    return SeasonFrame(
        season=season,
        first=first,
        end=end,
        rut_peak=settings.calendar.rut_peak_day(season),
        phases=tuple(settings.calendar.phase_bounds(season)),
        hunting=tuple(
            (h.name, max(opens, first), min(closes, end - timedelta(days=1)))
            for h in settings.hunting
            for year in (first.year - 1, first.year, first.year + 1)
            for opens, closes in [
                (date(year, *h.opens), date(year + (h.closes < h.opens), *h.closes))
            ]
            if opens < end and closes >= first
        ),
    )


def _next_month(day: date) -> date:
    return date(day.year + day.month // 12, day.month % 12 + 1, 1)


def cut_frames(
    weeks: Mapping[int, Sequence[Row]], frames: Mapping[int, SeasonFrame]
) -> dict[int, SeasonFrame]:
    """The frame of each season of one buck's strip, cut to what its weeks fill.

    All are cut to the same stretch of the deer year, whole months from the first to the last with a
    week that was watched in any season: so the rows stay one above another, and no half of a
    phone's width goes to months that are still to come. The latest season is shown to its last
    week, watched or not, since that is what is not known now.

    Parameters
    ----------
    weeks
        Rows of ``Residency.weekly`` by season, oldest first.
    """
    lasts, firsts = [], []
    for season, cells in weeks.items():
        shown = [c for c in cells if c["state"] != "not watched"] or list(cells)
        latest = cells[-1:] if season == max(weeks) else []
        since = [(c["week_start"] - frames[season].first).days for c in (*shown, *latest)]
        firsts += [max(days, 0) for days in since[: len(shown)]]
        lasts += [days + 6 for days in since]
    if not firsts:
        return {season: frames[season] for season in weeks}
    cut = {}
    for season in weeks:
        frame = frames[season]
        begin = frame.first + timedelta(days=min(firsts))
        after = _next_month(frame.first + timedelta(days=max(lasts)))
        cut[season] = replace(
            frame, first=max(frame.first, begin.replace(day=1)), end=min(frame.end, after)
        )
    return cut


def week_boxes(frame: SeasonFrame, weeks: Sequence[Row]) -> list[Row]:
    """The weeks of one season of one buck, as far as they lie in the frame.

    ``kind`` is the class each is drawn with, ``around`` 0 to 1 or None, ``bar`` from -1 (argues
    for visiting) to 1.
    """
    boxes = [
        frame.box(
            week["week_start"],
            week["week_start"] + timedelta(days=7),
            _week_words(week),
            kind=week["state"].replace(" ", "-"),
            around=None if week["around"] is None else round(week["around"], 3),
            bar=round(max(-1.0, min(1.0, week["evidence"] / LARGEST_BAR)), 3),
        )
        for week in weeks
    ]
    return [box for box in boxes if box["width"] > 0]


def _week_words(week: Row) -> str:
    what: str = week["state"]
    if what == "seen":
        what += f" on {count(week['days_seen'], 'day')}, {count(week['visits'], 'visit')}"
    words = f"Week of {day(week['week_start'])}: {what}; {number(week['camera_days'])} camera-days"
    if week["around"] is not None:
        words += f"; likely around: {percent(week['around'])}"
    return f"{words}; {_argues(week['evidence'])}"


def _argues(weight: float) -> str:
    """Which side a week argues for, and how strongly, in natural log of odds."""
    shown = f"{weight:+.1f}"
    if float(shown) == 0:
        return "argues for neither"
    return f"argues for {'resident' if weight > 0 else 'visiting'} ({shown})"


def chance_shape(frame: SeasonFrame, days: Sequence[Row], highest: float) -> Row:
    """The days to come: a step a day, as high as its chance; ``highest`` fills the height.

    Its ``path`` is drawn in a box of ``days`` by 1, y downwards.
    """
    steps: list[str] = []
    last = None
    for place_of_day, each in enumerate(days):
        top = round(1 - each["chance"] / highest, 2) if highest else 1.0
        if top != last:
            steps.append(f"H{place_of_day}V{top:g}")
        last = top
    path = f"M0 1{''.join(steps)}H{len(days)}V1z"
    after = days[-1]["day"] + timedelta(days=1)
    return frame.box(days[0]["day"], after, days=len(days), path=path)


def window_boxes(frame: SeasonFrame, windows: Sequence[Row]) -> list[Row]:
    """His windows, named."""
    return [
        frame.box(
            w["opens"],
            w["closes"] + timedelta(days=1),
            f"{w['site']}, {half(w['half'])}s: {span(w['opens'], w['closes'])}",
        )
        for w in windows
    ]


def effort_boxes(frame: SeasonFrame, effort: Iterable[tuple[date, str, str]]) -> list[Row]:
    """Runs of days alike, each at one site.

    Parameters
    ----------
    effort
        Day, site and state (`deerlog.report.page.camera_contents.STATES`), in order. A day without
        a row, when the camera stood nowhere, has no box.
    """
    runs: list[tuple[date, date, str, str]] = []
    for when, site, state in effort:
        if frame.first <= when < frame.end:
            after = when + timedelta(days=1)
            if runs and runs[-1][1:] == (when, site, state):
                runs[-1] = (runs[-1][0], after, site, state)
            else:
                runs.append((when, after, site, state))
    return [
        frame.box(
            first, end, f"{site}: {state}, {span(first, end - timedelta(days=1))}", kind=state
        )
        for first, end, site, state in runs
    ]
