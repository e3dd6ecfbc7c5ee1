"""Where things lie along a season: percents of its width, for the strips of days and of effort.

The strips are plain SVG with widths in percent and heights in px, so that a phone narrows them
without squeezing letters or hatching. A box is a row of ``left`` and ``width`` in percent,
``words`` for whoever points at it, and what its drawing needs.
"""

from __future__ import annotations

from calendar import isleap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from deerlog.analysis.season.day_states import DAY_STATES
from deerlog.property.settings import Settings
from deerlog.report.page.template_engine import Row
from deerlog.report.words.words import MONTHS, day, half, span

_DAY = timedelta(days=1)
_Alike = TypeVar("_Alike")
Dates = tuple[str, date, date]
"""A name with the days it begins and ends."""

LARGEST_BAR = 2.0
"""Weight (natural log of odds) that fills the height of an evidence bar; larger ones are cut."""


@dataclass(frozen=True, kw_only=True)
class SeasonFrame:
    """The fixed frame of one season, shared by all bucks: from ``first`` up to ``end``."""

    season: int
    """The calendar year it opens in."""
    first: date
    end: date
    rut_peak: date
    phases: tuple[Dates, ...]
    """In order, half-open, covering ``first`` to ``end``."""
    hunting: tuple[Dates, ...] = ()
    """Hunting seasons as far as they lie in it; both their days are open days."""

    def box(self, first: date, end: date, words: str = "", **more: Any) -> Row:
        """A box over half-open days, cut to the season."""
        left, right = (
            100 * self.place(min(max(day, self.first), self.end)) / self.length
            for day in (first, end)
        )
        width = round(max(right - left, 0), 3)
        return {"left": round(left, 3), "width": width, "words": words, **more}

    def place(self, day: date) -> int:
        """Days since its first, by a year that always has a 29 February: so a day of one season
        lies under the same day of another."""
        years = range(self.first.year, day.year + 1)
        firsts = (date(year, 3, 1) for year in years if not isleap(year))
        return (day - self.first).days + sum(self.first < march <= day for march in firsts)

    @property
    def length(self) -> int:
        """Its days, as `place` counts them."""
        return self.place(self.end)

    def boxes(self, spans: Iterable[tuple[date, date, str]]) -> list[Row]:
        """Boxes, named, over days of which both belong; none for what lies outside."""
        boxes = [self.box(first, last + _DAY, words) for first, last, words in spans]
        return [box for box in boxes if box["width"] > 0]

    def across(self, closed: float, rut: float) -> npt.NDArray[np.float64]:
        """How far across the season each of its days begins, and the last ends; 0 to 1.

        A day on which hunting is closed is ``closed`` as wide as another, one of the rut ``rut``
        times as wide.
        """
        days = [self.first + n * _DAY for n in range((self.end - self.first).days)]
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
        return self.boxes((a, end - _DAY, "") for name, a, end in self.phases if name == "rut")

    @property
    def open_days(self) -> list[Row]:
        """When hunting is open, a box for each of its dates, named."""
        return self.boxes((a, b, f"{name}: {span(a, b)}") for name, a, b in self.hunting)


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
            (h.name, max(opens, first), min(closes, end - _DAY))
            for h in settings.hunting
            for year in (first.year - 1, first.year, first.year + 1)
            for opens, closes in [h.days(year)]
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
    week, watched or not, since that is what is not known now. ``weeks`` are rows of
    ``Residency.weekly`` by season, oldest first.
    """
    lasts, firsts = [], []
    for season, cells in weeks.items():
        shown = [c for c in cells if c["state"] != "not watched"] or list(cells)
        latest = cells[-1:] if season == max(weeks) else []
        since = [(c["week_start"] - frames[season].first).days for c in (*shown, *latest)]
        firsts += [max(days, 0) for days in since[: len(shown)]]
        lasts += [days + 6 for days in since]
    cut = {season: frames[season] for season in weeks}
    if firsts:
        for season, frame in cut.items():
            begin = (frame.first + min(firsts) * _DAY).replace(day=1)
            after = _next_month(frame.first + max(lasts) * _DAY)
            cut[season] = replace(frame, first=max(frame.first, begin), end=min(frame.end, after))
    return cut


def evidence_bars(frame: SeasonFrame, weeks: Sequence[Row]) -> list[Row]:
    """What the weeks of one season of one buck argue, as far as they lie in the frame.

    ``bar`` is from -1 (for visiting) to 1; a week that argues for neither has none.
    """
    boxes = [
        frame.box(
            week["week_start"],
            week["week_start"] + 7 * _DAY,
            f"Week of {day(week['week_start'])}: argues for "
            f"{'visiting' if week['evidence'] < 0 else 'resident'} ({week['evidence']:+.1f})",
            bar=round(max(-1.0, min(1.0, week["evidence"] / LARGEST_BAR)), 3),
        )
        for week in weeks
        if f"{abs(week['evidence']):.1f}" != "0.0"  # natural log of odds
    ]
    return [box for box in boxes if box["width"] > 0]


def day_paths(frame: SeasonFrame, days: Iterable[tuple[date, str]]) -> list[Row]:
    """Days, in order, by state: a ``path`` for each of `DAY_STATES` in a box of
    ``frame.length`` by 1; for days not watched, boxes."""
    runs = _runs((day, (state,)) for day, state in days if frame.first <= day < frame.end)
    return [
        {
            "state": state,
            "kind": state.replace(" ", "-"),
            "path": "".join(
                f"M{frame.place(a)} 0h{frame.place(b + _DAY) - frame.place(a)}v1H{frame.place(a)}z"
                for a, b, said in runs
                if said == (state,)
            ),
            "boxes": frame.boxes(
                (a, b, f"{state}, {span(a, b)}") for a, b, s in runs if s == (state,)
            ),
        }
        for state in DAY_STATES
    ]


def _runs(days: Iterable[tuple[date, _Alike]]) -> list[tuple[date, date, _Alike]]:
    """Unbroken runs of days alike: the first, the last, what they are."""
    runs: list[tuple[date, date, _Alike]] = []
    for when, what in days:
        alike = bool(runs) and runs[-1][1:] == (when - _DAY, what)
        runs.append((runs.pop()[0] if alike else when, when, what))
    return runs


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
    return frame.box(days[0]["day"], days[-1]["day"] + _DAY, days=len(days), path=path)


def window_boxes(frame: SeasonFrame, windows: Sequence[Row]) -> list[Row]:
    """His windows, named."""
    spans = ((w["opens"], w["closes"], f"{w['site']}, {half(w['half'])}s") for w in windows)
    return [frame.box(a, b + _DAY, f"{words}: {span(a, b)}") for a, b, words in spans]


def effort_boxes(frame: SeasonFrame, effort: Iterable[tuple[date, str, str]]) -> list[Row]:
    """Runs of days alike, each at one site.

    ``effort`` is day, site and state (`deerlog.report.page.camera_contents.STATES`), in order. A
    day without a row, when the camera stood nowhere, has no box.
    """
    inside = ((day, each) for day, *each in effort if frame.first <= day < frame.end)
    return [
        frame.box(first, last + _DAY, f"{site}: {state}, {span(first, last)}", kind=state)
        for first, last, (site, state) in _runs(inside)
    ]
