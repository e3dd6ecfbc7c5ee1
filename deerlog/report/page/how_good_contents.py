"""What the page shows of how good the chances have been.

What the page shows of the sits.
"""

from __future__ import annotations

import pandas as pd

from deerlog.analysis.backtest.scores import chances_off, forecast_gain, reliability
from deerlog.analysis.plan.past_sits import NEAR_DAYS, Aftermath
from deerlog.report.page.page_data import (
    ForecastScore,
    HowGood,
    ReliabilityRow,
    Share,
    SitsRow,
    SitsView,
    StandRested,
)
from deerlog.report.words.how_good_words import (
    RULE_WORDS,
    chances_off_words,
    verdict,
    weather_words,
)
from deerlog.report.words.words import count, half, number, span
from deerlog.study import Study
from deerlog.study.replay import Replay, SitsResult

EDGES = (0.0, 0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 1.0)
"""Bins of the chance given, coarse enough to hold something."""


def how_good(study: Study, played: Replay) -> HowGood:
    """Scores, reliability and the verdict of a replay."""
    half_days = played.backtest.half_days
    rules = [rule for rule in RULE_WORDS if rule != "forecast"]
    gains = [g for rule in rules if (g := forecast_gain(half_days, rule)) is not None]
    effects = study.weather_effects
    return HowGood(
        verdict=verdict(gains, len(half_days), int(half_days["seen"].sum())),
        scores=tuple(
            ForecastScore(
                rule=RULE_WORDS[row["rule"]],
                log_loss=float(row["log_loss"]),
                brier=float(row["brier"]),
                half_days=int(row["half_days"]),
                top_true=int(row["top_sits_true"]),
                top_sits=int(row["top_sits"]),
            )
            for row in (played.backtest.scores().to_dict("records") if len(half_days) else [])
        ),
        reliability=tuple(
            ReliabilityRow(
                said_low=float(row["from"]),
                said_high=float(row["to"]),
                said_mean=float(row["mean_chance"]),
                happened=Share(
                    count=int(row["came_true"]),
                    of=int(row["half_days"]),
                    share=float(row["share"]),
                    low=float(row["low"]),
                    high=float(row["high"]),
                ),
            )
            for row in (
                reliability(half_days["forecast"], half_days["seen"], EDGES).to_dict("records")
                if len(half_days)
                else []
            )
        ),
        off=tuple(
            chances_off_words(off, played.backtest.weeks_scored) for off in chances_off(half_days)
        ),
        span=_span(played),
        weather=None if effects is None else weather_words(effects, study.place.settings.units),
    )


def _span(played: Replay) -> str:
    """How many weeks are scored, and which; those asked for where none is."""
    replayed = played.backtest
    day = replayed.half_days["day"]
    if len(day):
        text = f"{count(replayed.weeks_scored, 'week')}, {span(day.min().date(), day.max().date())}"
    else:
        text = f"{count(replayed.weeks, 'week')}, {span(played.first, played.last)}"
    if replayed.weeks_not_looked_at:
        text += f" ({count(replayed.weeks_not_looked_at, 'week')} hardly tagged yet left out)"
    return text


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
