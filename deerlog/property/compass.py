"""The sixteen points of the compass."""

from __future__ import annotations

POINTS = (
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE",
    "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW",
)  # fmt: skip
"""Clockwise from north, 22.5 degrees apart. A wind is named for where it blows from."""


def point_degrees(point: str) -> float:
    """Direction of a compass point in degrees clockwise from north, 0 to 337.5."""
    return POINTS.index(point) * 22.5


def degrees_point(degrees: float) -> str:
    """The compass point nearest to a direction in degrees clockwise from north."""
    return POINTS[round(degrees / 22.5) % len(POINTS)]
