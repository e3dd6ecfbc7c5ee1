"""What a plan is made of: places to hunt from, coming half-days, rules, sits; and sits that are
much the same, gathered for reading: any evening of some days at one stand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Literal

from deerlog.analysis.plan.half_days import SitWind
from deerlog.analysis.plan.stand_chances import Behind
from deerlog.analysis.visits import HALVES

Advice = Literal["sit", "stay out", ""]
Rule = Literal[
    "season_dates", "light", "mornings_at_food", "wind", "rest", "dark_spots",
    "sit_at_least", "better_stand", "better_day", "time_of_year", "burnt",
]  # fmt: skip

STAY_OUT: frozenset[Rule] = frozenset({"mornings_at_food", "wind", "rest", "dark_spots", "burnt"})
"""Rules that say to keep away; the others only that there is no leave, or nothing to go for."""


HALVES_OF_USE: Mapping[str, tuple[str, ...]] = {
    "morning": HALVES[:1],
    "evening": HALVES[1:],
    "either": HALVES,
}
"""The halves of the day in which a stand is hunted, by ``use`` in stands.csv."""


@dataclass(frozen=True, kw_only=True)
class StandPlace:
    """A place to hunt from; ``name`` is empty where the user gave no stands and a site stands for
    itself.

    ``sites`` are places among the forecast's sites, at least one, ``settings`` what those are, such
    as ``food``, ``baited`` those with bait. ``winds`` it can be hunted on, by name and in degrees;
    none means any. ``opens`` and ``closes``: (month, day) from and to which it is hunted at all,
    both included; None where open.
    """

    name: str
    sites: tuple[int, ...]
    settings: tuple[str, ...]
    halves: tuple[str, ...] = HALVES
    winds: tuple[str, ...] = ()
    winds_degrees: tuple[float, ...] = ()
    rest_days: int = 0
    opens: tuple[int, int] | None = None
    closes: tuple[int, int] | None = None
    baited: tuple[str, ...] = ()

    def is_in_time(self, day: date) -> bool:
        """Whether it is hunted on a day of the year."""
        here = (day.month, day.day)
        after, before = here >= (self.opens or (1, 1)), here <= (self.closes or (12, 31))
        across = self.opens is not None and self.closes is not None and self.closes < self.opens
        return after or before if across else after and before


@dataclass(frozen=True, kw_only=True)
class HalfDay:
    """One coming half-day.

    ``starts`` and ``ends`` are of a sit in it, aware, in shooting light; None where there is none.
    ``is_open``: hunting is open, None where no season is given; ``seasons`` names those open then.
    ``wind`` is None without a forecast.
    """

    day: date
    half: str
    phase: str
    starts: datetime | None
    ends: datetime | None
    is_open: bool | None = None
    seasons: tuple[str, ...] = ()
    wind: SitWind | None = None


@dataclass(frozen=True, kw_only=True)
class Veto:
    """One rule against a sit: its name in `PlanRules`; or ``light`` (no shooting light in that
    half), ``better_stand`` (another stand is the better choice for that half), ``better_day`` (kept
    for a better sit of the plan, which its rest days would forbid).

    ``day``: of ``rest`` and ``better_day`` that of the other sit, of ``burnt`` that of the last
    one. ``free_from``, of ``rest`` and ``burnt``: the first day it can be hunted again. ``count``,
    of ``burnt``: sits in vain. ``stand``, of ``better_stand``: that stand, or site where there are
    no stands. Of ``wind``: ``wind_degrees`` it blows from while it is wrong; ``partly``, it is
    right for a part of the time.
    """

    rule: Rule
    day: date | None = None
    free_from: date | None = None
    stand: str | None = None
    wind_degrees: float | None = None
    partly: bool = False
    count: int = 0


TIES = ("wind", "less hunted", "cooler and calmer")
"""What breaks a tie between sits, in order."""


@dataclass(frozen=True, kw_only=True)
class PlannedSit:
    """One stand in one coming half-day.

    ``chance``, ``low``, ``high``: that this buck comes to at least one of the stand's sites in
    shooting light, with its 95 % interval; ``site`` is the one where he is likeliest; ``behind``
    are the counts it rests on. ``any_chance``: the same of any of the ``n_bucks`` bucks of the
    plan. ``around``: the chance that he is around. ``wind_known``: a forecast of the wind reaches
    the sit. ``unrest``: of `SitWind`, less the mean of the plan's same halves; None: not known.
    ``tie``: what it was preferred for to a sit that is as good within its doubt (`TIES`); ``""``
    for none. ``vetoes`` are in the order they are judged. All else is that of the `StandPlace` and
    the `HalfDay`.
    """

    day: date
    half: str
    stand: str
    site: str
    buck: str
    chance: float
    low: float
    high: float
    any_chance: float
    around: float
    n_bucks: int
    behind: Behind
    winds: tuple[str, ...]
    wind_known: bool
    starts: datetime | None
    ends: datetime | None
    unrest: float | None = None
    tie: str = ""
    vetoes: tuple[Veto, ...] = ()
    rest_days: int = 0
    seasons: tuple[str, ...] = ()
    baited: tuple[str, ...] = ()

    @property
    def advice(self) -> Advice:
        """``sit``, ``stay out``, or neither."""
        rules = {veto.rule for veto in self.vetoes}
        if not rules:
            return "sit"
        # Where there is no leave to hunt at all, a reason to stay out is no news.
        if rules & {"season_dates", "light", "time_of_year"}:
            return ""
        return "stay out" if rules & STAY_OUT else ""

    @property
    def place(self) -> str:
        """The stand, or the site where there are no stands."""
        return self.stand or self.site


ALIKE = 0.02
"""Chances no farther apart than this are one to a hunter: a point or two (our choice)."""


@dataclass(frozen=True, kw_only=True)
class SitGroup:
    """Half-days in a row at one stand, any of which would do, from ``first`` to ``last``, both
    included.

    ``sits`` are those that the plan advises, best first; at least one. ``least``, ``most``: lowest
    and highest chance of all its half-days. ``low``, ``high``: ends of their 95 % intervals, the
    farthest out on either side.
    """

    first: date
    last: date
    sits: tuple[PlannedSit, ...]
    least: float
    most: float
    low: float
    high: float

    @property
    def best(self) -> PlannedSit:
        """The sit that the plan would choose first."""
        return self.sits[0]


def sit_groups(sits: Iterable[PlannedSit]) -> tuple[SitGroup, ...]:
    """Every advised sit in just one group, groups by the chance of their best sit.

    A group runs over successive days at one stand in one half whose chances lie within `ALIKE` of
    each other and on which no rule is against a sit but that the plan can take only one: the day is
    kept for another sit of the group (its rest days), or another stand is better on a day inside
    it.
    """
    rows: dict[tuple[str, str, str], list[PlannedSit]] = {}
    for sit in sits:
        if all(veto.rule in ("better_day", "better_stand") for veto in sit.vetoes):
            rows.setdefault((sit.place, sit.half, sit.buck), []).append(sit)
    runs = [
        _of_its_own(run) for row in rows.values() for run in _runs(sorted(row, key=lambda s: s.day))
    ]
    groups = [_group(run) for run in runs if run]
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
        if sit.day in advised or any(veto.day in advised for veto in sit.vetoes)
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
    )
