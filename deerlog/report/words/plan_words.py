"""The plan in words: why to sit, why to stay out, and what was left aside."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

import pandas as pd

from deerlog.analysis.plan.planned_sits import PlannedSit, SitGroup, Veto
from deerlog.analysis.plan.rules import RECENT_DAYS
from deerlog.analysis.plan.stand_chances import Behind
from deerlog.analysis.visits import HALVES
from deerlog.property.coordinates import degrees_point
from deerlog.property.wording import count, listing
from deerlog.report.words.words import (
    MONTHS,
    day,
    day_month,
    days_span,
    half,
    interval,
    percent,
    short_weekday,
)

BRACKETS = (
    "In brackets its 95% interval; for several days together, from the lowest end to the highest "
    "over them."
)
"""What stands in brackets after the chance of a sit, or of some that are told as one."""
NEAREST_NAMED = 3
"""How many are named where no sit stands out (our choice)."""
GUN_WORDS = ("gun", "rifle", "firearm", "muzzleloader")
"""What the name of a hunting season holds in which others carry guns."""


TIE_WORDS = {
    "wind": "its wind is known to suit",
    "less hunted": "sat on less of late",
    "cooler and calmer": "cooler and calmer",
}
"""Why one of two sits alike is advised."""


WORTH_TOLD = 0.75
"""An interval wider than this says nothing of what a sit is worth (our choice)."""


def worth_words(worth: pd.DataFrame | None) -> str:
    """How much of a chance on camera is seen from the stand; ``""`` where too few sits tell."""
    if worth is None or (worth["high"] - worth["low"]).iloc[0] > WORTH_TOLD:
        return ""
    every = worth.iloc[0]
    return (
        f"From the stand a chance is worth about {percent(every['worth'])} "
        f"({interval(every['low'], every['high'])}): {count(int(every['sits']), 'sit')} that were "
        f"given {every['expected']:.1f} visits on camera saw a target {every['seen']} times."
    )


def why(sit: PlannedSit, *, wind_told: bool = False) -> str:
    """Why this advice: the rules against it, then what the chance rests on, and its winds unless
    told already."""
    others = f"; any target {percent(sit.any_chance)}" if sit.n_bucks > 1 else ""
    came = counts_words(sit.behind, sit.half)
    parts = [veto_words(veto, sit) for veto in sit.vetoes]
    parts.append(f"{sit.buck} (around {percent(sit.around)}): {came}{others}")
    if sit.advice == "sit" and sit.tie:
        parts.append(f"as good as another within its doubt, and {TIE_WORDS[sit.tie]}")
    if sit.advice == "sit":
        if sit.winds and not sit.wind_known and not wind_told:
            parts.append(f"hunt it on {_either(sit.winds)}")
        # What a sit must be held against the regulations for.
        guns = [name for name in sit.seasons if any(word in name.casefold() for word in GUN_WORDS)]
        if guns:
            parts.append(f"{listing(guns)} season is open: wear orange where it is required")
        if sit.baited:
            parts.append(f"bait at {listing(sit.baited)}: is hunting over it allowed here?")
    return "; ".join(parts)


def veto_words(veto: Veto, sit: PlannedSit) -> str:
    """One rule, as a phrase."""
    if veto.rule == "wind":
        assert veto.wind_degrees is not None
        blows = degrees_point(veto.wind_degrees)
        part = " for a part of it" if veto.partly else ""
        return f"wind from the {blows}{part}, hunt it on {_either(sit.winds)}"
    if veto.rule in ("rest", "burnt"):
        assert veto.day is not None and veto.free_from is not None
        last, free = day_month(veto.day), day_month(veto.free_from)
        if veto.rule == "rest":
            return f"sat on {last}, let it rest until {free}"
        return (
            f"burnt: {count(veto.count, 'sit')} running without a target, the last on {last}; "
            f"leave it until {free}, or until a target comes there in light"
        )
    if veto.rule == "better_stand":
        return f"{veto.stand} is the better choice that {half(sit.half)}"
    if veto.rule == "better_day":
        assert veto.day is not None
        return f"kept for the better sit on {short_weekday(veto.day)}"
    if veto.rule == "dark_spots":
        seen = count(sit.behind.recent_visits, "visit")
        return f"{seen} here in the last {RECENT_DAYS} days, all in the dark"
    return {
        "season_dates": "hunting is closed",
        "light": "no shooting light",
        "time_of_year": "not hunted at this time of year (stands.csv)",
        "mornings_at_food": "deer feed here before light, and walking in sends them off",
        "sit_at_least": "the chance is too small to walk in for",
    }[veto.rule]


def counts_words(behind: Behind, which: str) -> str:
    """``he came in light on 3 of the last 26 mornings watched, in past pre-ruts on 5 of 46``."""
    recent = f"{behind.recent_seen} of the last {behind.recent_watched} {half(which)}s watched"
    past = f"the {behind.phase} of past seasons on {behind.past_seen} of {behind.past_watched}"
    if behind.recent_watched:
        return f"he came in light on {recent}" + f", in {past}" * bool(behind.past_watched)
    not_watched = f"not watched in the last {RECENT_DAYS} days"
    return not_watched + f", he came in light in {past}" * bool(behind.past_watched)


def group_days(group: SitGroup) -> str:
    """The days of some sits: ``Sat 8 Nov``, ``Sat 21 to Fri 27 Nov``."""
    first, last = short_weekday(group.first), short_weekday(group.last)
    if group.first == group.last:
        return last
    if group.first.replace(day=1) == group.last.replace(day=1):
        first = first.rsplit(" ", 1)[0]
    return f"{first} to {last}"


def group_chance(group: SitGroup) -> str:
    """The chances of some sits: ``14%``, ``12 to 14%``."""
    least, most = percent(group.least), percent(group.most)
    if least == most:
        return most
    return f"{least.removesuffix('%')} to {most}"


def group_why(group: SitGroup, *, wind_told: bool = False) -> str:
    """Why to sit: that of the best sit, and which days the plan would take of several."""
    said = why(group.best, wind_told=wind_told)
    if group.first == group.last:
        return said
    days = _days(sorted(sit.day for sit in group.sits))
    if len(group.sits) == 1:
        return f"{said}; any one of these days will do, the plan takes {days}"
    rest = group.best.rest_days
    between = f", with {count(rest, 'day')} of rest between" if rest else ""
    return f"{said}; the plan takes {days}{between}"


def no_sit_words(sits: Iterable[PlannedSit]) -> str:
    """That no sit stands out, and the stands that come nearest, each with its best half-day."""
    best: dict[str, PlannedSit] = {}
    for sit in sits:
        if sit.advice == "" and all(veto.rule == "sit_at_least" for veto in sit.vetoes):
            best.setdefault(sit.place, sit)
    if not best:
        return "No sit stands out."
    nearest = (
        f"{s.place} on {short_weekday(s.day)}, {half(s.half)} ({percent(s.chance)})"
        for s in list(best.values())[:NEAREST_NAMED]
    )
    return f"No sit stands out. The nearest: {'; '.join(nearest)}."


def closed_words(opens: date, name: str) -> str:
    """That hunting is closed on every day of the plan."""
    return f"Hunting is closed on these days; {name} opens on {day(opens)}."


def stay_outs(sits: Iterable[PlannedSit], sit_at_least: float) -> list[tuple[str, str]]:
    """Stay-outs gathered: where and when, and why; one a stand and reason, with all its days.

    A wrong wind or a rest at a stand where there is little to go for anyway is left off; plan.csv
    has it.
    """
    merged: dict[tuple[str, str], dict[str, list[date]]] = {}
    for sit in sits:
        if sit.advice != "stay out":
            continue
        veto = sit.vetoes[0]
        if veto.rule in ("wind", "rest") and sit.chance < sit_at_least:
            continue
        if veto.rule == "wind":
            reason = f"wrong wind, hunt it on {_either(sit.winds)}"
        else:
            reason = veto_words(veto, sit)
        merged.setdefault((sit.place, reason), {}).setdefault(sit.half, []).append(sit.day)
    return [(f"{place}, {_when(halves)}", reason) for (place, reason), halves in merged.items()]


def _when(halves: Mapping[str, Sequence[date]]) -> str:
    """The half-days of a stay-out: ``24 to 26 November``, ``mornings of 24 and 26 November``."""
    both = sorted(set(halves.get("AM", [])) & set(halves.get("PM", [])))
    parts = [_days(both)] if both else []
    for which in HALVES:
        only = sorted(set(halves.get(which, [])) - set(both))
        if len(only) > 1:
            parts.append(f"{half(which)}s of {_days(only)}")
        elif only:
            parts.append(f"{_days(only)} {half(which)}")
    return ", ".join(parts)


def _days(days: Sequence[date]) -> str:
    """Runs of days: ``24 to 26 November``, ``24 and 27 November``."""
    runs: list[list[date]] = []
    for when in days:
        if runs and (when - runs[-1][-1]).days == 1:
            runs[-1].append(when)
        else:
            runs.append([when])
    words = [days_span(run[0], run[-1]) for run in runs]
    month = f" {MONTHS[days[0].month - 1]}"
    if all(when.month == days[0].month for when in days):
        words = [w.removesuffix(month) for w in words[:-1]] + words[-1:]
    return listing(words)


def _either(winds: Sequence[str]) -> str:
    return listing(winds, last="or") + " wind"
