"""What the page shows of the cameras, as frozen values; conventions in `page_data`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal


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
