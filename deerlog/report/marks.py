"""The mark of each site: a shape and a colour, the same all through the page.

Six colours and seven shapes change together, so that the first six sites differ in both, and no
two of the first 42 share both. Shape alone tells the first seven apart.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

COLOURS = 6
"""How many ``--mark-N`` colours the style sheet has."""

Outline = tuple[tuple[float, float], ...]


def _star(points: int, inner: float, turn: float) -> Outline:
    corners = []
    for k in range(2 * points):
        radius = 1.15 if k % 2 == 0 else inner
        angle = turn + math.pi * k / points
        corners.append((round(radius * math.cos(angle), 3), round(radius * math.sin(angle), 3)))
    return tuple(corners)


def _cross(arm: float) -> Outline:
    a, b = arm, 1.0
    return (
        (-a, -b),
        (a, -b),
        (a, -a),
        (b, -a),
        (b, a),
        (a, a),
        (a, b),
        (-a, b),
        (-a, a),
        (-b, a),
        (-b, -a),
        (-a, -a),
    )


def _round(corners: int) -> Outline:
    steps = (2 * math.pi * k / corners for k in range(corners))
    return tuple((round(math.cos(s), 3), round(math.sin(s), 3)) for s in steps)


SHAPES: tuple[tuple[str, Outline], ...] = (
    ("round", _round(20)),
    ("square", ((-0.85, -0.85), (0.85, -0.85), (0.85, 0.85), (-0.85, 0.85))),
    ("triangle", ((0.0, -1.05), (1.05, 0.8), (-1.05, 0.8))),
    ("diamond", ((0.0, -1.15), (1.0, 0.0), (0.0, 1.15), (-1.0, 0.0))),
    ("cross", _cross(0.38)),
    ("triangle down", ((0.0, 1.05), (1.05, -0.8), (-1.05, -0.8))),
    ("star", _star(5, 0.5, -math.pi / 2)),
)
"""Name and outline of each shape: corners within about -1 to 1, y down as in SVG."""


@dataclass(frozen=True)
class Mark:
    """A shape, as its place in `SHAPES`, and a colour, 0 to `COLOURS` - 1."""

    shape: int
    colour: int

    @property
    def outline(self) -> Outline:
        """Corners, y down."""
        return SHAPES[self.shape][1]

    @property
    def points(self) -> str:
        """The outline as the ``points`` of an SVG polygon."""
        return " ".join(f"{x:g},{y:g}" for x, y in self.outline)


def site_marks(sites: Sequence[str]) -> dict[str, Mark]:
    """A mark for each site, by its place in ``sites``. After 42 sites they come round again."""
    return {
        site: Mark(shape=place % len(SHAPES), colour=place % COLOURS)
        for place, site in enumerate(sites)
    }
