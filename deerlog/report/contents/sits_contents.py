"""What the page shows of the sits."""

from __future__ import annotations

import pandas as pd

from deerlog.analysis.plan.aftermath import NEAR_DAYS, Aftermath
from deerlog.report.page_data import Share, SitsRow, SitsView, StandRested
from deerlog.report.words import count, half, number
from deerlog.study.sits import SitsResult

LEAST_SITS = 5
"""Fewer sits say nothing of what sits do: one buck's chance visit would decide it (our choice)."""


def sits_view(result: SitsResult) -> SitsView:
    """The table of sits, what came after them, and how long each stand has rested."""
    return SitsView(
        rows=tuple(
            SitsRow(
                cut=cut_words(str(row["cut"]), str(row["value"])),
                seen=Share(
                    count=int(row["seen"]),
                    of=int(row["sits"]),
                    share=float(row["share"]),
                    low=float(row["low"]),
                    high=float(row["high"]),
                ),
                mean_chance=None if pd.isna(row["mean_chance"]) else float(row["mean_chance"]),
                given=int(row["given"]),
                given_seen=int(row["given_seen"]),
            )
            for row in result.summary.to_dict("records")
        ),
        rested=tuple(
            StandRested(
                stand=str(row["stand"]),
                last_sit=None if pd.isna(row["last_sit"]) else row["last_sit"].date(),
                days=None if pd.isna(row["days_rested"]) else int(row["days_rested"]),
                rest_days=int(row["rest_days"]),
            )
            for row in result.rested.to_dict("records")
        ),
        after=after_words(result.aftermath),
    )


def cut_words(cut: str, value: str) -> str:
    """The sits a row of the summary is about."""
    if cut == "all":
        return "All sits"
    if cut == "half":
        return f"{half('AM' if value == 'AM' else 'PM').capitalize()}s"
    return f"At {value} sites" if cut == "setting" else value.capitalize()


def after_words(after: Aftermath) -> str | None:
    """How shooting-light visits near a stand changed after it was hunted; None without sits."""
    if not after.sits:
        return None
    said = (
        f"In the days of rest after {count(after.sits, 'sit')}, named bucks came in shooting light "
        f"near the stand {count(after.after_visits, 'time')} in "
        f"{number(round(after.after_camera_days, 1))} camera-days; on other days within "
        f"{NEAR_DAYS} days of a sit, {count(after.other_visits, 'time')} in "
        f"{number(round(after.other_camera_days, 1))}."
    )
    known = after.ratio is not None and after.low is not None and after.high is not None
    if not known or after.sits < LEAST_SITS:
        return f"{said} Not enough to tell whether a sit keeps them away."
    assert after.ratio is not None and after.low is not None and after.high is not None
    ratio, low, high = (_two_digits(x) for x in (after.ratio, after.low, after.high))
    rate = f"{ratio} times as often ({low} to {high})"
    if after.high < 1:
        return f"{said} That is {rate}: sits keep them away."
    if after.low > 1:
        return f"{said} That is {rate}: not fewer, but more."
    return f"{said} That is {rate}: it may be chance."


def _two_digits(value: float) -> str:
    """To two figures, written out: 0.92, 13, 140."""
    return f"{float(f'{value:.2g}'):,g}"
