"""The day-by-hour chart: one season of one buck, a mark a visit, against the light.

The day reads downwards, from midnight at the top, as in a diary; the season reads to the right.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.path import Path as Outline

from deerlog.report.page.season_frame import Dates, SeasonFrame
from deerlog.report.page.svg import MARKS, STAND_INS, figure_svg
from deerlog.report.words.words import short_day

_WIDTH, _HEIGHT = 336.0, 300.0  # px, as wide as a phone of 390 px shows it: letters stay readable
_LANE = 1.5  # hours of height that a hunting season's line and name take above the day
_NAME_LENGTH = 14
_SIZE = 6.5  # px
_SMALL: dict[str, Any] = {"fontsize": 10, "color": STAND_INS["--soft"]}
_LABEL = _SMALL | {"fontsize": 11}
_CLOSED, _RUT = 0.3, 2.0
"""Width of a day on which hunting is closed, and of one of the rut, against others; our choice."""


def day_hour_chart(
    frame: SeasonFrame,
    visits: pd.DataFrame,
    sun: pd.DataFrame,
    *,
    not_watched: Sequence[tuple[date, date]],
    linked: bool = False,
    as_of: date,
    chart_id: str,
    title: str,
    description: str,
) -> str:
    """The chart as inline SVG, sized for a phone.

    A mark tells the setting of the site; visits in shooting light are solid, those in the dark
    hollow, unsure tags grey; stretches not watched are hatched, days after ``as_of`` veiled. Where
    ``linked``, a mark leads to the element ``<chart_id>-v<n>``, n the visit's place in ``visits``.
    """
    figure = Figure(figsize=(_WIDTH / 72, _HEIGHT / 72))
    axes = figure.add_axes((41 / _WIDTH, 22 / _HEIGHT, 1 - 44 / _WIDTH, 1 - 24 / _HEIGHT))
    figure.patch.set_visible(False)
    axes.patch.set_visible(False)
    lanes = _lanes(frame.hunting)
    top = -_LANE * (max(lanes, default=-1) + 1) - 0.4
    axes.set_xlim(0, 1)
    axes.set_ylim(24, top)

    _draw_light(axes, frame, sun)
    for first, last in not_watched:
        _cover(axes, _x(frame, first), _x(frame, last, 1.0), zorder=2,
               edgecolor=STAND_INS["--hatch"], hatch="////")  # fmt: skip
    labels = _draw_dates(axes, frame, lanes)
    _draw_visits(axes, frame, visits.reset_index(drop=True), linked=linked)
    _draw_to_come(axes, frame, as_of)
    _draw_scales(axes, frame)
    links = {}
    if linked:
        for n, (site, local) in enumerate(zip(visits["site"], visits["local"], strict=True)):
            links[f"v{n}"] = f"{site}, {short_day(local)} {local:%H:%M}"
    return figure_svg(
        figure, chart_id, title=title, description=description, labels=labels, links=links
    )


def _x(frame: SeasonFrame, day: date, part: float = 0.0) -> float:
    """Where a day begins, or a part of it lies: 0 to 1, as the season's days are wide."""
    at = _across(frame)
    return float(np.interp((day - frame.first).days + part, np.arange(len(at)), at))


@cache
def _across(frame: SeasonFrame) -> npt.NDArray[np.float64]:
    return frame.across(_CLOSED, _RUT)


def _draw_light(axes: Axes, frame: SeasonFrame, sun: pd.DataFrame) -> None:
    """Night, then the shooting light on it, then the day on that."""
    sun = sun.iloc[_enough_days(sun["sunrise"].to_numpy())]
    x = np.array([_x(frame, day.date(), 0.5) for day in sun.index])
    begins, ends, sunrise, sunset = (
        sun[curve].to_numpy() for curve in ("light_begins", "light_ends", "sunrise", "sunset")
    )
    # The first and last half day of the season have no curve point; they are drawn level.
    x[0], x[-1] = 0.0, _x(frame, frame.end)
    axes.axhspan(0, 24, facecolor=STAND_INS["--night"], edgecolor="none", zorder=0)
    axes.fill_between(x, begins, ends, color=STAND_INS["--dusk"], linewidth=0, zorder=1)
    axes.fill_between(x, sunrise, sunset, color=STAND_INS["--day"], linewidth=0, zorder=1.1)
    for curve in (sunrise, sunset):
        axes.plot(x, curve, color=STAND_INS["--sun"], linewidth=1.2, zorder=3)
    for curve in (begins, ends):
        axes.plot(x, curve, color=STAND_INS["--sun"], linewidth=0.8, dashes=(3, 2), zorder=3)


def _enough_days(sunrise: npt.NDArray[np.float64]) -> list[int]:
    """Every fourth day, and both days of each clock change: the eye sees no difference.

    Between days so close the straight line is within half a minute of the curve.
    """
    jumps = np.flatnonzero(np.abs(np.diff(sunrise)) > 0.4).tolist()
    last = len(sunrise) - 1
    return sorted({*range(0, last + 1, 4), *jumps, *(n + 1 for n in jumps), last})


def _cover(axes: Axes, begin: float, end: float, **how: Any) -> None:
    """A stretch of days laid over in the colour of the page."""
    foot = 24 / (24 - axes.get_ylim()[1])
    axes.axvspan(begin, end, ymax=foot, facecolor=STAND_INS["--card"], linewidth=0, **how)


def _lanes(hunting: Sequence[Dates]) -> list[int]:
    """The lowest free lane for each hunting season, so that none is drawn over another."""
    taken: list[date] = []
    lanes = []
    for name, opens, closes in hunting:
        free = (k for k, busy_to in enumerate(taken) if opens > busy_to)
        lane = next(free, len(taken))
        # A letter is about five days wide; the next name in the lane must clear this one.
        busy_to = max(closes, opens + timedelta(days=5 * len(_short(name))))
        taken[lane : lane + 1] = [busy_to]
        lanes.append(lane)
    return lanes


def _short(name: str) -> str:
    return name if len(name) <= _NAME_LENGTH else name[: _NAME_LENGTH - 1] + "…"


def _draw_dates(axes: Axes, frame: SeasonFrame, lanes: Sequence[int]) -> dict[str, str]:
    """Rut peak and hunting dates; gives the names to be put in afterwards."""
    labels, ink, rut = {}, STAND_INS["--ink"], STAND_INS["--rut"]
    for n, ((name, opens, closes), lane) in enumerate(zip(frame.hunting, lanes, strict=True)):
        placeholder = f"@hunting{n}@"
        labels[placeholder] = _short(name)
        y = -_LANE * lane - 0.25
        begin, end = _x(frame, opens), _x(frame, closes, 1.0)
        axes.plot([begin, end], [y, y], color=ink, linewidth=2.2, solid_capstyle="butt")
        axes.text(begin, y - 0.2, placeholder, va="bottom", **_SMALL)
    peak = _x(frame, frame.rut_peak, 0.5)
    axes.plot([peak, peak], [0, 24], color=rut, linewidth=1.4, dashes=(5, 2, 1, 2))
    axes.text(peak + 0.01, 23.6, "rut peak", fontsize=10, color=rut, va="bottom", zorder=9)
    return labels


def _draw_visits(axes: Axes, frame: SeasonFrame, visits: pd.DataFrame, *, linked: bool) -> None:
    local = visits["local"].dt
    hours = local.hour + local.minute / 60 + local.second / 3600
    kinds = visits[["setting", "in_light", "unsure"]]
    shown = kinds.astype({"setting": str, "in_light": bool, "unsure": bool}).assign(
        x=[_x(frame, d, h / 24) for d, h in zip(local.date, hours, strict=True)], hour=hours
    )
    for (setting, in_light, unsure), group in shown.groupby(["setting", "in_light", "unsure"]):
        mark = MARKS[str(setting)]
        colour = STAND_INS["--soft" if unsure else f"--mark-{mark.colour}"]
        # SVG's y runs down, matplotlib's up: the outline is turned over.
        corners = [(x, -y) for x, y in mark.outline]
        drawn = axes.scatter(
            group["x"],
            group["hour"],
            s=(_SIZE + 1) ** 2 if in_light else _SIZE**2,
            marker=Outline([*corners, corners[0]], closed=True),
            facecolors=colour if in_light else STAND_INS["--card"],
            edgecolors=STAND_INS["--card"] if in_light else colour,
            linewidths=0.5 if in_light else 1.3,
            zorder=5 if in_light else 4,
        )
        if linked:
            drawn.set_urls([f"#v{n}" for n in group.index])


def _draw_to_come(axes: Axes, frame: SeasonFrame, as_of: date) -> None:
    now = _x(frame, as_of, 1.0)
    if not 0 < now < 1:
        return
    _cover(axes, now, 1.0, alpha=0.72, zorder=7)
    if now < 0.8:
        axes.text((now + 1) / 2, 12, "still to come", ha="center", va="center", zorder=8, **_SMALL)


def _draw_scales(axes: Axes, frame: SeasonFrame) -> None:
    for side in axes.spines.values():
        side.set_visible(False)
    ticks = [_x(frame, day) for day in frame.month_firsts]
    axes.set_xticks(ticks)
    axes.set_xticklabels([])
    ends = [*ticks[1:], _x(frame, frame.end)]
    for tick, until, month in zip(ticks, ends, frame.months, strict=True):
        if until - tick > 0.03:
            axes.text((tick + until) / 2, 24.5, month["words"], ha="center", va="top", **_LABEL)
    axes.set_yticks([0, 6, 12, 18, 24])
    axes.set_yticklabels(["12 am", "6 am", "noon", "6 pm", "12 am"])
    soft, line = STAND_INS["--soft"], STAND_INS["--line"]
    axes.tick_params(colors=line, labelcolor=soft, labelsize=11, length=3, width=0.8)
    axes.hlines([6, 12, 18], 0, 1, color=line, linewidth=0.5, zorder=2.5)
