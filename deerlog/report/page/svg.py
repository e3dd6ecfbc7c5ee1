"""The mark of each setting, and a matplotlib figure as SVG that can stand in the page.

A setting has a shape and a colour of its own, the same all through the page, in light and dark.
Drawings use stand-in colours that are replaced by the page's CSS custom properties. Identical
figures give identical bytes.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from html import escape

import matplotlib
from matplotlib.figure import Figure

from deerlog.property.cameras import SETTINGS

Outline = tuple[tuple[float, float], ...]


def _cross(a: float) -> Outline:
    return ((-a, -1), (a, -1), (a, -a), (1, -a), (1, a), (a, a),
            (a, 1), (-a, 1), (-a, a), (-1, a), (-1, -a), (-a, -a))  # fmt: skip


def _round(corners: int) -> Outline:
    steps = (2 * math.pi * k / corners for k in range(corners))
    return tuple((round(math.cos(s), 3), round(math.sin(s), 3)) for s in steps)


@dataclass(frozen=True)
class Mark:
    """How one setting is drawn: corners within about -1 to 1, y down, and a ``--mark-N`` colour."""

    outline: Outline
    colour: int

    @property
    def points(self) -> str:
        """The outline as the ``points`` of an SVG polygon."""
        return " ".join(f"{x:g},{y:g}" for x, y in self.outline)


_OUTLINES: tuple[Outline, ...] = (
    _round(20),
    ((-0.85, -0.85), (0.85, -0.85), (0.85, 0.85), (-0.85, 0.85)),
    ((0.0, -1.05), (1.05, 0.8), (-1.05, 0.8)),
    ((0.0, 1.05), (1.05, -0.8), (-1.05, -0.8)),
    _cross(0.38),
    ((0.0, -1.15), (1.0, 0.0), (0.0, 1.15), (-1.0, 0.0)),
)
MARKS: Mapping[str, Mark] = {
    setting: Mark(outline, n)
    for n, (setting, outline) in enumerate(zip(SETTINGS, _OUTLINES, strict=True))
}
"""The mark of each setting of cameras.csv: shape and colour change together."""


_COLOURS = ("ink", "soft", "line", "card", "day", "dusk", "night", "sun", "rut", "hatch")
STAND_INS: Mapping[str, str] = {
    **{f"--{name}": f"#a1{n:02x}{n:02x}" for n, name in enumerate(_COLOURS, start=1)},
    **{f"--mark-{n}": f"#a1b0{n:02x}" for n in range(len(SETTINGS))},
}
"""The colour to draw with, by the custom property it becomes."""

_PROPERTY_OF = {stand_in: name for name, stand_in in STAND_INS.items()}


def figure_svg(
    figure: Figure,
    chart_id: str,
    *,
    title: str,
    description: str,
    labels: Mapping[str, str] | None = None,
    links: Mapping[str, str] | None = None,
) -> str:
    """The figure as one ``<svg role="img">`` element, in the colours of `STAND_INS` alone.

    ``chart_id`` (letters, digits, ``-``; unique in the page) is put before every id in the drawing
    and is its hash salt; ``title`` and ``description`` are for those who do not see the picture.
    ``labels`` are plain texts by the placeholder drawn in their place: what a person typed never
    goes through matplotlib, which reads ``$`` as mathematics and warns of letters that its fonts
    lack. ``links`` say in words, by its fragment, what each link in the drawing leads to.
    """
    buffer = io.StringIO()
    no_metadata = {"Date": None, "Creator": None, "Format": None, "Type": None}
    with matplotlib.rc_context({"svg.fonttype": "none", "svg.hashsalt": chart_id}):
        figure.savefig(buffer, format="svg", metadata=no_metadata)
    drawing = buffer.getvalue()
    drawing = drawing[drawing.index("<svg") :]
    view_box = re.search(r'viewBox="([^"]+)"', drawing)
    body = drawing[drawing.index(">") + 1 : drawing.rindex("</svg>")]
    body = re.sub(r'\bid="', f'id="{chart_id}-', body)
    body = re.sub(r'(?:xlink:)?href="#', f'href="#{chart_id}-', body)
    body = body.replace("url(#", f"url(#{chart_id}-")
    body = re.sub(r"font: ([\d.]+)px [^;\"]+", r"font-size: \1px", body)
    body = re.sub(r" font-family: [^;\"]+;", "", body)  # the page's own
    body = re.sub(r"#[0-9a-f]{6}\b", _as_property, body)
    # A style element would rule over the whole page, not over this drawing alone.
    body = re.sub(r"<style.*?</style>", "", body, flags=re.DOTALL)
    body = re.sub(r"\s+", " ", body.strip()).replace("> <", "><").replace("<defs></defs>", "")
    body = re.sub(r"-?\d+\.\d{3,}", _to_hundredth, body)
    for placeholder, text in (labels or {}).items():
        body = body.replace(placeholder, escape(text))
    for fragment, text in (links or {}).items():
        # A keyboard need not stop at hundreds of marks: what they lead to is in the tables as well.
        # Older versions of matplotlib write no target.
        opened = f'<a href="#{chart_id}-{fragment}">'
        body = body.replace(opened.replace(">", ' target="_blank">'), opened).replace(
            opened,
            f'<a tabindex="-1" href="#{chart_id}-{fragment}" aria-label="{escape(text)}">'
            f"<title>{escape(text)}</title>",
        )
    assert view_box is not None  # matplotlib always writes one
    return (
        f'<svg class="chart" role="{"group" if links else "img"}" viewBox="{view_box.group(1)}"'
        f' aria-labelledby="{chart_id}-title {chart_id}-desc">'
        f'<title id="{chart_id}-title">{escape(title)}</title>'
        f'<desc id="{chart_id}-desc">{escape(description)}</desc>{body}</svg>'
    )


def _to_hundredth(match: re.Match[str]) -> str:
    text = f"{float(match.group(0)):.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _as_property(match: re.Match[str]) -> str:
    colour = match.group(0)
    if colour not in _PROPERTY_OF:
        raise ValueError(f"a chart was drawn in {colour}, which is no colour of the page")
    return f"var({_PROPERTY_OF[colour]})"
