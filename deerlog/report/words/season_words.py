"""The season in words: where a buck stands in his calendar, and the ways to hunt him."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

import pandas as pd

from deerlog.analysis.season.day_states import DAY_STATES, IN_DARK, IN_LIGHT
from deerlog.analysis.season.own_days import OwnDays
from deerlog.analysis.season.stays import Whereabouts
from deerlog.analysis.season.ways import NO, NOT_YET, OPEN, OVER, WAYS
from deerlog.property.wording import count, listing
from deerlog.report.words.words import day_month, days_span, half, interval, percent, sentence
from deerlog.study import PropertyStudy

Row = Mapping[Any, Any]

WAY_NAMES = dict(
    zip(
        WAYS,
        ("The opener", "Fall food, afternoons", "Bedding cover in the rut, mornings", "His days"),
        strict=True,
    )
)
_REASONS = {
    "his own days": "he only comes for a while; his own days count",
    "no opening day": "property.toml gives no opening day before the rut",
    "lives here": "he does not come for a few days only",
    "no past days": "no season before this one tells of his days",
    "no such site": "no camera ever stood at such a site",
    "not seen yet": "he has no sure tag yet",
    "not seen there in light": "never seen there in light on these days of the year",
    "leaves before": "he is most likely gone from here by then",
    "left": "he has most likely left",
    "days past": "its days are past",
    "away": "he is most likely away now",
}


def whereabouts_words(where: Whereabouts) -> str:
    """Where he stands in his own calendar: ``here since 4 October``, ``away 12 days ...``."""
    if where.state == "unknown" and where.since is None:
        return "no stay of his is known"
    assert where.since is not None
    watched = "" if where.watched_days >= where.days else f", {where.watched_days} of them watched"
    away = f"away {count(where.days, 'day')}{watched}"
    if where.state == "here":
        return f"here since {day_month(where.since)}"
    if where.state == "away":
        return f"{away}; he has been away up to {where.longest_days} and came back"
    if where.state == "overdue":
        longest = where.longest_days
        habit = "" if longest is None else f"; the longest he came back from was {longest}"
        return f"overdue: not here since {day_month(where.since)}{habit}"
    if where.state == "due":
        return f"due in {count(where.days, 'day')}" if where.days else "due"
    if where.state == "gone":
        return f"here until {day_month(where.since)}, as in past seasons"
    return away


def calendar_words(days: pd.DataFrame, changed: Sequence[date]) -> dict[str, Any]:
    """One season of his calendar in ``words``, and the ``marks`` of single days.

    ``days`` are of `deerlog.analysis.season.day_states.day_states`; on the days ``changed`` he
    most likely came to new ground.
    """
    in_light, in_dark, not_seen, not_watched = (int((days["state"] == s).sum()) for s in DAY_STATES)
    seen = in_light + in_dark
    said = [f"seen on {seen} of {count(seen + not_seen, 'day')} watched, {in_light} in light"]
    said += [f"{not_watched} not watched"] if not_watched else []
    marks = [("changed", day, f"most likely new ground about {day_month(day)}") for day in changed]
    if seen:
        there = days.loc[days["state"].isin([IN_LIGHT, IN_DARK]), "day"].dt.date
        first, last = min(there), max(there)
        said.append(f"first {day_month(first)}, last {day_month(last)}")
        marks += [("first", first, "first seen"), ("last", last, "last seen")]
    said += [words for sign, _, words in marks if sign == "changed"]
    return {"words": "; ".join(said), "marks": marks}


def own_days_words(own: OwnDays, peak: pd.Timestamp) -> str:
    """``expected 6 to 17 November, from 3 seasons; never before 6 or after 16 November``."""
    first, last, earliest, latest = (
        (peak + timedelta(days=n)).date() for n in (own.first, own.last, own.earliest, own.latest)
    )
    return (
        f"expected {days_span(first, last)}, by {count(own.seasons, 'season')}; he stayed within "
        f"{days_span(earliest, latest)}, at no other time; comes at all {percent(own.comes)}"
    )


def way_why(row: Row) -> str:
    """What a way rests on, or why it is none."""
    behind = ""
    if row["seasons_watched"]:
        seasons = count(row["seasons_watched"], "past season")
        behind = f"in light there then in {row['seasons_seen']} of {seasons} watched"
    visits, days = count(row["visits_behind"], "visit"), f"{row['camera_days_behind']:.0f}"
    parts = [_REASONS.get(row["reason"], ""), behind]
    if row["camera_days_behind"]:
        parts.append(f"{visits} in {days} camera-days")
    return "; ".join(part for part in parts if part)


def way_words(row: Row) -> str:
    """One way of one buck, as a sentence: its state, days, place, chance, and what it rests on."""
    said = f"{WAY_NAMES[row['way']]}: {row['state']}"
    if row["state"] in (OPEN, NOT_YET) and pd.notna(row["opens"]):
        said += f", {days_span(row['opens'], row['closes'])}"
    if row["state"] in (OPEN, NOT_YET) and pd.notna(row["chance"]):
        at = row["stand"] or row["site"]
        said += (
            f", best {half(row['half'])}s at {at}, {percent(row['chance'])} a half-day "
            f"({interval(row['low'], row['high'])})"
        )
    why = way_why(row)
    return f"{said}. {why[0].upper()}{why[1:]}." if why else f"{said}."


def verdict(rows: pd.DataFrame, sit_at_least: float, *, first_season: bool = False) -> str:
    """Hunt him, wait, or leave him alone this season, and why; of one buck's ways. Nobody is left
    alone for what a property's first season has not shown yet.

    A way that is open with less than ``sit_at_least`` at its best is one to wait with.
    """
    open_now = rows[rows["state"] == OPEN]
    if len(open_now):
        names = listing(WAY_NAMES[way].lower() for way in open_now["way"])
        best = float(open_now["chance"].max())
        if best >= sit_at_least:
            return f"hunt: {names}, up to {percent(best)} a half-day"
        return f"wait for better days: {percent(best)} a half-day at the best"
    coming = rows[rows["state"] == NOT_YET].sort_values("opens", kind="stable")
    if len(coming):
        first = coming.iloc[0]
        return f"wait until {day_month(first['opens'].date())}: {WAY_NAMES[first['way']].lower()}"
    over = rows[rows["state"] == OVER]
    if first_season:
        return "too early to say"
    why = "his days are past" if len(over) else "he was never seen in light where it would be"
    return f"leave him alone this season: {why}"


def outlook_table(study: PropertyStudy) -> pd.DataFrame:
    """The ways to hunt each wanted buck, with ``why`` in words."""
    table = study.season.outlook
    why = pd.Series([way_why(row) for row in table.to_dict("records")], dtype="str")
    return table.assign(why=why)


def season_of_buck(study: PropertyStudy, buck: str) -> dict[str, Any]:
    """What to do about him, where he stands in his calendar, his own days, the ways to hunt him."""
    if buck not in study.wanted:
        return {"verdict": "", "where": "", "own_days": None, "ways": []}
    ahead = study.season
    ways = ahead.outlook[ahead.outlook["buck"] == buck]
    there = ways[ways["state"] != NO]
    where = ahead.whereabouts[buck]
    own = ahead.own_days.get(buck) if where.state != "gone" else None
    return {
        "verdict": verdict(ways, ahead.sit_at_least, first_season=bool(first_season_words(study))),
        "where": whereabouts_words(where),
        "own_days": None if own is None else own_days_words(own, ahead.rut_peak),
        "ways": [way_words(row) for row in (ways if there.empty else there).to_dict("records")],
    }


def first_season_words(study: PropertyStudy) -> str:
    """What is missing in the first season of a property, and when there will be enough; ``""`` in
    later ones."""
    first, today = study.first_day, study.last_day
    if study.calendar.season_of(pd.DatetimeIndex([first]))[0] != study.season_now:
        return ""
    phases = study.calendar.phase_bounds(study.season_now)
    ahead = [(name, end) for name, begins, end in phases if begins < end > today.date()]
    known = listing(f"the {name} on {day_month(end)}" for name, end in ahead)
    return (
        f"This is the first season, {count((today - first).days + 1, 'day')} of it so far: no past "
        "dates to go by, and of a buck not yet seen in light where he would be hunted it is too "
        f"early to speak. Each part is known once the cameras have run through it: {known}. "
        "Whether he keeps to his dates shows next season."
    )


def season_lines(study: PropertyStudy, sat_for: Collection[str] = ()) -> list[str]:
    """Of every wanted buck, what to do about him, where he stands, and his own days if any; of one
    in ``sat_for``, that a sit is for him."""
    lines = []
    for buck in study.wanted:
        his = season_of_buck(study, buck)
        do = "the sit above is for him" if buck in sat_for else his["verdict"]
        said = [do, his["where"], *([his["own_days"]] if his["own_days"] else [])]
        lines.append(f"{buck}: " + " ".join(f"{sentence(part)}." for part in said))
    return lines
