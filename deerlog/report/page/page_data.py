"""Everything the report page shows, as frozen values. The page computes nothing: what stands
here is written down as it is, in words, tables and pictures.

Conventions, all through the module

* A ``share``, ``around``, ``chance`` runs from 0 to 1; a ``score`` from 0 to 100.
* ``low`` and ``high`` are the ends of the 95 % interval of the number beside them.
* ``first`` and ``last`` are days that both belong; ``first`` and ``end`` are half-open.
* Clock hours are local hours after midnight, 0 to 24, as the clock on the wall showed them.
* ``None`` says "not known" or "this part was not made"; an empty tuple says "made, and there is
  none".
* Every text is plain text, whatever a person typed; the page escapes it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from deerlog.report.page.buck_data import (
    BuckFacts,
    BuckSection,
    CameraSection,
    ChanceDay,
    ChanceStrip,
    ClockFinding,
    DayHourSeason,
    DaylightRow,
    DaySpan,
    EffortDay,
    Half,
    HuntingDates,
    Label,
    OpenQuestion,
    OtherBuck,
    Pattern,
    PhaseEvidence,
    PhaseSpan,
    PlacementRow,
    SeasonFrame,
    Share,
    ShiftRow,
    SilentStretch,
    StripSeason,
    SunCurves,
    VisitMark,
    WeekCell,
    WeekState,
    WindowRow,
)

__all__ = [
    "BuckFacts",
    "BuckNow",
    "BuckSection",
    "CameraSection",
    "ChanceDay",
    "ChanceStrip",
    "ClockFinding",
    "DayHourSeason",
    "DaySpan",
    "DaylightRow",
    "EffortDay",
    "ForecastScore",
    "Half",
    "HowGood",
    "HuntingDates",
    "Label",
    "LeftOut",
    "MendItem",
    "OpenQuestion",
    "OtherBuck",
    "Pattern",
    "PhaseEvidence",
    "PhaseSpan",
    "PlacementRow",
    "PlanView",
    "ReliabilityRow",
    "ReportPage",
    "SeasonFrame",
    "Setting",
    "Share",
    "ShiftRow",
    "SilentStretch",
    "SitAdvice",
    "SitsRow",
    "SitsView",
    "StandRested",
    "StayOut",
    "StripSeason",
    "SunCurves",
    "ThisWeek",
    "VisitMark",
    "WeekCell",
    "WeekState",
    "WindowRow",
]


@dataclass(frozen=True, kw_only=True)
class SitAdvice:
    """One coming half-day at one stand that is worth a sit, or several in a row much the same.

    ``when`` names the days and the half, ``bucks`` whom it is mostly about; ``chance`` is in words,
    since it may be from one percent to another.
    """

    when: str
    stand: str
    why: str
    bucks: str
    chance: str
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class StayOut:
    """A stand to keep away from: where and when, and why."""

    where: str
    why: str


@dataclass(frozen=True, kw_only=True)
class PlanView:
    """The plan of the coming days.

    Attributes
    ----------
    first, last
        The days planned for, both included.
    sits
        In the plan's order, best first.
    none
        A sentence or two where there are no sits, on what comes nearest.
    closed
        One sentence where hunting is closed on all of its days, else None.
    ahead
        A sentence a target: when to hunt him, as far ahead as is known.
    stands_on
        A sentence on whether it goes by a forecast of the weather; empty to say nothing.
    to_have_it
        The command that would put one in; None where one is.
    """

    first: date
    last: date
    sits: tuple[SitAdvice, ...] = ()
    stay_outs: tuple[StayOut, ...] = ()
    none: str = "No sit stands out."
    closed: str | None = None
    ahead: tuple[str, ...] = ()
    stands_on: str = ""
    to_have_it: str | None = None


@dataclass(frozen=True, kw_only=True)
class BuckNow:
    """How likely one target buck is around on the day of the report, and when he last showed."""

    name: str
    around: float | None
    last_seen: date | None
    last_site: str | None = None
    last_in_light: bool | None = None


@dataclass(frozen=True, kw_only=True)
class MendItem:
    """One thing to mend, most harmful first: where, what is wrong, what to do."""

    place: str
    why: str
    how: str
    value: str | None = None
    bucks: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class LeftOut:
    """A part of the report that was not made, and the file it is waiting for."""

    what: str
    missing: str


@dataclass(frozen=True, kw_only=True)
class ThisWeek:
    """The first screen. ``plan`` None: none was made; ``changed`` None: no earlier report.

    ``to_mend`` is the count of all there is to mend, of which ``mend_first`` shows the head;
    ``changed_since`` is the day of the earlier report.
    """

    now: tuple[BuckNow, ...]
    mend_first: tuple[MendItem, ...] = ()
    to_mend: int = 0
    left_out: tuple[LeftOut, ...] = ()
    plan: PlanView | None = None
    changed: tuple[str, ...] | None = None
    changed_since: date | None = None


@dataclass(frozen=True, kw_only=True)
class SitsRow:
    """Sits of one kind: how many saw a target buck, beside the chance that had been given.

    ``mean_chance`` is over the ``given`` sits for which one could be, of which ``given_seen`` saw
    one; None where there are none.
    """

    cut: str
    seen: Share
    mean_chance: float | None = None
    given: int = 0
    given_seen: int = 0


@dataclass(frozen=True, kw_only=True)
class StandRested:
    """When a stand was last sat on, and full days since; None where it never was."""

    stand: str
    last_sit: date | None
    days: int | None
    rest_days: int


@dataclass(frozen=True, kw_only=True)
class SitsView:
    """The sits. ``after`` says how the deer took them, in one or two sentences."""

    rows: tuple[SitsRow, ...]
    rested: tuple[StandRested, ...] = ()
    after: str | None = None


@dataclass(frozen=True, kw_only=True)
class ForecastScore:
    """One way of forecasting, scored on past half-days; smaller is better in both scores.

    Of the ``top_sits`` best sits it would have chosen, ``top_true`` came true.
    """

    rule: str
    log_loss: float
    brier: float
    half_days: int
    top_true: int | None = None
    top_sits: int | None = None


@dataclass(frozen=True, kw_only=True)
class ReliabilityRow:
    """When the chance given lay between ``said_low`` and ``said_high``, how often it came true."""

    said_low: float
    said_high: float
    said_mean: float
    happened: Share


@dataclass(frozen=True, kw_only=True)
class HowGood:
    """The backtest; ``verdict`` says plainly whether the forecast beats the rules of thumb.

    ``off`` says of which chances they were too high or too low, beyond what luck would do. ``span``
    says which weeks were replayed. ``weather`` is a sentence or two on what weather does,
    None where none is known.
    """

    verdict: str
    scores: tuple[ForecastScore, ...]
    reliability: tuple[ReliabilityRow, ...] = ()
    off: tuple[str, ...] = ()
    span: str = ""
    weather: tuple[str, ...] | None = None


@dataclass(frozen=True, kw_only=True)
class Setting:
    """One line of the foot: a setting by its name in property.toml, and its value as text."""

    name: str
    value: str


@dataclass(frozen=True, kw_only=True)
class ReportPage:
    """The whole page.

    Attributes
    ----------
    as_of
        The last day the report knows of.
    ran_until
        The last day up to it on which any camera is known to have run; None for none.
    seasons
        Frames, oldest first; the last one is the season of ``as_of``.
    sun
        By season; every season of ``seasons`` has one.
    sites
        Every site, in a lasting order: a site keeps its mark (shape and colour) all through the
        page by its place here.
    light_before_minutes, light_after_minutes
        Shooting light, in minutes before sunrise and after sunset.
    targets_chosen
        False where no buck is marked as target, so that all of them are shown in full.
    how_good, sits
        None where not made.
    """

    property_name: str
    as_of: date
    seasons: tuple[SeasonFrame, ...]
    sun: Mapping[int, SunCurves]
    sites: tuple[str, ...]
    this_week: ThisWeek
    bucks: tuple[BuckSection, ...]
    other_bucks: tuple[OtherBuck, ...]
    cameras: tuple[CameraSection, ...]
    light_before_minutes: int
    light_after_minutes: int
    visit_gap_minutes: int
    watched_share: float
    settings: tuple[Setting, ...]
    version: str
    targets_chosen: bool = True
    ran_until: date | None = None
    sits: SitsView | None = None
    how_good: HowGood | None = None
