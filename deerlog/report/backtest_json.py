"""The figures of a backtest for scripts."""

from __future__ import annotations

from typing import Any

from deerlog.analysis.backtest.chances_off import chances_off
from deerlog.analysis.backtest.forecast_gain import forecast_gain
from deerlog.report.how_good_words import RULE_WORDS
from deerlog.study import Study
from deerlog.study.replay import Replay
from deerlog.study.sits import SitsResult


def backtest_figures(study: Study, played: Replay, sits: SitsResult) -> dict[str, Any]:
    """Scores, gains over the simple rules, reliability, the bands of chances that were too high or
    too low, weather and sits, as plain values.
    """
    half_days = played.backtest.half_days
    scored = len(half_days) > 0
    effects = study.weather_effects
    return {
        "first": played.first,
        "last": played.last,
        "weeks": played.backtest.weeks,
        "scores": played.backtest.scores() if scored else [],
        "gain": [forecast_gain(half_days, rule) for rule in RULE_WORDS if rule != "forecast"],
        "reliability": played.backtest.reliability() if scored else [],
        "chances_off": chances_off(half_days),
        "weather": None if effects is None else effects.table,
        "sits": sits.summary,
        "rested": sits.rested,
        "aftermath": sits.aftermath,
    }
