"""The page's sentences: numbers, days and labels in plain words.

Everything here is plain text; the template escapes it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from deerlog.analysis.residency.standing import LABEL_AT_LEAST
from deerlog.property.settings import Settings
from deerlog.property.wording import count as count
from deerlog.property.wording import listing as listing

Row = Mapping[str, Any]
"""A row of a frame, by its columns."""

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")

YARD_M = 0.9144
"""Metres in a yard, exact."""
_MILE_YARDS = 1760

LONGEST_PLACE = 56
"""Letters of a path that a page shows: about a line and a half on a phone (our choice)."""


# --- numbers ------------------------------------------------------------------------------------


def percent(share: float | None) -> str:
    """``0.273`` as ``27%``; what is not quite none or all never reads as if it were."""
    if share is None:
        return "not known"
    if 0 < share < 0.005:
        return "under 1%"
    if 0.995 < share < 1:
        return "over 99%"
    return f"{100 * share:.0f}%"


def score(value: float) -> str:
    """A score as a whole number; never 0 or 100, since no record makes it certain."""
    return "over 99" if value >= 99.5 else "under 1" if value < 0.5 else f"{value:.0f}"


def interval(low: float | None, high: float | None) -> str:
    """``0.1, 0.56`` as ``10 to 56%``; close to nothing or all with a decimal, ``0.1 to 0.4%``."""
    if low is None or high is None:
        return "not known"
    decimals = 1 if 0 < high < 0.0095 or 0.9905 < low < 1 else 0
    return f"{100 * low:.{decimals}f} to {100 * high:.{decimals}f}%"


def share_words(share: float | None, low: float | None, high: float | None) -> str:
    """``27% (10 to 56%)``, or that there is nothing to divide."""
    return "no visits" if share is None else f"{percent(share)} ({interval(low, high)})"


def number(value: float) -> str:
    """A figure that is not a share, with as many digits as help: ``142``, ``8.5``, ``12,000``."""
    return f"{value:,.0f}" if value >= 100 or value == int(value) else f"{value:.1f}"


def distance_words(metres: float, units: str) -> str:
    """A distance in the user's units: ``1,250 yd``, ``1.4 miles``, ``640 m``, ``2.3 km``.

    In tens of yards or metres: a position from a map or under trees is known no better.
    """
    imperial = units == "imperial"
    short = metres / YARD_M if imperial else metres
    if short < 1500:
        return f"{round(short, -1):,.0f} {'yd' if imperial else 'm'}"
    return f"{short / _MILE_YARDS:.1f} miles" if imperial else f"{short / 1000:.1f} km"


# --- days ---------------------------------------------------------------------------------------


def day(when: date | None) -> str:
    """``16 November 2025``."""
    return "never" if when is None else f"{when.day} {MONTHS[when.month - 1]} {when.year}"


def short_day(when: date | None) -> str:
    """``16 Nov 2025``."""
    return "never" if when is None else f"{when.day} {MONTHS[when.month - 1][:3]} {when.year}"


def day_month(when: date) -> str:
    """``22 November``, for days so near that the year goes without saying."""
    return f"{when.day} {MONTHS[when.month - 1]}"


def weekday(when: date) -> str:
    """``Sunday 16 November 2025``."""
    return f"{WEEKDAYS[when.weekday()]} {day(when)}"


def short_weekday(when: date) -> str:
    """``Sat 8 Nov``."""
    return f"{WEEKDAYS[when.weekday()][:3]} {when.day} {MONTHS[when.month - 1][:3]}"


def days_span(first: date, last: date) -> str:
    """``7 to 16 November``, ``28 October to 3 November``; both days belong."""
    if first == last:
        return day_month(last)
    one_month = (first.year, first.month) == (last.year, last.month)
    return f"{first.day if one_month else day_month(first)} to {day_month(last)}"


def span(first: date, last: date) -> str:
    """`days_span` with the year, or both: ``28 October to 3 November 2025``."""
    return f"{days_span(first, last)} {last.year}" if first.year == last.year else (
        f"{day(first)} to {day(last)}"
    )  # fmt: skip


def ago(when: date | None, today: date) -> str:
    """``today``, ``yesterday``, ``5 days ago``, ``3 weeks ago``, or the day itself."""
    if when is None:
        return "never"
    days = (today - when).days
    if days < 0 or days >= 70:
        return f"on {day(when)}"
    if days < 2:
        return ("today", "yesterday")[days]
    return f"{days} days ago" if days < 14 else f"{days // 7} weeks ago"


def not_watched_since(until: date | None, as_of: date) -> str | None:
    """That no camera has run since ``until``; None where one ran on the last day, or ever none."""
    if until is None or until >= as_of:
        return None
    since = until + timedelta(days=1)
    if since == as_of:
        days = f"The day since, {day(since)}, is"
    else:
        days = f"The {(as_of - until).days} days since, {span(since, as_of)}, are"
    return f"Cameras are known to have run up to {day(until)}. {days} not watched."


def shortened_place(text: str) -> str:
    """A place to mend, short enough for a line: the middle of a long path gives way.

    ``cards/cam-3/2026/a/b/c/IMG_0001.JPG row 5`` is ``cards/cam-3/…/IMG_0001.JPG row 5``.
    """
    if len(text) <= LONGEST_PLACE:
        return text
    parts = text.split("/")
    if len(parts) > 3:
        text = "/".join([*parts[:2], "…", parts[-1]])
    if len(text) <= LONGEST_PLACE:
        return text
    half = (LONGEST_PLACE - 1) // 2
    return f"{text[:half]}…{text[-half:]}"


def half(which: str) -> str:
    """``morning`` or ``evening``: what a person calls the two halves of a day, AM and PM."""
    return "morning" if which == "AM" else "evening"


# --- a buck -------------------------------------------------------------------------------------

_ANSWERS: dict[tuple[str, str], str] = {
    ("resident", "year-round"): "He lives here, most likely all year round.",
    ("resident", "fall"): "He lives here through the hunting season; in summer he is elsewhere.",
    ("visiting", "rut"): "He passes through around the rut and does not live here.",
    ("visiting", "summer"): "He spends the summer here and leaves before the hunting season.",
    ("visiting", "passing"): "He was here for some weeks, passing on, and does not live here.",
}


def answer(facts: Row) -> str:
    """The one plain sentence beside the score."""
    if facts["label"] == "gone":
        return "He was here, and is most likely dead or gone for good."
    if facts["label"] == "undecided":
        if facts["p_gone"] > 0.5:
            return "He was here; more likely than not he is dead or gone for good."
        if facts["days_seen"] == 1:
            return "Not enough to tell: he was tagged on one day only."
        return (
            f"Not enough to tell yet. Seen in {facts['weeks_seen']} of "
            f"{count(facts['weeks_watched'], 'watched week')}: "
            "that fits a resident as well as a visitor."
        )
    known = _ANSWERS.get((facts["label"], facts["pattern"]))
    if known is not None:
        return known
    if facts["label"] == "resident":
        return "He lives here through the hunting season."
    return "He does not live here through the hunting season."


def chance_words(days: Sequence[Row]) -> str:
    """The best of the days to come."""
    best = max(days, key=lambda each: each["chance"])
    return (
        f"{span(days[0]['day'], days[-1]['day'])}: at most {percent(best['chance'])}, on "
        f"{day(best['day'])} at {best['site']}, {half(best['half'])}"
    )


def sentence(text: str) -> str:
    """With its first letter as a capital, the others as they are."""
    return text[:1].upper() + text[1:]


def last_seen_words(last: Row | None, today: date) -> str:
    """Where and when he last showed himself, for his last visit; None: not yet."""
    if last is None:
        return "Not seen yet."
    light = "in shooting light" if last["in_light"] else "in the dark"
    return f"Last seen {ago(last['day'], today)} at {last['site']}, {light}."


def shift_words(shift: Row, units: str) -> str:
    """How far he moved from one phase to another, and when; or that no move can be told."""
    low, high = (distance_words(metres, units) for metres in (shift["low_m"], shift["high_m"]))
    if low.split()[-1] == high.split()[-1]:
        low = low.split()[0]
    apart = f"{distance_words(shift['distance_m'], units)} ({low} to {high})"
    when = f"from {shift['from_phase']} to {shift['to_phase']} {shift['season']}"
    changed = percent(shift["change_probability"])
    if shift["change_day"] is None:
        return (
            f"No move stands out {when}: the centres of his use lie {apart} apart, and it is "
            f"{changed} likely that his use of the sites changed."
        )
    return (
        f"The centre of his use moved {apart} {when}. It is {changed} likely that his use of the "
        f"sites changed, most likely about {day(shift['change_day'])}."
    )


# --- the page -----------------------------------------------------------------------------------

SAFETY = (
    "These chances come from cameras. They are no promise of a deer, and no safety or legal "
    "advice.",
    "Your local rules on season, shooting hours, licence and permission rule over anything here.",
    "Know your target and what is beyond it.",
    "In a treestand: harness and line, connected from the ground up.",
    "Tell someone where you sit and until when.",
)


def definitions(settings: Settings) -> dict[str, str]:
    """The words the page uses, with this property's own settings in them."""
    before, after = settings.light_before_sunrise_minutes, settings.light_after_sunset_minutes
    return {
        "Score": "The chance in 100 that he lives here through the hunting season. From "
        f"{LABEL_AT_LEAST:g}: resident. Visiting: with as much he is here in summer, around the "
        "rut or once for some weeks only. Gone: with as much dead, or away for good. Else, or "
        "where nothing could tell yet: undecided.",
        "Pattern": "When he is here. Year-round and fall are residents; summer, rut and passing "
        "(once, for one to five weeks) are visitors.",
        "Visit": "Photos at one site; a gap of more than "
        f"{count(settings.visit_gap_minutes, 'minute')} starts a new one.",
        "Shooting light": f"From {count(before, 'minute')} before sunrise to "
        f"{count(after, 'minute')} after sunset, as set in property.toml. Your regulations rule.",
        "Camera-day": "A day that a camera was really running; where it is about a buck, as far "
        "as what it took was tagged.",
        "Not watched": f"For less than {percent(settings.watched_share)} of that week his cameras "
        "ran and what they took was tagged. It says nothing: it is never a zero.",
        "Around": "How likely he was on this ground that day, seen or not, by all that is known.",
        "27% (10 to 56%)": "What was found or is given, and the range that holds the true share "
        "19 times in 20. Few visits make a wide range.",
        "Season": "A deer year, named for the calendar year it opens in.",
    }
