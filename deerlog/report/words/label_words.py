"""Why a buck has his label, what would change it and what would settle it, in plain sentences."""

from __future__ import annotations

from deerlog.analysis.residency.explain import Reason, Stretch, WhatIf
from deerlog.analysis.residency.standing import Settling
from deerlog.property.wording import agree, count, listing
from deerlog.report.words.words import MONTHS, day, day_month, percent

MONTHS_NAMED = 3
"""Up to so many months are named one by one."""

WORTH_A_CAMERA = 0.03
"""A camera that adds less to the chance is not spoken of (our choice; about twice the standard
error of the difference)."""

SURE = 95.0
"""Of 100: from such a score on, what it rules out is said without a doubt (our choice)."""

_SMALL_NUMBERS = ("One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten")


def reason_sentence(reason: Reason) -> str | None:
    """What the label stands on, in one sentence; None where there is nothing plain to say."""
    weeks = count(reason.weeks_watched_since, "watched week")
    not_since = f"Not seen since {day(reason.last_seen)}, through {weeks}"
    if reason.label == "undecided":
        if reason.days_seen == 1:
            return "He was tagged on one day only, and one tag may be another buck."
        gone = reason.p_gone > 0.5 and reason.weeks_watched_since
        return f"{not_since}: more likely than not he is dead or gone." if gone else None
    if reason.label == "gone":
        said = f"{not_since}: most likely dead or gone for good."
        return said if reason.weeks_watched_since else None
    if reason.label == "resident":
        seen = [_seen_in(s) for s in reason.arguing if s.weeks_seen]
        if not seen:
            return None
        would = "would not" if reason.score >= SURE else "would hardly"
        return _sentence(reason, f"seen {listing(seen)}; a visitor {would} be.")
    would = "would" if reason.score <= 100 - SURE else "would most likely"
    if reason.pattern == "summer" and reason.weeks_watched_since:
        return f"{not_since}; a buck who lives here {would} have been."
    in_rut = [s for s in reason.stretches if s.name == "in the rut" and s.weeks_seen]
    missing = [_hardly_seen(s) for s in reason.arguing if s not in in_rut]
    if not missing:
        return None
    visit = f"seen in {_weeks(in_rut[0])} of the rut, but " if in_rut else ""
    said = f"{visit}{listing(missing)}; a buck who lives here {would} have shown more often."
    return _sentence(reason, said)


def label_question(
    label: str, what_if: WhatIf | None, settling: Settling | None
) -> tuple[str, str] | None:
    """What is still open about a label, and what would settle or change it."""
    changes = [] if what_if is None else _changes(what_if)
    if label != "undecided":
        return ("What would change the label?", " ".join(changes)) if changes else None
    settles = [] if settling is None else [_settling(settling)]
    sentences = [*settles, *changes] or ["More watched weeks, next season too."]
    return "Does he live here or does he visit?", " ".join(sentences)


def _sentence(reason: Reason, text: str) -> str:
    if reason.season is None:
        return f"All seasons together: {text}"
    return text[0].upper() + text[1:]


def _weeks(stretch: Stretch) -> str:
    if stretch.weeks_seen == stretch.weeks_watched > 1:
        return f"all {stretch.weeks_watched} watched weeks"
    return f"{stretch.weeks_seen} of {count(stretch.weeks_watched, 'watched week')}"


def _when(stretch: Stretch) -> str:
    return "of the rut" if stretch.name == "in the rut" else stretch.name


def _seen_in(stretch: Stretch) -> str:
    if stretch.name == "after the rut" and len(stretch.months_seen) <= MONTHS_NAMED:
        return f"in {listing(MONTHS[m - 1] for m in stretch.months_seen)}"
    if stretch.since is not None:
        until = "on" if stretch.name == "after the rut" else "to the rut"
        return f"in {_weeks(stretch)} from {day_month(stretch.since)} {until}"
    return f"in {_weeks(stretch)} {_when(stretch)}"


def _hardly_seen(stretch: Stretch) -> str:
    if stretch.weeks_seen == 0:
        return f"not seen in {count(stretch.weeks_watched, 'watched week')} {_when(stretch)}"
    return f"seen in only {_weeks(stretch)} {_when(stretch)}"


def _changes(what_if: WhatIf) -> list[str]:
    ways = []
    if (unseen := what_if.unseen) is not None:
        weeks = agree(unseen.weeks, "watched week", "watched weeks")
        ways.append((unseen, f"{weeks} without him"))
    if (seen := what_if.seen) is not None:
        weeks = agree(seen.weeks, "week with a day on camera", "weeks with a day on camera each")
        ways.append((seen, weeks))
    said = []
    for change, weeks in ways:
        few = change.weeks <= len(_SMALL_NUMBERS)
        number = _SMALL_NUMBERS[change.weeks - 1] if few else str(change.weeks)
        label = "a resident" if change.label == "resident" else change.label
        said.append(f"{number} more {weeks}, to {day(change.until)}, would make him {label}.")
    return said


def _settling(settling: Settling) -> str:
    weeks = "two weeks" if settling.days == 14 else count(settling.days, "day")
    said = (
        f"As the cameras stand, the next {weeks} settle it with a chance of "
        f"{percent(settling.as_it_is)}"
    )
    if not settling.with_camera:
        return f"{said}."
    site, chance = max(settling.with_camera.items(), key=lambda item: (item[1], item[0]))
    if chance - settling.as_it_is < WORTH_A_CAMERA:
        return f"{said}; one more camera at a site he has used would add little."
    return f"{said}; with one more camera at {site}, {percent(chance)}."
