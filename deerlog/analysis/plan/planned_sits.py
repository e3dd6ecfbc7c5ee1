"""What a plan is made of: places to hunt from, coming half-days, rules, sits.

Sits that are much the same, gathered for reading: any evening of some days at one stand.
"""

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
    """A place to hunt from.

    Attributes
    ----------
    name
        Empty where the user gave no stands and a site stands for itself.
    sites
        Places among the forecast's sites, at least one.
    settings
        What those sites are, such as ``food``.
    halves
        The halves it is hunted in.
    winds, winds_degrees
        What it can be hunted on, by name and in degrees; none means any.
    rest_days
        Days to leave it alone after a sit.
    opens, closes
        (month, day) from and to which it is hunted at all, both included; None where open.
    baited
        Sites of it with bait.
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

    Attributes
    ----------
    starts, ends
        Of a sit in it, aware, in shooting light; None where there is none.
    phase
        Of the day.
    is_open
        Whether hunting is open; None where no season is given.
    seasons
        Names of the hunting seasons open then.
    wind
        None without a forecast.
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
    """One rule against a sit.

    Attributes
    ----------
    rule
        Its name in `PlanRules`; or ``light`` (no shooting light in that half), ``better_stand``
        (another stand is the better choice for that half), ``better_day`` (kept for a better sit
        of the plan, which its rest days would forbid).
    day
        Of ``rest`` and ``better_day``: the day of the other sit; of ``burnt``: of the last one.
    free_from
        Of ``rest`` and ``burnt``: the first day it can be hunted again.
    count
        Of ``burnt``: how many sits in vain.
    stand
        Of ``better_stand``: that stand, or site where there are no stands.
    wind_degrees
        Of ``wind``: what it blows from while it is wrong.
    partly
        Of ``wind``: it is right for a part of the time.
    """

    rule: Rule
    day: date | None = None
    free_from: date | None = None
    stand: str | None = None
    wind_degrees: float | None = None
    partly: bool = False
    count: int = 0


@dataclass(frozen=True, kw_only=True)
class PlannedSit:
    """One stand in one coming half-day.

    Attributes
    ----------
    site, buck
        The buck it is about, and the site of the stand where he is likeliest.
    chance, low, high
        This buck, at least one of the stand's sites, in shooting light; with its 95 % interval.
    any_chance
        The same of any of the bucks of the plan.
    around
        Chance that he is around.
    n_bucks
        How many bucks ``any_chance`` is over.
    behind
        The counts that ``chance`` rests on.
    seasons
        Names of the hunting seasons open then.
    baited
        Sites of the stand with bait.
    winds
        What the stand can be hunted on; none means any.
    wind_known
        Whether a forecast of the wind reaches the sit.
    vetoes
        The rules against it, in the order they are judged.
    starts, ends
        Aware, in shooting light; None where there is none.
    rest_days
        Days to leave the stand alone after a sit.
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

    Parameters
    ----------
    sits
        Of `deerlog.analysis.plan.ranking.plan`, in any order.
    """
    rows: dict[tuple[str, str, str], list[PlannedSit]] = {}
    for sit in sits:
        if all(veto.rule in ("better_day", "better_stand") for veto in sit.vetoes):
            rows.setdefault((sit.place, sit.half, sit.buck), []).append(sit)
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
