"""A buck's calendar against himself: his stays on the property, the absences between them, now.

A stay is an unbroken run of days on which he was most likely around, by the presence model, with at
least one day on which he was seen. It is cut where a season ends, so that seasons can be laid under
each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from deerlog.analysis.arrays import Bools
from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.visits import HALVES
from deerlog.timekeeping.seasons import SeasonCalendar

CALENDAR_COLUMNS = [
    "buck", "season", "stay", "arrived", "left", "days_seen", "light_days", "light_am", "light_pm",
    "sites", "gap_before_days", "gap_watched_days",
]  # fmt: skip
MOST_LIKELY = 0.5
"""From this chance on he is most likely around."""
WATCHED = 0.5
"""A day was watched for him where at least half of his cameras' use was (our choice)."""


def stays(
    presence: pd.DataFrame,
    grid: SightingGrid,
    calendar: SeasonCalendar,
    bucks: Sequence[str] | None = None,
) -> pd.DataFrame:
    """Every stay, a row each, by buck and day, from the chance that each buck is around (days by
    bucks).

    `CALENDAR_COLUMNS`. ``stay`` counts from 1 within a season; ``arrived`` and ``left`` are days,
    both included, ``left`` NaT for a stay that goes on; ``light_days`` are days with a visit in
    shooting light, ``light_am`` and ``light_pm`` in one half; ``sites`` his sites, most used first,
    parted by ``;``; ``gap_before_days`` the days between this stay and the one before (0 where a
    stay runs on from the season before, NA for his first), and ``gap_watched_days`` how many of
    them were watched for him.
    """
    rows: list[dict[str, object]] = []
    for buck in grid.bucks if bucks is None else bucks:
        if buck in grid.bucks and buck in presence:
            rows += _of_one(buck, presence[buck], grid, calendar)
    table = pd.DataFrame(rows, columns=CALENDAR_COLUMNS)
    whole = ["season", "stay", "days_seen", "light_days", "light_am", "light_pm"]
    return table.astype(
        dict.fromkeys(whole, "int64")
        | dict.fromkeys(["arrived", "left"], "datetime64[us]")
        | dict.fromkeys(["gap_before_days", "gap_watched_days"], "Int64")
        | dict.fromkeys(["buck", "sites"], "str")
    )


def watched_for(grid: SightingGrid, buck: str) -> Bools:
    """Days on which at least half of the use he makes of the sites was watched, shape (T,)."""
    use = grid.seen[:, grid.bucks.index(buck)].sum(axis=0).astype(float)
    share = grid.running @ (use / max(use.sum(), 1.0))
    return np.asarray(share >= WATCHED)


def _of_one(
    buck: str, around: pd.Series, grid: SightingGrid, calendar: SeasonCalendar
) -> list[dict[str, object]]:
    his = grid.bucks.index(buck)
    here = around.reindex(grid.days).to_numpy(dtype=float) >= MOST_LIKELY
    seen, in_light = grid.seen[:, his], grid.seen_in_light[:, his]
    watched = watched_for(grid, buck)
    season = calendar.season_of(grid.days)
    same = season[1:] == season[:-1]
    begins = np.asarray(here & ~np.append(False, here[:-1] & same))
    ends = np.asarray(here & ~np.append(here[1:] & same, False))
    rows: list[dict[str, object]] = []
    before: int | None = None
    runs = zip(np.flatnonzero(begins).tolist(), np.flatnonzero(ends).tolist(), strict=True)
    for first, last in runs:
        part = slice(first, last + 1)
        if not seen[part].any():
            continue
        this = int(season[first])
        visits = seen[part].sum(axis=0)
        order = np.argsort(-visits, kind="stable")
        lit = np.asarray(in_light[part].any(axis=1))
        gap = slice(first if before is None else before + 1, first)
        rows.append(
            {
                "buck": buck,
                "season": this,
                "stay": 1 + sum(row["season"] == this for row in rows),
                "arrived": grid.days[first],
                "left": pd.NaT if last == len(here) - 1 else grid.days[last],
                "days_seen": int(seen[part].any(axis=1).sum()),
                "light_days": int(lit.any(axis=1).sum()),
                **{f"light_{h.lower()}": int(lit[:, n].sum()) for n, h in enumerate(HALVES)},
                "sites": ";".join(grid.sites[s] for s in order if visits[s]),
                "gap_before_days": pd.NA if before is None else gap.stop - gap.start,
                "gap_watched_days": pd.NA if before is None else int(watched[gap].sum()),
            }
        )
        before = int(last)
    return rows


@dataclass(frozen=True, kw_only=True)
class Whereabouts:
    """Where a buck stands in his own calendar on the last day known.

    ``state``: ``here``; ``away`` (within the longest absence that he came back from), ``overdue``
    (longer than that, or past the days on which he came in every season before), ``due`` (his days
    of past seasons lie ahead), ``gone`` (his days of this season are over, by his own past) or
    ``unknown`` (no past to go by). ``since``: the first day of the stay, or the last day of the one
    before; None where he never stayed. ``days``: how long he has been here or away; ``due``: until
    his days begin. ``longest_days``: the longest absence within a season from which he came back;
    None where there was none. ``seasons``: in so many he has stayed.
    """

    buck: str
    state: str
    since: date | None
    days: int
    watched_days: int
    longest_days: int | None
    seasons: int


def whereabouts(
    table: pd.DataFrame, grid: SightingGrid, calendar: SeasonCalendar, buck: str
) -> Whereabouts:
    """Where he stands in his own calendar, by `stays`."""
    his = table[table["buck"] == buck]
    today = grid.days[-1]
    state, since, days, watched, longest = "unknown", None, 0, 0, None
    if len(his):
        within = his[(his["stay"] > 1) & (his["gap_before_days"] > 0)]["gap_before_days"]
        longest = None if within.empty else int(within.max())
        last = his.iloc[-1]
        if pd.isna(last["left"]):
            state, since = "here", last["arrived"].date()
            days = watched = (today - last["arrived"]).days + 1
        else:
            since, away = last["left"].date(), (today - last["left"]).days
            watched = int(watched_for(grid, buck)[len(grid.days) - away :].sum())
            state, days = _away(his, calendar, today, away, longest)
    return Whereabouts(
        buck=buck, state=state, since=since, days=days, watched_days=watched,
        longest_days=longest, seasons=int(his["season"].nunique()),
    )  # fmt: skip


def _away(
    his: pd.DataFrame, calendar: SeasonCalendar, today: pd.Timestamp, away: int, longest: int | None
) -> tuple[str, int]:
    """State and days of one who is not here."""
    now = int(calendar.season_of(pd.DatetimeIndex([today]))[0])
    past = his[his["season"] < now]
    day = int(calendar.season_day(pd.DatetimeIndex([today]))[0])
    came = calendar.season_day(pd.DatetimeIndex(past.groupby("season")["arrived"].min()))
    left = calendar.season_day(pd.DatetimeIndex(past.groupby("season")["left"].max().dropna()))
    if (his["season"] == now).any():
        if len(left) and day > left.max():
            return "gone", away
        if longest is None or away <= longest:
            return ("away" if longest is not None else "unknown"), away
        return "overdue", away
    if not len(came):
        return "unknown", away
    if day < came.min():
        return "due", int(came.min()) - day
    if len(left) and day > left.max():
        return "gone", away
    return ("overdue", away) if day > came.max() else ("due", 0)
