"""The ways to hunt a buck through a season, and which of them is open, not yet, over or none.

Common practice, no published source: the opener on summer food in the evening, its first days
only; fall food in the afternoon, never a morning; bedding cover beside food in the rut in the
morning; for a visitor, his own days.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import pandas as pd

from deerlog.analysis.forecast.chances import Forecast
from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.plan.stand_chances import RAN, some_days, stand_chances
from deerlog.analysis.season.own_days import OwnDays
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import SeasonCalendar

OPENER, FALL_FOOD, RUT_BEDDING, HIS_DAYS = WAYS = (
    "opener", "fall food", "rut bedding", "his days",
)  # fmt: skip
OPEN, NOT_YET, OVER, NO = "open", "not yet", "over", "no"
OUTLOOK_COLUMNS = [
    "buck", "way", "state", "site", "stand", "half", "opens", "closes", "chance", "low", "high",
    "seasons_seen", "seasons_watched", "visits_behind", "camera_days_behind", "reason",
]  # fmt: skip
NEAR_FOOD_M = 402.0
"""A quarter mile: how far off food bedding cover is hunted in the rut (common practice, no
published source)."""
HERE = 0.5
"""From this chance of being around on he is taken to be here."""


@dataclass(frozen=True, kw_only=True)
class HuntedGround:
    """What the ways need to know of the sites (``site, setting, x_m, y_m``) and the season.

    ``stand_of`` a site and half, where one covers it. ``opening_days``: opening and closing day of
    each hunting season of this deer season, both included; ``opener_days`` from an opening on are
    the opener.
    """

    sites: pd.DataFrame
    stand_of: Mapping[tuple[str, str], str]
    opening_days: Sequence[tuple[date, date]]
    opener_days: int = SeasonCalendar.opener_days

    def of_setting(self, *settings: str) -> list[str]:
        """Sites of some settings, in order."""
        return list(self.sites.loc[self.sites["setting"].isin(settings), "site"])

    def near_food(self) -> list[str]:
        """Bedding and travel sites within `NEAR_FOOD_M` of food; all where no food is known."""
        cover = self.sites[self.sites["setting"].isin(["bed", "travel"])]
        food = self.sites[self.sites["setting"] == "food"]
        if food.empty:
            return list(cover["site"])
        gap = np.hypot(
            cover["x_m"].to_numpy()[:, None] - food["x_m"].to_numpy(),
            cover["y_m"].to_numpy()[:, None] - food["y_m"].to_numpy(),
        )
        return list(cover.loc[(gap <= NEAR_FOOD_M).any(axis=1), "site"])

    def is_open(self, day: date) -> bool:
        """Whether hunting is open; always where no season is given."""
        return not self.opening_days or any(a <= day <= b for a, b in self.opening_days)


@dataclass(frozen=True, kw_only=True)
class _Way:
    """One way, before it is asked of one buck: where, in which half, on which days."""

    name: str
    sites: Sequence[str]
    halves: tuple[str, ...]
    spans: Sequence[tuple[date, date]]
    reason: str = ""


def outlook(
    forecast: Forecast,
    grid: SightingGrid,
    calendar: SeasonCalendar,
    ground: HuntedGround,
    bucks: Sequence[str],
    visitors: Mapping[str, OwnDays | None],
) -> pd.DataFrame:
    """Every way to hunt every buck, a row each: `OUTLOOK_COLUMNS`.

    ``visitors`` only come for a while, with their own days, None where they have no past to tell.
    ``chance`` is the mean over the days still open of the best site and half, with its interval;
    ``seasons_seen`` of ``seasons_watched`` are past seasons with a visit of his in shooting light
    there and then; the counts behind are of all seasons. ``reason`` is a word for why it is not
    open.
    """
    season = int(calendar.season_of(grid.days[-1:])[0])
    ahead = _Ahead(forecast=forecast, grid=grid, calendar=calendar, ground=ground)
    rows = [
        ahead.row(buck, way)
        for buck in bucks
        for way in _ways(calendar, season, ground, visitors.get(buck), buck in visitors)
    ]
    table = pd.DataFrame(rows, columns=OUTLOOK_COLUMNS)
    counts = ["seasons_seen", "seasons_watched", "visits_behind"]
    return table.astype(
        dict.fromkeys(["opens", "closes"], "datetime64[us]")
        | dict.fromkeys(["chance", "low", "high", "camera_days_behind"], "float64")
        | dict.fromkeys(counts, "int64")
    )


def _ways(
    calendar: SeasonCalendar,
    season: int,
    ground: HuntedGround,
    own: OwnDays | None,
    visits_only: bool,
) -> list[_Way]:
    first, after = calendar.bounds(season)
    peak = calendar.rut_peak_day(season)
    last = after - timedelta(days=1)
    rut = (peak - timedelta(days=7), peak + timedelta(days=14))
    openings = sorted({a for a, _ in ground.opening_days if first <= a <= last})
    length = timedelta(days=ground.opener_days - 1)
    openers = [(a, a + length) for a in openings if a < rut[0]][:1]
    fall = openers[0][1] if openers else date(first.year, 8, 31)
    food = ground.of_setting("food") or list(ground.sites["site"])
    his = []
    if own is not None:
        his = [(peak + timedelta(days=own.first), peak + timedelta(days=own.last))]
    day = timedelta(days=1)
    no_visitor = "his own days" if visits_only else ""
    everywhere = list(ground.sites["site"])
    return [
        _Way(
            name=OPENER, sites=food, halves=("PM",), spans=openers,
            reason=no_visitor or ("" if openers else "no opening day"),
        ),
        _Way(
            name=FALL_FOOD, sites=food, halves=("PM",),
            spans=[(fall + day, rut[0] - day), (rut[1] + day, last)], reason=no_visitor,
        ),
        _Way(
            name=RUT_BEDDING, sites=ground.near_food(), halves=("AM",), spans=[rut],
            reason=no_visitor,
        ),
        _Way(
            name=HIS_DAYS, sites=everywhere, halves=HALVES, spans=his,
            reason="" if own else "no past days" if visits_only else "lives here",
        ),
    ]  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class _Ahead:
    """The days ahead, what is known before them, and the ground: what every way is asked of."""

    forecast: Forecast
    grid: SightingGrid
    calendar: SeasonCalendar
    ground: HuntedGround

    def row(self, buck: str, way: _Way) -> dict[str, object]:
        row: dict[str, object] = dict.fromkeys(OUTLOOK_COLUMNS, "") | {
            "buck": buck, "way": way.name, "state": NO, "reason": way.reason,
            "opens": pd.NaT, "closes": pd.NaT, "chance": np.nan, "low": np.nan, "high": np.nan,
            "seasons_seen": 0, "seasons_watched": 0, "visits_behind": 0, "camera_days_behind": 0.0,
        }  # fmt: skip
        sites = [site for site in way.sites if site in self.grid.sites]
        if way.reason or buck not in self.forecast.bucks:
            return row | {"reason": way.reason or "not seen yet"}
        if not sites:
            return row | {"reason": "no such site"}
        today = self.grid.days[-1].date()
        spans = [s for span in way.spans for s in [_hunted(span, self.ground)] if s is not None]
        coming = [span for span in spans if span[1] > today]
        row |= self._behind(buck, way, sites, spans)
        if not coming:
            return row | ({"state": OVER, "reason": "days past"} | _dates(spans[-1:]))
        span = coming[0]
        row |= _dates([span])
        row["state"] = OPEN if span[0] <= today + timedelta(days=1) else NOT_YET
        row |= self._best(buck, way, sites, span)
        return row | self._judged(buck, way, row)

    def _judged(self, buck: str, way: _Way, row: Mapping[str, object]) -> dict[str, object]:
        """What his not being here, or never having come in light, makes of a way."""
        around = self.forecast.around[:, self.forecast.bucks.index(buck)]
        if way.name == OPENER:
            opens = np.asarray(self.forecast.days >= pd.Timestamp(row["opens"]))  # type: ignore[arg-type]
            on_the_day = around[opens][:1] if opens.any() else around[:1]
            if on_the_day.size and on_the_day[0] < HERE:
                left = row["state"] == OPEN
                state, reason = (OVER, "left") if left else (NO, "leaves before")
                return {"state": state, "reason": reason}
        if way.name != HIS_DAYS and not row["visits_behind"]:
            return {"state": NO, "reason": "not seen there in light"}
        if way.name != HIS_DAYS and row["state"] == OPEN and around[0] < HERE:
            return {"reason": "away"}
        return {}

    def _behind(
        self, buck: str, way: _Way, sites: Sequence[str], spans: Sequence[tuple[date, date]]
    ) -> dict[str, object]:
        """Visits in light, camera-days and seasons on the days of the year that spans cover."""
        grid, calendar = self.grid, self.calendar
        season, day = calendar.season_of(grid.days), calendar.season_day(grid.days)
        wanted = np.zeros(len(grid.days), dtype=bool)
        for first, last in spans:
            a, b = calendar.season_day(pd.DatetimeIndex([first, last]))
            wanted |= (day >= a) & (day <= b)
        columns = [grid.sites.index(site) for site in sites]
        his = [grid.bucks.index(buck)] if buck in grid.bucks else []
        parts = [HALVES.index(half) for half in way.halves]
        came = grid.seen_in_light[:, his][:, :, columns][..., parts].sum(axis=(1, 2, 3))
        ran = np.asarray((grid.running[:, columns] >= RAN).any(axis=1))
        now = season == season[-1]
        seen = watched = 0
        for past in np.unique(season[~now]):
            here = wanted & (season == past)
            came_then = bool(came[here].any())
            if came_then or (here.any() and ran[here].mean() >= RAN):
                watched += 1
                seen += came_then
        return {
            "seasons_seen": seen,
            "seasons_watched": watched,
            "visits_behind": int(came[wanted].sum()),
            "camera_days_behind": float(np.round(grid.running[wanted][:, columns].sum(), 1)),
        }

    def _best(
        self, buck: str, way: _Way, sites: Sequence[str], span: tuple[date, date]
    ) -> dict[str, object]:
        """The site and half with his greatest mean chance on the days of a span."""
        forecast = self.forecast
        first, last = (pd.Timestamp(day) for day in span)
        inside = np.flatnonzero(np.asarray((forecast.days >= first) & (forecast.days <= last)))
        if not len(inside):
            return {}
        part = some_days(forecast, int(inside[0]), int(inside[-1]) + 1)
        his = np.array([forecast.bucks.index(buck)])
        chances = stand_chances(part, [np.array([forecast.sites.index(s)]) for s in sites], his)
        parts = [HALVES.index(half) for half in way.halves]
        mean = chances.own[:, 0].mean(axis=0)[:, parts]
        n, h = np.unravel_index(int(mean.argmax()), mean.shape)
        site, half = sites[int(n)], way.halves[int(h)]
        ends = {"chance": chances.own, "low": chances.own_low, "high": chances.own_high}
        return {
            "site": site, "half": half, "stand": self.ground.stand_of.get((site, half), ""),
            **{name: float(each[:, 0, n, parts[int(h)]].mean()) for name, each in ends.items()},
        }  # fmt: skip


def _hunted(span: tuple[date, date], ground: HuntedGround) -> tuple[date, date] | None:
    """The part of a span from its first to its last day on which hunting is open."""
    days = [span[0] + timedelta(days=n) for n in range((span[1] - span[0]).days + 1)]
    is_open = [day for day in days if ground.is_open(day)]
    return (is_open[0], is_open[-1]) if is_open else None


def _dates(spans: Sequence[tuple[date, date]]) -> dict[str, object]:
    return {
        name: pd.Timestamp(day)
        for span in spans
        for name, day in zip(("opens", "closes"), span, strict=True)
    }
