"""What the page shows of how good the chances have been."""

from __future__ import annotations

from deerlog.analysis.backtest.chances_off import chances_off
from deerlog.analysis.backtest.forecast_gain import forecast_gain
from deerlog.analysis.backtest.forecast_scores import reliability
from deerlog.report.how_good_words import (
    RULE_WORDS,
    chances_off_words,
    verdict,
    weather_words,
)
from deerlog.report.page_data import ForecastScore, HowGood, ReliabilityRow, Share
from deerlog.report.words import count, span
from deerlog.study import Study
from deerlog.study.replay import Replay

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
