"""What a plan is made of: places to hunt from, coming half-days, rules that bite, sits."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from deerlog.analysis.plan.plan_reasons import Behind
from deerlog.analysis.plan.sit_wind import SitWind
from deerlog.analysis.visits import HALVES

Advice = Literal["sit", "stay out", ""]
Rule = Literal[
    "season_dates", "light", "mornings_at_food", "wind", "rest", "dark_spots",
    "sit_at_least", "better_stand", "better_day",
]  # fmt: skip

STAY_OUT: frozenset[Rule] = frozenset({"mornings_at_food", "wind", "rest", "dark_spots"})
"""Rules that say to keep away; the others only that there is no leave, or nothing to go for."""


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
    """

    name: str
    sites: tuple[int, ...]
    settings: tuple[str, ...]
    halves: tuple[str, ...] = HALVES
    winds: tuple[str, ...] = ()
    winds_degrees: tuple[float, ...] = ()
    rest_days: int = 0


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
    wind
        None without a forecast.
    """

    day: date
    half: str
    phase: str
    starts: datetime | None
    ends: datetime | None
    is_open: bool | None = None
    wind: SitWind | None = None


@dataclass(frozen=True, kw_only=True)
class Bite:
    """One rule that bites.

    Attributes
    ----------
    rule
        Its name in `PlanRules`; or ``light`` (no shooting light in that half), ``better_stand``
        (another stand is the better choice for that half), ``better_day`` (kept for a better sit
        of the plan, which its rest days would forbid).
    day
        Of ``rest`` and ``better_day``: the day of the other sit.
    free_from
        Of ``rest``: the first day it can be hunted again.
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


@dataclass(frozen=True, kw_only=True)
class PlannedSit:
    """One stand in one coming half-day.

    Attributes
    ----------
    site, buck
        The buck it is mostly about, and the site of the stand where he is likeliest.
    chance, low, high
        At least one of the bucks, at least one of the stand's sites, in shooting light; with its
        95 % interval.
    around
        Chance that the buck it is mostly about is around.
    also
        Other bucks with at least half of his chance.
    n_bucks
        How many bucks the chance is over.
    behind
        The counts it rests on, over those bucks.
    winds
        What the stand can be hunted on; none means any.
    wind_known
        Whether a forecast of the wind reaches the sit.
    bites
        Rules that bite, in the order they are judged.
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
    around: float
    also: tuple[str, ...]
    n_bucks: int
    behind: Behind
    winds: tuple[str, ...]
    wind_known: bool
    starts: datetime | None
    ends: datetime | None
    bites: tuple[Bite, ...] = ()
    rest_days: int = 0

    @property
    def advice(self) -> Advice:
        """``sit``, ``stay out``, or neither."""
        rules = {bite.rule for bite in self.bites}
        if not rules:
            return "sit"
        # Where there is no leave to hunt at all, a reason to stay out is no news.
        if rules & {"season_dates", "light"}:
            return ""
        return "stay out" if rules & STAY_OUT else ""

    @property
    def place(self) -> str:
        """The stand, or the site where there are no stands."""
        return self.stand or self.site
