"""What the page shows of how good the chances have been, and of the sits."""

from __future__ import annotations

from deerlog.analysis.backtest.scores import chances_off, forecast_gain, reliability
from deerlog.analysis.plan.past_sits import NEAR_DAYS, Aftermath
from deerlog.report.page.template_engine import Row, rows
from deerlog.report.words.how_good_words import (
    RULE_WORDS,
    chances_off_words,
    correction_words,
    verdict,
    weather_words,
    wrong_names_words,
)
from deerlog.report.words.words import count, half, number, span
from deerlog.study import PropertyStudy
from deerlog.study.replay import Replay, SitsResult

EDGES = (0.0, 0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 1.0)
"""Bins of the chance given, coarse enough to hold something."""


def how_good(study: PropertyStudy, played: Replay) -> Row:
    """The verdict of a replay, its scores and reliability (rows), which chances were too high or
    too low (``off``), the weeks replayed (``span``), how many ``names`` look wrong and what weather
    does.
    """
    half_days = played.backtest.half_days
    gains = [forecast_gain(half_days, rule) for rule in RULE_WORDS if rule != "forecast"]
    effects, wrong = study.weather_effects, study.residency.wrong
    scores, given = [], []
    if len(half_days):
        scores = rows(played.backtest.scores().replace({"rule": RULE_WORDS}))
        given = rows(reliability(half_days["forecast"], half_days["seen"], EDGES))
    return {
        "correction": correction_words(study.correction),
        "names": None if wrong is None else wrong_names_words(wrong, len(study.visits)),
        "verdict": verdict(
            [g for g in gains if g is not None], len(half_days), int(half_days["seen"].sum())
        ),
        "scores": scores,
        "reliability": given,
        "off": [
            chances_off_words(off, played.backtest.weeks_scored) for off in chances_off(half_days)
        ],
        "span": _span(played),
        "weather": None if effects is None else weather_words(effects, study.place.settings.units),
    }


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


def sits_view(result: SitsResult) -> Row:
    """The table of sits, how long each stand has rested, and what came after the sits."""
    return {
        "rows": [
            row | {"words": cut_words(row["cut"], row["value"])} for row in rows(result.summary)
        ],
        "rested": rows(result.rested.merge(result.worth, on="stand", how="left")),
        "after": after_words(result.aftermath),
    }


def cut_words(cut: str, value: str) -> str:
    """The sits a row of the summary is about."""
    if cut == "all":
        return "All sits"
    if cut == "half":
        return f"{half(value).capitalize()}s"
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
    if after.ratio is None or after.low is None or after.high is None or after.sits < LEAST_SITS:
        return f"{said} Not enough to tell whether a sit keeps them away."
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
