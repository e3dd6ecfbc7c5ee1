"""What is usual for one buck, from his past seasons: his dates of coming and going, his absences.

Visitors come "often the same days each year" (common practice, no published source). A date of his
in a new season is his own middle date, give or take some days from year to year; his own middle is
near the pattern's until past seasons say otherwise. Normal throughout: his own middle about the
pattern's, each year about his own middle, and what the record says about that year.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from deerlog.analysis.arrays import Floats
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import (
    AWAY,
    ELSEWHERE,
    EXCURSION,
    FALL,
    GONE,
    HERE,
    OFF,
    RUT,
    SUMMER,
    YEAR_ROUND,
    Habits,
    first_of_june,
)

LEAST_WEIGHT = 0.2
"""A season counts only where the pattern, and the date itself, are at least this likely (our
choice)."""


@dataclass(frozen=True, kw_only=True)
class _DateKind:
    """A date of a pattern, and how it shows in the states.

    ``not_yet`` are the states before it; it is looked for from ``first_day`` to ``last_day`` after
    1 June. ``middle`` is the field of `Judgement` it is told in.
    """

    middle: str
    pattern: int
    not_yet: tuple[int, ...]
    from_peak: bool = False
    first_day: int = 0
    last_day: int = 10_000

    @property
    def sd(self) -> str:
        return self.middle.replace("_after_peak", "").removesuffix("_day") + "_sd"


_KINDS = (
    _DateKind(
        middle="rut_arrival_after_peak", pattern=RUT, not_yet=(ELSEWHERE, EXCURSION), from_peak=True
    ),
    _DateKind(
        middle="rut_departure_day",
        pattern=RUT,
        not_yet=(ELSEWHERE, EXCURSION, HERE, OFF),
        from_peak=True,
    ),
    _DateKind(
        middle="fall_arrival_day", pattern=FALL, not_yet=(ELSEWHERE, EXCURSION, GONE), last_day=200
    ),
    _DateKind(
        middle="fall_departure_day", pattern=FALL, not_yet=(HERE, OFF, AWAY, GONE), first_day=200
    ),
    _DateKind(
        middle="summer_departure_day", pattern=SUMMER, not_yet=(HERE, OFF, AWAY, GONE), last_day=230
    ),
)
_ABSENCES = ("absences", "days_absent", "days_here")


def nothing_known(bucks: list[str]) -> pd.DataFrame:
    """Habits of bucks whose seasons are still to come: one row a buck.

    For each date the ``_precision`` and ``_total`` (precision times day) that past seasons add;
    `_ABSENCES` counted.
    """
    dates = [f"{k.middle}{part}" for k in _KINDS for part in ("_precision", "_total")]
    return pd.DataFrame(0.0, index=pd.Index(bucks, dtype=object), columns=[*dates, *_ABSENCES])


def add_season(
    known: pd.DataFrame,
    bucks: list[str],
    states: Floats,
    pattern_chance: Floats,
    first: date,
    rut_peak: date,
    judgement: Judgement,
) -> pd.DataFrame:
    """What is known with one season more, of its B bucks.

    ``states`` (T, B, patterns, states): smoothed chance of each state given the pattern, whose
    chance is ``pattern_chance`` (B, patterns).
    """
    added = nothing_known(bucks)
    june, peak = (first_of_june(first) - first).days, (rut_peak - first).days
    for kind in _KINDS:
        middle, sd = _usual(judgement, kind)
        waiting = states[:, :, kind.pattern, list(kind.not_yet)].sum(axis=-1)
        low = min(max(june + kind.first_day, 0), len(waiting) - 1)
        high = min(june + kind.last_day, len(waiting) - 1)
        came = np.maximum(-np.diff(waiting[low : high + 1], axis=0), 0.0)
        total = came.sum(axis=0)
        weight = pattern_chance[:, kind.pattern] * np.minimum(total, 1.0)
        if not (weight >= LEAST_WEIGHT).any():
            continue
        day = (low + 1 + np.arange(len(came)) - (peak if kind.from_peak else june))[:, None]
        share = came / np.maximum(total, 1e-12)
        mean = (share * day).sum(axis=0)
        variance = (share * (day - mean) ** 2).sum(axis=0) + 1 / 12
        # What the record alone said: the pattern's prior is taken out of the posterior again.
        alone = np.maximum(1 / variance - 1 / sd**2, 1e-12)
        tells = (weight >= LEAST_WEIGHT) & (variance < (0.95 * sd) ** 2)
        says = np.where(tells, weight / (1 / alone + judgement.own_date_sd**2), 0.0)
        added[f"{kind.middle}_precision"] = says
        added[f"{kind.middle}_total"] = says * (mean / variance - middle / sd**2) / alone
    lives_here = [YEAR_ROUND, FALL]
    weighted = (states[:, :, lives_here] * pattern_chance[:, lives_here, None]).sum(axis=2)
    absent = weighted[..., AWAY] > 0.5
    added["absences"] = (absent[1:] & ~absent[:-1]).sum(axis=0)
    added["days_absent"] = absent.sum(axis=0)
    added["days_here"] = weighted[..., [HERE, OFF]].sum(axis=(0, 2))
    return known.add(added, fill_value=0.0)


def habits(known: pd.DataFrame, judgement: Judgement) -> Habits:
    """A season's habits: near the patterns' where little is known of a buck."""
    j = judgement
    own: dict[str, Floats] = {}
    for kind in _KINDS:
        middle, sd = _usual(j, kind)
        says = known[f"{kind.middle}_precision"].to_numpy()
        between = max(sd**2 - j.own_date_sd**2, 1.0)
        precision = 1 / between + says
        day = (middle / between + known[f"{kind.middle}_total"].to_numpy()) / precision
        own[kind.middle] = np.where(says > 0, day, middle)
        own[kind.sd] = np.where(says > 0, np.sqrt(1 / precision + j.own_date_sd**2), sd)
        if kind.middle == "rut_departure_day":
            own[kind.middle][says == 0] = np.nan
    n, absent, here = (known[name].to_numpy() for name in _ABSENCES)
    weight = j.absences_to_learn
    own["absence_days"] = (weight * j.absence_days + absent) / (weight + n)
    own["absence_start"] = (weight + n) / (weight / j.absence_start + here)
    return own


def _usual(j: Judgement, kind: _DateKind) -> tuple[float, float]:
    """Middle and spread of the pattern's own date."""
    if kind.middle == "rut_departure_day":
        spread = float(np.hypot(j.rut_arrival_sd, j.rut_stay_days))
        return j.rut_arrival_after_peak + j.rut_stay_days, spread
    return float(getattr(j, kind.middle)), float(getattr(j, kind.sd))
