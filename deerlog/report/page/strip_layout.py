"""Where things lie along a season: percents of its width, for the strips of weeks and of effort.

The strips are plain SVG with widths in percent and heights in px, so that a phone narrows them
without squeezing letters or hatching.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from deerlog.report.page.buck_data import EffortDay
from deerlog.report.page.page_data import (
    ChanceStrip,
    Half,
    SeasonFrame,
    StripSeason,
    WeekCell,
    WindowRow,
)
from deerlog.report.words.words import MONTHS, count, day, number, percent, span

_WHOLE_DAY = 0.95  # a camera-day above this is drawn as a whole one; our choice
LARGEST_BAR = 2.0
"""Weight (natural log of odds) that fills the height of an evidence bar; larger ones are cut."""


@dataclass(frozen=True, kw_only=True)
class Box:
    """A stretch of a season: left end and width in percent of its width, both rounded.

    ``kind`` is the class it is drawn with; ``words`` says the same to whoever points at it.
    """

    left: float
    width: float
    kind: str
    words: str = ""


@dataclass(frozen=True, kw_only=True)
class WeekBox:
    """One week of the strip; ``around`` 0 to 1 or None; ``bar`` from -1 (visiting) to 1."""

    box: Box
    around: float | None
    bar: float | None


def place(frame: SeasonFrame, first: date, end: date) -> tuple[float, float]:
    """Left end and width, in percent of the season, of half-open days cut to the season."""
    length = (frame.end - frame.first).days
    begin, finish = max(first, frame.first), min(end, frame.end)
    left = 100 * (begin - frame.first).days / length
    return round(left, 3), round(max(100 * (finish - begin).days / length, 0), 3)


def strip_frames(
    strips: Sequence[StripSeason], frames: Mapping[int, SeasonFrame]
) -> dict[int, SeasonFrame]:
    """The frame of each season of one buck's strip, cut to what its weeks fill.

    All are cut to the same stretch of the deer year, whole months from the first to the last with a
    week that was watched in any season: so the rows stay one above another, and no half of a
    phone's width goes to months that are still to come. The latest season is shown to its last
    week, watched or not, since that is what is not known now.
    """
    lasts, firsts = [], []
    for strip in strips:
        first = frames[strip.season].first
        watched = [c for c in strip.cells if c.state != "not watched"]
        shown = watched or list(strip.cells)
        latest = list(strip.cells[-1:]) if strip is strips[-1] else []
        firsts += [max((c.week_start - first).days, 0) for c in shown]
        lasts += [(c.week_start - first).days + 6 for c in (*shown, *latest)]
    if not firsts:
        return {strip.season: frames[strip.season] for strip in strips}
    cut = {}
    for strip in strips:
        frame = frames[strip.season]
        begin = frame.first + timedelta(days=min(firsts))
        last = frame.first + timedelta(days=max(lasts))
        after = date(last.year + last.month // 12, last.month % 12 + 1, 1)
        cut[strip.season] = replace(
            frame,
            first=max(frame.first, begin.replace(day=1)),
            end=min(frame.end, after),
        )
    return cut


def week_boxes(frame: SeasonFrame, strip: StripSeason) -> tuple[WeekBox, ...]:
    """The weeks of one season of one buck, as far as they lie in the frame."""
    boxes = (_week_box(frame, cell) for cell in strip.cells)
    return tuple(week for week in boxes if week.box.width > 0)


def _week_box(frame: SeasonFrame, cell: WeekCell) -> WeekBox:
    left, width = place(frame, cell.week_start, cell.week_start + timedelta(days=7))
    bar = None
    if cell.weight is not None:
        bar = round(max(-1.0, min(1.0, cell.weight / LARGEST_BAR)), 3)
    return WeekBox(
        box=Box(left=left, width=width, kind=cell.state.replace(" ", "-"), words=_week_words(cell)),
        around=None if cell.around is None else round(cell.around, 3),
        bar=bar,
    )


def _week_words(cell: WeekCell) -> str:
    what: str = cell.state
    if cell.state == "seen":
        what += f" on {count(cell.days_seen, 'day')}, {count(cell.visits, 'visit')}"
    words = f"Week of {day(cell.week_start)}: {what}; {number(cell.camera_days)} camera-days"
    if cell.around is not None:
        words += f"; likely around: {percent(cell.around)}"
    if cell.weight is not None:
        words += f"; {_argues(cell.weight)}"
    return words


def _argues(weight: float) -> str:
    """Which side a week argues for, and how strongly, in natural log of odds."""
    shown = f"{weight:+.1f}"
    if float(shown) == 0:
        return "argues for neither"
    return f"argues for {'resident' if weight > 0 else 'visiting'} ({shown})"


def month_boxes(frame: SeasonFrame) -> tuple[Box, ...]:
    """The months of a season, with their first letter as words."""
    boxes = []
    first = frame.first
    while first < frame.end:
        after = date(first.year + first.month // 12, first.month % 12 + 1, 1)
        left, width = place(frame, first, after)
        boxes.append(Box(left=left, width=width, kind="month", words=MONTHS[first.month - 1][:1]))
        first = after
    return tuple(boxes)


def rut_boxes(frame: SeasonFrame) -> tuple[Box, ...]:
    """Where the rut lies: no box where a season has none, else one."""
    spans = (place(frame, p.first, p.end) for p in frame.phases if p.name == "rut")
    return tuple(Box(left=left, width=width, kind="rut") for left, width in spans if width > 0)


def hunting_boxes(frame: SeasonFrame) -> tuple[Box, ...]:
    """When hunting is open, a box for each of its dates, named."""
    boxes = []
    for dates in frame.hunting:
        left, width = place(frame, dates.opens, dates.closes + timedelta(days=1))
        words = f"{dates.name}: {span(dates.opens, dates.closes)}"
        if width > 0:
            boxes.append(Box(left=left, width=width, kind="hunting", words=words))
    return tuple(boxes)


@dataclass(frozen=True, kw_only=True)
class ChanceShape:
    """The chances of one half as a shape.

    ``path`` is drawn in a box of ``days`` by 1, y downwards, that fills ``left`` and ``width``
    percent of the season.
    """

    left: float
    width: float
    days: int
    path: str


def chance_shape(frame: SeasonFrame, strip: ChanceStrip, highest: float) -> ChanceShape:
    """One step a day, as high as its chance; ``highest`` fills the height."""
    left, width = place(frame, strip.days[0].day, strip.days[-1].day + timedelta(days=1))
    steps: list[str] = []
    last = None
    for place_of_day, each in enumerate(strip.days):
        top = round(1 - each.chance / highest, 2) if highest else 1.0
        if top != last:
            steps.append(f"H{place_of_day}V{top:g}")
        last = top
    days = len(strip.days)
    return ChanceShape(left=left, width=width, days=days, path=f"M0 1{''.join(steps)}H{days}V1z")


def window_boxes(frame: SeasonFrame, windows: Sequence[WindowRow], half: Half) -> tuple[Box, ...]:
    """The windows of one half, named."""
    boxes = []
    for window in windows:
        if window.half == half:
            left, width = place(frame, window.opens, window.closes + timedelta(days=1))
            words = f"{window.site}: {span(window.opens, window.closes)}"
            boxes.append(Box(left=left, width=width, kind="window", words=words))
    return tuple(boxes)


def effort_boxes(frame: SeasonFrame, effort: Sequence[EffortDay]) -> tuple[Box, ...]:
    """Runs of days alike: ``ran``, ``part`` of the day, ``not`` running, each at one site.

    Days without a row, when the camera stood nowhere, have no box.
    """
    runs: list[tuple[date, date, str, str]] = []
    for row in effort:
        if not frame.first <= row.day < frame.end:
            continue
        kind = "ran" if row.camera_day >= _WHOLE_DAY else "part" if row.camera_day > 0 else "not"
        after = row.day + timedelta(days=1)
        if runs and runs[-1][1:] == (row.day, kind, row.site):
            runs[-1] = (runs[-1][0], after, kind, row.site)
        else:
            runs.append((row.day, after, kind, row.site))
    boxes = []
    for first, end, kind, site in runs:
        left, width = place(frame, first, end)
        said = {
            "ran": "running",
            "part": "running part of the day",
            "not": "not known to have run",
        }[kind]
        days = day(first) if (end - first).days == 1 else f"{day(first)} and on"
        boxes.append(
            Box(
                left=left,
                width=width,
                kind=kind,
                words=f"{site}: {said}, {days}, {count((end - first).days, 'day')}",
            )
        )
    return tuple(boxes)
