"""What the map of one buck shows, as frozen values; conventions in `page_data`."""

from __future__ import annotations

from dataclasses import dataclass


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
