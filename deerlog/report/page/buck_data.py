"""What the map of one buck shows, as frozen values; conventions in `page_data`.

What the page shows of the cameras, as frozen values; conventions in `page_data`.

What the page shows of one buck, as frozen values; conventions in `page_data`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal


@dataclass(frozen=True, kw_only=True)
class MapSite:
    """Where a site lies, in metres east and north of the property's own position."""

    site: str
    east_m: float
    north_m: float


@dataclass(frozen=True, kw_only=True)
class SiteUse:
    """A buck at one site in one phase. ``rate`` is visits in 100 camera-days, None where no camera
    ran."""

    site: str
    visits: int
    shooting_light_visits: int
    camera_days: float
    rate: float | None


@dataclass(frozen=True, kw_only=True)
class Move:
    """From the centre of one phase's use to that of another, in metres east and north."""

    from_east_m: float
    from_north_m: float
    to_east_m: float
    to_north_m: float
    words: str


@dataclass(frozen=True, kw_only=True)
class PhaseMap:
    """One panel: the sites in one phase. ``move`` is drawn as an arrow where he shifted into it."""

    phase: str
    uses: tuple[SiteUse, ...]
    move: Move | None = None


@dataclass(frozen=True, kw_only=True)
class BuckMap:
    """The panels of one buck, in order of phase; sites with a known position only."""

    sites: tuple[MapSite, ...]
    phases: tuple[PhaseMap, ...]
    units: str


@dataclass(frozen=True, kw_only=True)
class EffortDay:
    """How much of one day the camera really ran, 0 to 1. A day it stood nowhere has none."""

    day: date
    site: str
    camera_day: float


@dataclass(frozen=True, kw_only=True)
class PlacementRow:
    """A camera at a site from a day to a day; ``last`` None: still there."""

    site: str
    setting: str
    first: date
    last: date | None
    baited: bool = False


@dataclass(frozen=True, kw_only=True)
class ClockFinding:
    """A clock that looks wrong, the evidence in a sentence, and the line to put in clock.csv."""

    what: str
    evidence: str
    row_to_add: str | None = None


@dataclass(frozen=True, kw_only=True)
class SilentStretch:
    """Days (both included) without a photo of any kind, or noted in outages.csv.

    ``status`` is ``silent`` (too long to be believed: counted as not watched), ``down`` (noted as
    not running: not watched) or ``running`` (silent, but noted as running: watched).
    """

    site: str
    first: date
    last: date
    status: Literal["silent", "down", "running"] = "silent"


@dataclass(frozen=True, kw_only=True)
class CameraSection:
    """One camera: where it stood, when it ran, what is wrong, what waits to be tagged.

    ``effort`` is in day order; ``camera_days`` its sum over all seasons, ``season_camera_days``
    over the season of the report. ``visits`` counts visits of anything; ``untagged`` those nobody
    has looked at, in ``tag_sheet``.
    """

    camera: str
    placements: tuple[PlacementRow, ...]
    effort: tuple[EffortDay, ...]
    camera_days: float
    season_camera_days: float
    photos: int
    visits: int
    untagged: int
    tag_sheet: str
    last_proof_of_life: date | None = None
    clock: tuple[ClockFinding, ...] = ()
    silent: tuple[SilentStretch, ...] = ()


Label = Literal["resident", "visiting", "undecided", "gone"]
Pattern = Literal["year-round", "fall", "summer", "rut", "passing", ""]
WeekState = Literal["seen", "not seen", "not watched"]
Half = Literal["AM", "PM"]


@dataclass(frozen=True, kw_only=True)
class Share:
    """So many of so many, with its interval. ``share`` is None where ``of`` is 0."""

    count: int
    of: int
    share: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, kw_only=True)
class HuntingDates:
    """One hunting season in one year; both days are open days."""

    name: str
    opens: date
    closes: date


@dataclass(frozen=True, kw_only=True)
class PhaseSpan:
    """Where one phase of a season lies, half-open."""

    name: str
    first: date
    end: date


@dataclass(frozen=True, kw_only=True)
class SeasonFrame:
    """The fixed frame of one season, shared by all bucks.

    Attributes
    ----------
    season
        The calendar year it opens in.
    first, end
        Half-open days.
    phases
        In order, covering ``first`` to ``end``.
    """

    season: int
    first: date
    end: date
    rut_peak: date
    phases: tuple[PhaseSpan, ...]
    hunting: tuple[HuntingDates, ...] = ()


@dataclass(frozen=True, kw_only=True)
class WeekCell:
    """One week of one buck. Weeks after the day of the report have no cell.

    Attributes
    ----------
    state
        ``seen``, ``not seen`` (cameras ran) or ``not watched`` (too few ran to say anything).
    around
        Smoothed probability that he was around, averaged over the week; None where not known.
    weight
        What the week argues: natural log of the odds it moves, above zero for resident, below
        for visiting, near zero for a week that says nothing. None where not known.
    """

    week_start: date
    state: WeekState
    days_seen: int
    camera_days: float
    visits: int
    shooting_light_visits: int
    around: float | None = None
    weight: float | None = None


@dataclass(frozen=True, kw_only=True)
class StripSeason:
    """The weeks of one season, oldest first; drawn as one row of the strip of weeks."""

    season: int
    cells: tuple[WeekCell, ...]


@dataclass(frozen=True, kw_only=True)
class PhaseEvidence:
    """What the weeks of one phase of one season argue, summed (see `WeekCell.weight`)."""

    season: int
    phase: str
    weeks_seen: int
    weeks_watched: int
    weight: float


@dataclass(frozen=True, kw_only=True)
class SunCurves:
    """Sunrise, sunset and shooting light, day by day, as clock hours; NaN where there is none.

    All five have one length; ``days`` are successive.
    """

    days: tuple[date, ...]
    sunrise: tuple[float, ...]
    sunset: tuple[float, ...]
    light_begins: tuple[float, ...]
    light_ends: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class VisitMark:
    """One visit of one buck, as drawn in the day-by-hour chart."""

    day: date
    hour: float
    site: str
    in_light: bool
    unsure: bool = False


@dataclass(frozen=True, kw_only=True)
class DaySpan:
    """Days ``first`` to ``last``, both included."""

    first: date
    last: date


@dataclass(frozen=True, kw_only=True)
class DayHourSeason:
    """One season of one buck, for the day-by-hour chart; `SeasonFrame` gives its ends.

    ``not_watched`` are the stretches when too few cameras ran, hatched in the chart.
    """

    season: int
    visits: tuple[VisitMark, ...]
    not_watched: tuple[DaySpan, ...] = ()


@dataclass(frozen=True, kw_only=True)
class BuckFacts:
    """The plain facts a person checks a score with, for one season or for all (``season`` None).

    A line of ``residency.csv`` and little more. ``p_*`` are the probabilities of the patterns, and
    that he is dead or gone for good.
    ``baited_visits`` is how many of ``visits`` came at baited sites; None where not known.
    """

    season: int | None
    score: float
    label: Label
    pattern: Pattern
    p_year_round: float
    p_fall: float
    p_summer: float
    p_rut: float
    p_passing: float
    p_gone: float
    weeks_seen: int
    weeks_watched: int
    days_seen: int
    visits: int
    daylight: Share
    longest_absence_days: int | None
    first_seen: date | None
    last_seen: date | None
    phases_seen: tuple[str, ...] = ()
    baited_visits: int | None = None
    unsure_visits: int = 0


@dataclass(frozen=True, kw_only=True)
class DaylightRow:
    """Visits in shooting light, for one cut of a buck's visits; None in a field means all of it."""

    daylight: Share
    phase: str | None = None
    site: str | None = None
    half: Half | None = None
    baited: bool = False


@dataclass(frozen=True, kw_only=True)
class WindowRow:
    """One window: a run of days (both included) when he is likelier in shooting light."""

    site: str
    half: Half
    opens: date
    closes: date
    chance: float
    low: float
    high: float
    visits_behind: int
    camera_days_behind: float


@dataclass(frozen=True, kw_only=True)
class ChanceDay:
    """The best site on one day in one half, and the chance of him there in shooting light."""

    day: date
    chance: float
    site: str


@dataclass(frozen=True, kw_only=True)
class ChanceStrip:
    """The days ahead in one half, successive, at least one."""

    half: Half
    days: tuple[ChanceDay, ...]


@dataclass(frozen=True, kw_only=True)
class ShiftRow:
    """How far the centre of his use lay from one phase to the next, in one season.

    ``change_probability`` is that his use of the sites changed at all between the two, and
    ``change_day`` the most likely day; None where no change is likelier than not.
    """

    season: int
    from_phase: str
    to_phase: str
    distance_m: float
    low_m: float
    high_m: float
    change_probability: float
    change_day: date | None = None


@dataclass(frozen=True, kw_only=True)
class OpenQuestion:
    """What is still unknown, in one sentence, and what would settle it, in another."""

    unknown: str
    would_settle: str


@dataclass(frozen=True, kw_only=True)
class BuckSection:
    """One target buck.

    Attributes
    ----------
    facts
        All seasons together; its label and score are the big answer.
    seasons
        One a season, oldest first, each up to and including that season.
    listed
        False where he is tagged but not in ``bucks.csv``.
    evidence
        By season and phase; the sentence of why is written from it.
    why
        Further sentences, ready-made, put below that one.
    daylight
        Any cuts, in the order to be shown; the first is usually the whole.
    strip, day_hour
        Oldest season first.
    outlook
        A sentence on when to hunt him, for where no window stands out.
    windows, ground
        None where they were not made. ``ground`` is the map of his use of the sites.
    ahead
        His chances day by day to the season's end, mornings first; empty where not made.
    shifts
        Moves between phases of the latest season he was seen in, in order.
    """

    name: str
    facts: BuckFacts
    seasons: tuple[BuckFacts, ...]
    strip: tuple[StripSeason, ...]
    day_hour: tuple[DayHourSeason, ...]
    daylight: tuple[DaylightRow, ...]
    evidence: tuple[PhaseEvidence, ...] = ()
    target: bool = True
    listed: bool = True
    born: int | None = None
    aliases: tuple[str, ...] = ()
    notes: str = ""
    why: tuple[str, ...] = ()
    open_questions: tuple[OpenQuestion, ...] = ()
    outlook: str = ""
    windows: tuple[WindowRow, ...] | None = None
    ahead: tuple[ChanceStrip, ...] = ()
    ground: BuckMap | None = None
    shifts: tuple[ShiftRow, ...] = ()


@dataclass(frozen=True, kw_only=True)
class OtherBuck:
    """One row of the table of the other bucks."""

    name: str
    facts: BuckFacts
    listed: bool = True
