"""Coordinates as text, rounded where a place is not to be given away."""

from __future__ import annotations

import math
from dataclasses import dataclass

_DEGREE_M = 111_320.0
"""A degree of latitude on the ground, metres; at most 0.6 % off anywhere."""
_DECIMALS_OTHERWISE = 7
"""A centimetre: nothing that a receiver gave is lost."""


@dataclass(frozen=True)
class Rounding:
    """How coordinates are given.

    Attributes
    ----------
    decimals
        Of a degree; None to give them as they are.
    """

    decimals: int | None = None

    @property
    def precision_degrees(self) -> float | None:
        """The last decimal that is given, as a number: 0.01; None where they are not rounded."""
        return None if self.decimals is None else float(f"1e-{self.decimals}")

    def degrees(self, value: float) -> float:
        """A latitude or longitude as it is given."""
        decimals = _DECIMALS_OTHERWISE if self.decimals is None else self.decimals
        return round(float(value), decimals) + 0.0  # + 0.0 makes of -0.0 a plain zero

    def uncertainty_m(self, latitude: float) -> int | None:
        """How far the true place may lie from the given one, metres; None where not rounded."""
        if self.precision_degrees is None:
            return None
        half = self.precision_degrees / 2 * _DEGREE_M
        return max(1, math.ceil(math.hypot(half, half * math.cos(math.radians(latitude)))))
