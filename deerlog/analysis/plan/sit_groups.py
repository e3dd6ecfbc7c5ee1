"""Sits that are much the same, gathered for reading: any evening of some days at one stand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from deerlog.analysis.plan.planned_sits import PlannedSit

ALIKE = 0.02
"""Chances no farther apart than this are one to a hunter: a point or two (our choice)."""


@dataclass(frozen=True, kw_only=True)
class SitGroup:
    """Half-days in a row at one stand, any of which would do.

    Attributes
    ----------
    first, last
        Days, both included; one and the same where a sit stands alone.
    sits
        Those that the plan advises, best first; at least one.
    least, most
        Lowest and highest chance of all its half-days.
    low, high
        Ends of their 95 % intervals, the farthest out on either side.
    bucks
        Whom its half-days are mostly about, that of the best first.
    """

    first: date
    last: date
    sits: tuple[PlannedSit, ...]
    least: float
    most: float
    low: float
    high: float
    bucks: tuple[str, ...]

    @property
    def best(self) -> PlannedSit:
        """The sit that the plan would choose first."""
        return self.sits[0]


def sit_groups(sits: Iterable[PlannedSit]) -> tuple[SitGroup, ...]:
    """Every advised sit in just one group, groups by the chance of their best sit.

    A group runs over successive days at one stand in one half whose chances lie within `ALIKE` of
    each other and on which no rule bites but that the plan can take only one: the day is kept for
    another sit of the group (its rest days), or another stand is better on a day inside it.

    Parameters
    ----------
    sits
        Of `deerlog.analysis.plan.plan.plan`, in any order.
    """
    rows: dict[tuple[str, str], list[PlannedSit]] = {}
    for sit in sits:
        if all(bite.rule in ("better_day", "better_stand") for bite in sit.bites):
            rows.setdefault((sit.place, sit.half), []).append(sit)
    groups = []
    for row in rows.values():
        for run in _runs(sorted(row, key=lambda s: s.day)):
            run = _of_its_own(run)
            if run:
                groups.append(_group(run))
    return tuple(sorted(groups, key=lambda g: (-g.best.chance, g.first, g.best.half, g.best.place)))


def _runs(row: list[PlannedSit]) -> list[list[PlannedSit]]:
    """Successive days with chances alike."""
    runs: list[list[PlannedSit]] = []
    for sit in row:
        if runs and sit.day - runs[-1][-1].day == timedelta(days=1):
            chances = [s.chance for s in runs[-1]] + [sit.chance]
            if max(chances) - min(chances) <= ALIKE:
                runs[-1].append(sit)
                continue
        runs.append([sit])
    return runs


def _of_its_own(run: list[PlannedSit]) -> list[PlannedSit]:
    """A run without the days at its ends that are kept for a sit of another run; empty for none."""
    advised = {sit.day for sit in run if sit.advice == "sit"}
    own = [
        n
        for n, sit in enumerate(run)
        if sit.day in advised or any(bite.day in advised for bite in sit.bites)
    ]
    return run[own[0] : own[-1] + 1] if own else []


def _group(run: list[PlannedSit]) -> SitGroup:
    order = sorted(run, key=lambda s: (-s.chance, s.day))
    advised = [sit for sit in order if sit.advice == "sit"]
    return SitGroup(
        first=run[0].day,
        last=run[-1].day,
        sits=tuple(advised),
        least=order[-1].chance,
        most=order[0].chance,
        low=min(sit.low for sit in run),
        high=max(sit.high for sit in run),
        bucks=tuple(dict.fromkeys([advised[0].buck, *(sit.buck for sit in order)])),
    )
