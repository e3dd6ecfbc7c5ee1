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
from typing import Literal

from deerlog.report.buck_data import (
    BuckFacts,
    BuckSection,
    DayHourSeason,
    DaylightRow,
    DaySpan,
    Half,
    HuntingDates,
    Label,
    OpenQuestion,
    OtherBuck,
    Pattern,
    PhaseEvidence,
    PhaseSpan,
    SeasonFrame,
    Share,
    StripSeason,
    SunCurves,
    VisitMark,
    WeekCell,
    WeekState,
    WindowRow,
)
from deerlog.report.camera_data import (
    CameraSection,
    ClockFinding,
    EffortDay,
    PlacementRow,
    SilentStretch,
)

__all__ = [
    "BuckFacts",
    "BuckNow",
    "BuckSection",
    "CameraSection",
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
    "ReliabilityRow",
    "ReportPage",
    "SeasonFrame",
    "Setting",
    "Share",
    "SilentStretch",
    "SitAdvice",
    "SitsRow",
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
    """One coming half-day at one stand; ``advice`` is ``sit`` or ``stay out``."""

    day: date
    half: Half
    stand: str
    advice: Literal["sit", "stay out"]
    why: str
    buck: str | None = None
    chance: float | None = None
    low: float | None = None
    high: float | None = None


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
    """The first screen. ``sits`` None: no plan was made; ``changed`` None: no earlier report.

    ``to_mend`` is the count of all there is to mend, of which ``mend_first`` shows the head.
    """

    now: tuple[BuckNow, ...]
    mend_first: tuple[MendItem, ...] = ()
    to_mend: int = 0
    left_out: tuple[LeftOut, ...] = ()
    sits: tuple[SitAdvice, ...] | None = None
    changed: tuple[str, ...] | None = None


@dataclass(frozen=True, kw_only=True)
class SitsRow:
    """Sits of one kind: how many saw a target buck, beside the chance that had been given."""

    cut: str
    seen: Share
    mean_chance: float | None = None


@dataclass(frozen=True, kw_only=True)
class ForecastScore:
    """One way of forecasting, scored on past half-days; smaller is better in both scores."""

    rule: str
    log_loss: float
    brier: float
    half_days: int


@dataclass(frozen=True, kw_only=True)
class ReliabilityRow:
    """When the chance given lay between ``said_low`` and ``said_high``, how often it came true."""

    said_low: float
    said_high: float
    said_mean: float
    happened: Share


@dataclass(frozen=True, kw_only=True)
class HowGood:
    """The backtest; ``verdict`` says plainly whether the forecast beats the simple rules."""

    verdict: str
    scores: tuple[ForecastScore, ...]
    reliability: tuple[ReliabilityRow, ...] = ()


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
    sits: tuple[SitsRow, ...] | None = None
    how_good: HowGood | None = None
