"""Maps to scale, north up: a panel a phase for one buck, and one of all sites and stands.

Drawn as plain SVG in the page's own colours. At each site stands the mark of its setting, larger
the more he was seen there for what ran, with its name where he was seen; an open ring where cameras
ran and he was not seen; a small cross where nothing ran.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import TypeGuard

from deerlog.report.page.svg import MARKS
from deerlog.report.page.template_engine import Row
from deerlog.report.words.words import YARD_M, count, listing, number

_WIDTH = 340.0
_EDGE = 20.0
_FOOT = 20.0
_TALLEST, _LOWEST = 290.0, 120.0
_LEAST_EXTENT_M = 200.0
_LARGEST_MARK, _SMALLEST_MARK = 11.0, 4.0
_LETTER, _LINE = 5.6, 11.0  # px: width of a letter of a name, and height of its line
_RING = 3.0


@dataclass(frozen=True)
class _Frame:
    """From metres east and north to the panel's own units."""

    west_m: float
    north_m: float
    per_metre: float
    height: float

    def at(self, east_m: float, north_m: float) -> tuple[float, float]:
        x = _EDGE + (east_m - self.west_m) * self.per_metre
        y = _EDGE + (self.north_m - north_m) * self.per_metre
        return round(x, 1), round(y, 1)


class _Names:
    """Names beside what they name, put where none is written over another, where there is room."""

    def __init__(self, marks: Iterable[tuple[Row, float, float]], half: float) -> None:
        self.taken = [(x - half, y - half, x + half, y + half) for _, x, y in marks]

    def beside(self, name: str, x: float, y: float, size: float) -> str:
        """The name of what is drawn at a place, so large."""
        wide = _LETTER * len(name)
        off = size + 3
        places = [
            (left, y + down)
            for down in (3.5, -7, 14, -18, 25, -29, 36, -40)
            for left in (x + off, x - off - wide)
        ]
        places[4:4] = [(x - wide / 2, y - off), (x - wide / 2, y + off + 8)]
        inside = [
            (left, base)
            for left, base in places
            if left >= 1 and left + wide <= _WIDTH - 1 and base > _LINE
        ] or [(2.0, y)]
        left, base = next((p for p in inside if not self._hits(p, wide)), inside[0])
        self.taken.append((left, base - _LINE + 2, left + wide, base + 2))
        text = f'<text x="{left:.1f}" y="{base:.1f}">{escape(name)}</text>'
        if abs(base - y) < 2 * _LINE:
            return text
        end = left if left > x else left + wide
        return f'<path class="leader" d="M{x:g} {y:g}L{end:.1f} {base - 3:.1f}"/>{text}'

    def _hits(self, place: tuple[float, float], wide: float) -> bool:
        left, base = place
        return any(
            left < right and west < left + wide and base - _LINE + 2 < low and top < base + 2
            for west, top, right, low in self.taken
        )


def ground_map(sites: Sequence[Row], stands: Sequence[Row], units: str) -> str:
    """All sites and stands; empty without a site."""
    if not sites:
        return ""
    frame = _frame([*sites, *stands], [])
    places = [(s, *frame.at(s["x_m"], s["y_m"])) for s in [*sites, *stands]]
    names = _Names(places, 6)
    parts = []
    for row, x, y in places:
        if "site" in row:
            drawn, name = _mark(row["setting"], x, y, 5.0), row["site"]
        else:
            drawn = f'<g class="stand"><path d="{_STAND.format(x, y)}"/></g>'
            name = row["stand"]
        parts += [drawn, names.beside(name, x, y, 6.0)]
    said = "Sites: " + listing(f"{s['site']} ({s['setting']})" for s in sites)
    return _svg(frame, units, "ground", "Sites and stands", f"{said}.", parts)


_STAND = "M{0:g} {1:g}m-5 4h10m-8 0v-8h6v8"


def map_panels(ground: Row, map_id: str, buck: str) -> str:
    """The panels as markup, each an SVG with title and description; empty without a site.

    ``ground`` is of `deerlog.report.page.buck_contents.ground_used`; ``map_id`` (letters, digits,
    ``-``) is unique in the page.
    """
    if not ground["sites"] or not ground["phases"]:
        return ""
    frame = _frame(ground["sites"], ground["moves"].values())
    most = max((_rate(u) for uses in ground["phases"].values() for u in uses.values()), default=0.0)
    panels = "".join(
        _panel(ground, phase, frame, most, f"{map_id}-{place}", buck)
        for place, phase in enumerate(ground["phases"], start=1)
    )
    return f'<div class="maps">{panels}</div>'


def _frame(sites: Iterable[Row], moves: Iterable[Row]) -> _Frame:
    points = [(s["x_m"], s["y_m"]) for s in sites]
    points += [(m[f"{end}_x_m"], m[f"{end}_y_m"]) for m in moves for end in ("from", "to")]
    easts, norths = zip(*points, strict=True)
    wide = max(max(easts) - min(easts), _LEAST_EXTENT_M)
    tall = max(max(norths) - min(norths), _LEAST_EXTENT_M)
    inner_width, inner_height = _WIDTH - 2 * _EDGE, _TALLEST - 2 * _EDGE - _FOOT
    per_metre = min(inner_width / wide, inner_height / tall)
    height = max(tall * per_metre + 2 * _EDGE + _FOOT, _LOWEST)
    # Where the other direction sets the scale, the sites stand in the middle.
    west = (max(easts) + min(easts)) / 2 - inner_width / per_metre / 2
    north = (max(norths) + min(norths)) / 2 + (height - 2 * _EDGE - _FOOT) / per_metre / 2
    return _Frame(west_m=west, north_m=north, per_metre=per_metre, height=round(height, 1))


def _panel(ground: Row, phase: str, frame: _Frame, most: float, panel_id: str, buck: str) -> str:
    uses = ground["phases"][phase]
    move = ground["moves"].get(phase)
    parts = [] if move is None else [_arrow(move, frame)]
    places = [(site, *frame.at(site["x_m"], site["y_m"])) for site in ground["sites"]]
    names = _Names(places, 5)
    # Small marks last, so that none hides under a larger one.
    for site, x, y in sorted(places, key=lambda at: -_rate(uses.get(at[0]["site"]))):
        name = site["site"]
        use = uses.get(name)
        # By area, as the eye compares. A visit without any camera-day has no rate and is small.
        share = math.sqrt(_rate(use) / most) if most > 0 else 0.0
        size = round(_SMALLEST_MARK + (_LARGEST_MARK - _SMALLEST_MARK) * share, 1)
        parts.append(_site(use, name, x, y, size, site["setting"]))
        if _ran(use) and use["visits"]:
            parts.append(names.beside(name, x, y, size))
    title, words = f"{buck}, {phase}: use of the sites", _words(uses, move)
    drawing = _svg(frame, ground["units"], panel_id, title, words, parts)
    return f"<figure><figcaption>{escape(phase.capitalize())}</figcaption>{drawing}</figure>"


def _svg(
    frame: _Frame, units: str, map_id: str, title: str, words: str, parts: Iterable[str]
) -> str:
    """A map with its scale, north, and what it shows in words."""
    metres, length_words = round_length((_WIDTH - 2 * _EDGE) / frame.per_metre / 2, units)
    length, foot = metres * frame.per_metre, frame.height - 7
    x, y = _WIDTH - 10, frame.height - 4
    return (
        f'<svg class="chart ground" role="img" viewBox="0 0 {_WIDTH:g} {frame.height:g}"'
        f' aria-labelledby="{map_id}-title {map_id}-desc">'
        f'<title id="{map_id}-title">{escape(title)}</title>'
        f'<desc id="{map_id}-desc">{escape(words)}</desc>{"".join(parts)}'
        f'<g class="scale-bar"><path d="M{_EDGE:g} {foot - 4:g}v4h{length:.1f}v-4"/>'
        f'<text x="{_EDGE + length + 4:.1f}" y="{foot:g}">{length_words}</text></g>'
        f'<g class="north"><path d="M{x:g} {y:g}v-13m-3 4l3-4l3 4"/>'
        f'<text x="{x - 6:g}" y="{y - 3:g}" text-anchor="end">N</text></g></svg>'
    )


def _mark(setting: str, x: float, y: float, size: float, title: str = "") -> str:
    mark = MARKS[setting]
    return (
        f'<g class="mark-{mark.colour}">{title}<polygon points="{mark.points}"'
        f' transform="translate({x:g} {y:g}) scale({size:g})"/></g>'
    )


def _rate(use: Row | None) -> float:
    """Visits in 100 camera-days; 0 where no camera ran."""
    return 0.0 if use is None else use["per_100_camera_days"] or 0.0


def _ran(use: Row | None) -> TypeGuard[Row]:
    return use is not None and bool(use["visits"] or use["camera_days"])


def _site(use: Row | None, name: str, x: float, y: float, size: float, setting: str) -> str:
    said = f"<title>{escape(_site_words(use, name))}</title>"
    if not _ran(use):
        return f'<g class="no-camera">{said}<path d="M{x - 2.5:g} {y - 2.5:g}l5 5m0-5l-5 5"/></g>'
    if use["visits"] == 0:
        return f'<g class="not-there">{said}<circle cx="{x:g}" cy="{y:g}" r="{_RING:g}"/></g>'
    return _mark(setting, x, y, size, said)


def _site_words(use: Row | None, name: str) -> str:
    if not _ran(use):
        return f"{name}: no camera ran"
    words = f"{name}: {count(use['visits'], 'visit')}"
    if use["visits"]:
        words += f", {use['shooting_light_visits']} in shooting light"
    return f"{words}, {number(round(use['camera_days'], 1))} camera-days"


def _words(uses: Mapping[str, Row], move: Row | None) -> str:
    seen = sorted((u for u in uses.values() if u["visits"]), key=lambda u: (-_rate(u), u["site"]))
    parts = ["; ".join(_site_words(u, u["site"]) for u in seen) or "Not seen at any site"]
    empty = [u["site"] for u in uses.values() if not u["visits"] and u["camera_days"]]
    if empty:
        parts.append(f"Cameras ran and he was not seen at {listing(empty)}")
    if move is not None:
        parts.append(move["words"].rstrip("."))
    return ". ".join(parts) + "."


def _arrow(move: Row, frame: _Frame) -> str:
    x0, y0 = frame.at(move["from_x_m"], move["from_y_m"])
    x1, y1 = frame.at(move["to_x_m"], move["to_y_m"])
    length = math.hypot(x1 - x0, y1 - y0)
    if length < 6:
        return ""
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    # The head: two corners behind the tip, one to either side.
    bx, by = x1 - 8 * ux, y1 - 8 * uy
    corners = (
        f"{x1:.1f},{y1:.1f} {bx - 4 * uy:.1f},{by + 4 * ux:.1f} {bx + 4 * uy:.1f},{by - 4 * ux:.1f}"
    )
    words = escape(move["words"])
    return (
        f'<g class="move"><title>{words}</title>'
        f'<circle cx="{x0:g}" cy="{y0:g}" r="2.5"/>'
        f'<line x1="{x0:g}" y1="{y0:g}" x2="{bx:.1f}" y2="{by:.1f}"/>'
        f'<polygon points="{corners}"/></g>'
    )


def round_length(most_m: float, units: str) -> tuple[float, str]:
    """The greatest round length up to ``most_m`` metres: in metres, and in the user's units."""
    unit_m, name = (YARD_M, "yd") if units == "imperial" else (1.0, "m")
    longest = most_m / unit_m
    power = 10 ** math.floor(math.log10(max(longest, 1.0)))
    value = max(step * power for step in (1, 2, 5) if step * power <= max(longest, 1.0))
    return value * unit_m, f"{value:,.0f} {name}"
