"""The property's own record corrects: chances that came true too seldom or too often are moved."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from scipy.special import expit, logit

from deerlog.analysis.arrays import Bools, Floats
from deerlog.analysis.forecast.chances import Forecast

MIDDLE = float(logit(0.05))
"""Log odds of the chance that a slope leaves where it is: that of a usual sit (our choice)."""
LEVEL_SD, SLOPE_SD = 0.25, 0.07
"""How far chances may be off before the record has spoken: by a quarter, and by 7 % of their
distance from `MIDDLE`, in log odds (our choice)."""
USUAL_CLUMPING, CLUMPING_WEEKS = 6.0, 6.0
"""Weeks' visits vary so many times more than independent ones would; and the weeks of record that
this weighs (our choice): a buck who is gone is gone the whole week."""
MOST_WEEKS = 26
"""Weeks looked back on, half a year (our choice)."""
SURELY = 1 - 1e-9

_BINS = np.linspace(-14.0, 7.0, 211)
_STEPS = 25


@dataclass(frozen=True, kw_only=True)
class Correction:
    """How log odds of chances are moved: by ``level``, and by ``slope`` times their distance from
    `MIDDLE`.

    ``weeks`` with a half-day that it was learned from; with none it changes nothing. ``given``,
    ``after``: visits expected in these weeks, as given at first and with this correction.
    """

    level: float = 0.0
    slope: float = 0.0
    weeks: int = 0
    given: float = 0.0
    after: float = 0.0

    @property
    def factor(self) -> float:
        """What the chances of these weeks are multiplied by as a whole; below 1 it lowers them."""
        return self.after / self.given if self.given else 1.0

    def of(self, chance: Floats) -> Floats:
        """Chances corrected, whatever the shape."""
        odds = logit(np.clip(chance, 1e-300, SURELY))
        return np.asarray(expit(odds + self.level + self.slope * (odds - MIDDLE)))

    def forecast(self, made: Forecast) -> Forecast:
        """A forecast corrected: he is around as likely as before, and uses the sites otherwise."""
        if not self.weeks:
            return made
        around = np.maximum(made.around, 1e-12)[:, :, None, None]
        if_around = made.chance_if_around()
        wanted = np.clip(self.of(around * if_around) / around, 1e-300, SURELY)
        moved = logit(wanted) - logit(np.clip(if_around, 1e-300, SURELY))
        return replace(made, log_odds=made.log_odds + moved)


@dataclass
class GivenBefore:
    """Chances given in past weeks, as first given, and what came: counts by log odds."""

    _half_days: list[Floats] = field(default_factory=list)
    _came: list[Floats] = field(default_factory=list)

    def add(self, chance: Floats, seen: Bools) -> None:
        """One week: chances as given at first and whether he came, shape (n,) each."""
        if len(chance):
            odds = logit(np.clip(chance, 1e-300, SURELY))
            place = np.clip(np.searchsorted(_BINS, odds) - 1, 0, len(_BINS) - 2)
            self._half_days.append(np.bincount(place, minlength=len(_BINS) - 1).astype(np.float64))
            self._came.append(np.bincount(place, seen, minlength=len(_BINS) - 1).astype(np.float64))

    def correction(self) -> Correction:
        """What the weeks so far call for, drawn towards none: a logistic regression with a normal
        prior, in which visits count for less as whole weeks go together."""
        weeks = min(len(self._half_days), MOST_WEEKS)
        if not weeks:
            return Correction()
        odds = (_BINS[:-1] + _BINS[1:]) / 2
        n, came = np.array(self._half_days[-weeks:]), np.array(self._came[-weeks:])
        design = np.stack([np.ones_like(odds), odds - MIDDLE], axis=1)
        precision = np.diag([LEVEL_SD**-2, SLOPE_SD**-2])
        moved, clumping = np.zeros(2), USUAL_CLUMPING
        for _ in range(_STEPS):
            p = expit(odds + design @ moved)
            off, usual = ((came - n * p).sum(axis=1) ** 2).sum(), (n * p * (1 - p)).sum(axis=1)
            told = USUAL_CLUMPING * CLUMPING_WEEKS * usual.mean() + off
            clumping = max(1.0, told / ((CLUMPING_WEEKS + weeks) * usual.mean() + 1e-300))
            weight = (n.sum(axis=0) * p * (1 - p)) / clumping
            gradient = design.T @ (came - n * p).sum(axis=0) / clumping - precision @ moved
            step = np.linalg.solve((design.T * weight) @ design + precision, gradient)
            moved = moved + np.clip(step, -0.5, 0.5)
        total = n.sum(axis=0)
        return Correction(
            level=float(moved[0]),
            slope=float(moved[1]),
            weeks=weeks,
            given=float(total @ expit(odds)),
            after=float(total @ expit(odds + design @ moved)),
        )
