"""The plan in words: why to sit, why to stay out, and what was left aside."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from deerlog.analysis.plan.outlook import Outlook
from deerlog.analysis.plan.planned_sits import Bite, PlannedSit, SitGroup
from deerlog.analysis.plan.rules import RECENT_DAYS
from deerlog.analysis.plan.stand_chances import Behind
from deerlog.property.coordinates import degrees_point
from deerlog.report.words.words import MONTHS, WEEKDAYS, count, day, interval, listing, percent

LONG_WINDOW_DAYS = 45
"""A window of so many days is a time of year, not a date to keep (our choice)."""
SMALL_CHANCE = 0.02
"""A chance below it is told as small, whatever the place: one half-day in fifty (our choice)."""
BRACKETS = (
    "In brackets its 95% interval; for several days together, from the lowest end to the highest "
    "over them."
)
"""What stands in brackets after the chance of a sit, or of some that are told as one."""
NEAREST_NAMED = 3
"""How many are named where no sit stands out (our choice)."""
ALSO_NAMED = 2
"""Other bucks named beside the main one; more would be no phrase (our choice)."""


def why(sit: PlannedSit) -> str:
    """Why this advice: the rules that bite, then what the chance rests on."""
    parts = [bite_words(bite, sit) for bite in sit.bites]
    parts.append(behind_words(sit))
    if sit.advice == "sit" and sit.winds and not sit.wind_known:
        parts.append(f"hunt it on {_either(sit.winds)}")
    return "; ".join(parts)


def bite_words(bite: Bite, sit: PlannedSit) -> str:
    """One rule, as a phrase."""
    if bite.rule == "wind":
        assert bite.wind_degrees is not None
        blows = degrees_point(bite.wind_degrees)
        part = " for a part of it" if bite.partly else ""
        return f"wind from the {blows}{part}, hunt it on {_either(sit.winds)}"
    if bite.rule == "rest":
        assert bite.day is not None and bite.free_from is not None
        return f"sat on {day_month(bite.day)}, let it rest until {day_month(bite.free_from)}"
    if bite.rule == "better_stand":
        return f"{bite.stand} is the better choice that {part_of_day(sit.half)}"
    if bite.rule == "better_day":
        assert bite.day is not None
        return f"kept for the better sit on {short_weekday(bite.day)}"
    if bite.rule == "dark_spots":
        seen = count(sit.behind.recent_visits, "visit")
        return f"{seen} here in the last {RECENT_DAYS} days, all in the dark"
    return {
        "season_dates": "hunting is closed",
        "light": "no shooting light",
        "mornings_at_food": "deer feed here before light, and walking in sends them off",
        "sit_at_least": "the chance is too small to walk in for",
    }[bite.rule]


def behind_words(sit: PlannedSit) -> str:
    """Whom it is about, and the counts behind the chance."""
    also = f", or {_listing_or(sit.also[:ALSO_NAMED])}" if sit.also else ""
    who = "he" if sit.n_bucks == 1 else "a target"
    came = counts_words(sit.behind, sit.half, who)
    return f"{sit.buck} (around {percent(sit.around)}){also}; {came}"


def counts_words(behind: Behind, half: str, who: str) -> str:
    """``he came in light on 3 of the last 26 mornings watched, in past pre-ruts on 5 of 46``."""
    halves = "mornings" if half == "AM" else "evenings"
    recent = f"{behind.recent_seen} of the last {behind.recent_watched} {halves} watched"
    past = f"the {behind.phase} of past seasons on {behind.past_seen} of {behind.past_watched}"
    if behind.recent_watched and behind.past_watched:
        return f"{who} came in light on {recent}, in {past}"
    if behind.recent_watched:
        return f"{who} came in light on {recent}"
    not_watched = f"not watched in the last {RECENT_DAYS} days"
    if behind.past_watched:
        return f"{not_watched}, {who} came in light in {past}"
    return not_watched


def outlook_words(outlook: Outlook) -> str:
    """When to hunt a buck, as far ahead as is known, after his name."""
    return f"{outlook.buck}: {outlook_phrase(outlook)}"


def outlook_phrase(outlook: Outlook) -> str:
    """The same without his name, as it goes on after a colon."""
    if outlook.window is None:
        return _no_window_words(outlook)
    window = outlook.window
    halves = "mornings" if window.half == "AM" else "evenings"
    long = (window.closes - window.opens).days >= LONG_WINDOW_DAYS
    dates = days_span(window.opens, window.closes)
    when = f"from {dates}, best" if long else f"about {dates},"
    said = (
        f"{when} {halves} at {window.site}, {percent(window.chance)} a half-day "
        f"({interval(window.low, window.high)})"
    )
    if long or not outlook.seasons_watched:
        return f"{said}."
    seasons = count(outlook.seasons_watched, "season")
    return f"{said}; seen around those days in {outlook.seasons_seen} of {seasons} watched."


def _no_window_words(outlook: Outlook) -> str:
    """That no run of days stands out, and where he is likeliest on the whole."""
    whole = outlook.whole
    if whole is None:
        return "no stretch stands out."
    dates = f"from {day_month(whole.opens)} to {day_month(whole.closes)}"
    if whole.chance < SMALL_CHANCE:
        return (
            f"no stretch stands out; {dates} his chance stays small, {percent(whole.chance)} a "
            "half-day where it is best."
        )
    halves = "mornings" if whole.half == "AM" else "evenings"
    even = f"his chances are even {dates}" if outlook.even else dates
    return (
        f"no stretch stands out; {even}, best {halves} at {whole.site}, {percent(whole.chance)} a "
        f"half-day ({interval(whole.low, whole.high)})."
    )


def group_days(group: SitGroup) -> str:
    """The days of some sits: ``Sat 8 Nov``, ``Sat 21 to Fri 27 Nov``."""
    if group.first == group.last:
        return short_weekday(group.first)
    first = short_weekday(group.first)
    if (group.first.year, group.first.month) == (group.last.year, group.last.month):
        first = first.rsplit(" ", 1)[0]
    return f"{first} to {short_weekday(group.last)}"


def group_chance(group: SitGroup) -> str:
    """The chances of some sits: ``14%``, ``12 to 14%``."""
    least, most = percent(group.least), percent(group.most)
    if least == most:
        return most
    return f"{least.removesuffix('%')} to {most}"


def group_why(group: SitGroup) -> str:
    """Why to sit: that of the best sit, and which days the plan would take of several."""
    said = why(group.best)
    if group.first == group.last:
        return said
    days = _days(sorted(sit.day for sit in group.sits))
    if len(group.sits) == 1:
        return f"{said}; any one of these days will do, the plan takes {days}"
    rest = group.best.rest_days
    between = f", with {count(rest, 'day')} of rest between" if rest else ""
    return f"{said}; the plan takes {days}{between}"


def group_bucks(group: SitGroup) -> str:
    """Whom some sits are mostly about."""
    return _listing_or(group.bucks)


def no_sit_words(sits: Iterable[PlannedSit]) -> str:
    """That no sit stands out, and the stands that come nearest, each with its best half-day.

    Parameters
    ----------
    sits
        In the plan's order.
    """
    best: dict[str, PlannedSit] = {}
    for sit in sits:
        if sit.advice == "" and all(bite.rule == "sit_at_least" for bite in sit.bites):
            best.setdefault(sit.place, sit)
    if not best:
        return "No sit stands out."
    nearest = (
        f"{s.place} on {short_weekday(s.day)}, {part_of_day(s.half)} ({percent(s.chance)})"
        for s in list(best.values())[:NEAREST_NAMED]
    )
    return f"No sit stands out. The nearest: {'; '.join(nearest)}."


def closed_words(opens: date, name: str) -> str:
    """That hunting is closed on every day of the plan."""
    return f"Hunting is closed on these days; {name} opens on {day(opens)}."


def part_of_day(half: str) -> str:
    """``morning`` or ``evening``."""
    return "morning" if half == "AM" else "evening"


def day_month(when: date) -> str:
    """``22 November``."""
    return f"{when.day} {MONTHS[when.month - 1]}"


def short_weekday(when: date) -> str:
    """``Sat 8 Nov``."""
    return f"{WEEKDAYS[when.weekday()][:3]} {when.day} {MONTHS[when.month - 1][:3]}"


def days_span(first: date, last: date) -> str:
    """``7 to 16 November``, ``28 October to 3 November``; both days belong."""
    if first == last:
        return day_month(first)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day} to {day_month(last)}"
    return f"{day_month(first)} to {day_month(last)}"


def stay_outs(sits: Iterable[PlannedSit], sit_at_least: float) -> list[tuple[str, str]]:
    """Stay-outs gathered: one line a stand and reason, with the days it holds for.

    A wrong wind or a rest at a stand where there is little to go for anyway is left off; plan.csv
    has it.

    Returns
    -------
    list of (where and when, why)
    """
    merged: dict[tuple[str, str], dict[str, list[date]]] = {}
    for sit in sits:
        if sit.advice != "stay out":
            continue
        bite = sit.bites[0]
        if bite.rule in ("wind", "rest") and sit.chance < sit_at_least:
            continue
        if bite.rule == "wind":
            reason = f"wrong wind, hunt it on {_either(sit.winds)}"
        else:
            reason = bite_words(bite, sit)
        merged.setdefault((sit.place, reason), {}).setdefault(sit.half, []).append(sit.day)
    return [(f"{place}, {_when(halves)}", reason) for (place, reason), halves in merged.items()]


def _when(halves: Mapping[str, Sequence[date]]) -> str:
    """The half-days of a stay-out: ``24 to 26 November``, ``mornings of 24 and 26 November``."""
    days = {half: sorted(found) for half, found in halves.items()}
    both = sorted(set(days.get("AM", [])) & set(days.get("PM", [])))
    parts = [_days(both)] if both else []
    for half in ("AM", "PM"):
        only = [d for d in days.get(half, []) if d not in both]
        if len(only) > 1:
            parts.append(f"{part_of_day(half)}s of {_days(only)}")
        elif only:
            parts.append(f"{_days(only)} {part_of_day(half)}")
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
    return _listing_or(winds) + " wind"


def _listing_or(items: Sequence[str]) -> str:
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} or {items[-1]}"
