"""The plan in the terminal."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from deerlog.analysis.plan.planned_sits import SitGroup, sit_groups
from deerlog.property.wording import count
from deerlog.report.terminal import item, text_table, wrapped
from deerlog.report.words import plan_words
from deerlog.report.words.how_good_words import weather_words
from deerlog.report.words.words import days_span, interval, percent, short_weekday
from deerlog.study.plan import ComingPlan

CAUTION = "Chances are no safety or legal advice: see the foot of report.html."
KEY = (
    "Chance: of at least one visit by this buck on camera, in shooting light, in that half of the "
    f"day. {plan_words.BRACKETS} Around: how likely he is on this ground then, seen or not."
)


def plan_text(
    made: ComingPlan,
    property_name: str,
    units: str,
    *,
    in_file: str = "in plan.csv",
    season: Sequence[str] = (),
    correction: str = "",
) -> str:
    """Sits, stay-outs, what lies further ahead, what was left aside, safety.

    ``in_file`` is where the rows not told here stand; "" where they are not written. ``season``
    has a line a buck, ``correction`` says how far the record moves the chances.
    """
    parts = [f"{property_name}, {days_span(made.first, made.last)} {made.last.year}"
             f" (known up to {made.as_of})"]  # fmt: skip
    if made.opens_next is not None:
        parts.append(wrapped(plan_words.closed_words(*made.opens_next)))
    groups = sit_groups(made.sits)
    said = (KEY, correction, plan_words.worth_words(made.worth))
    if groups:
        parts += [sits_text(groups), wrapped(" ".join(filter(None, said)))]
    elif made.sits and made.opens_next is None:
        parts.append(wrapped(plan_words.no_sit_words(made.sits)))
    elif not made.bucks:
        parts.append(wrapped("No buck has a sure tag yet, so there is nothing to plan by."))
    out = plan_words.stay_outs(made.sits, made.sit_at_least)
    parts += _listed("Stay out", [f"{where}: {reason}." for where, reason in out])
    others = sum(sit.advice == "" for sit in made.sits)
    if others and made.opens_next is None:
        where = f"{count(others, 'more row')} {in_file}" if in_file else (
            f"{count(others, 'more half-day')} at a stand"
        )  # fmt: skip
        parts.append(wrapped(f"{where}: neither sit nor stay out."))
    parts += _listed("The season", season)
    parts += _listed("Weather", [] if made.effects is None else weather_words(made.effects, units))
    parts += _listed(
        "Not considered",
        [f"{each.what} ({each.waits_for('plan')})." for each in made.not_considered],
    )
    return "\n\n".join([*parts, CAUTION])


def _listed(head: str, lines: Sequence[str]) -> list[str]:
    """A part of the text: lines below their head; no part where there is no line."""
    return ["\n".join([head, *map(item, lines)])] if lines else []


def sits_text(groups: Sequence[SitGroup]) -> str:
    """The sits in order, those that are much the same as one, each with its reason below."""
    table = text_table(
        ("Sit", "", "Stand", "Buck", "Chance", ""),
        [
            (
                plan_words.group_days(group),
                group.best.half if group.first == group.last else f"any {group.best.half}",
                group.best.place,
                group.best.buck,
                plan_words.group_chance(group),
                f"({interval(group.low, group.high)})",
            )
            for group in groups
        ],
        right="llnnrl",
    ).splitlines()
    lines = [table[0]]
    for row, group in zip(table[1:], groups, strict=True):
        lines += [row, item(plan_words.group_why(group), indent="    ")]
    return "\n".join(lines)


def site_table_text(rows: pd.DataFrame) -> str:
    """Every running site, target and half, one row each."""
    return text_table(
        ("Day", "Half", "Site", "Buck", "Chance", "", "Stand", "Advice"),
        [
            (
                short_weekday(row["day"]),
                row["half"],
                row["site"],
                row["buck"],
                percent(row["chance"]),
                f"({interval(row['low'], row['high'])})",
                row["stand"],
                row["advice"],
            )
            for row in rows.to_dict("records")
        ],
        right="llnnrlnl",
    )
