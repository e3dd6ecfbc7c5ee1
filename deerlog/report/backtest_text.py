"""The backtest in the terminal, and its figures for scripts."""

from __future__ import annotations

from typing import Any

from deerlog.analysis.backtest.scores import chances_off, forecast_gain
from deerlog.property.wording import count
from deerlog.report.page.template_engine import Row
from deerlog.report.terminal import text_table, wrapped
from deerlog.report.words.how_good_words import RULE_WORDS
from deerlog.report.words.words import interval, percent
from deerlog.study import PropertyStudy
from deerlog.study.replay import Replay, SitsResult


def backtest_figures(study: PropertyStudy, played: Replay, sits: SitsResult) -> dict[str, Any]:
    """Scores, gains over simple rules, reliability, chances too high or low, weather, sits."""
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


def backtest_text(good: Row, sits: Row | None, property_name: str) -> str:
    """Verdict, scores, reliability, weather, and the sits beside the chances given for them."""
    parts = [wrapped(f"{property_name}, replayed: {good['span']}"), wrapped(good["verdict"])]
    parts += [wrapped(line) for line in good["off"]]
    if good["scores"]:
        table = text_table(
            ("Forecast", "Log loss", "Brier", "Half-days", "Best five a day"),
            [
                (
                    score["rule"],
                    f"{score['log_loss']:.4f}",
                    f"{score['brier']:.5f}",
                    f"{score['half_days']:,}",
                    f"{score['top_sits_true']} of {score['top_sits']:,}",
                )
                for score in good["scores"]
            ],
            right="lrrrr",
        )
        parts += [table, wrapped(SCORES_KEY)]
    if good["reliability"]:
        table = text_table(
            ("Given", "On average", "Came true", "", ""),
            [
                (
                    interval(row["from"], row["to"]),
                    percent(row["mean_chance"]),
                    f"{row['came_true']:,} of {row['half_days']:,}",
                    percent(row["share"]),
                    f"({interval(row['low'], row['high'])})",
                )
                for row in good["reliability"]
            ],
            right="lrrrl",
        )
        parts.append(f"Chances given, and how often they came true\n{table}")
    if good["weather"] is not None:
        parts += [wrapped(line) for line in good["weather"]]
    if sits is not None and sits["rows"]:
        table = text_table(
            ("Your sits", "Saw a target", "", "Chance given", "Of those, saw one"),
            [
                (
                    row["words"],
                    f"{row['seen']} of {row['sits']}: {percent(row['share'])}",
                    f"({interval(row['low'], row['high'])})",
                    percent(row["mean_chance"]) if row["given"] else "",
                    f"{row['given_seen']} of {count(row['given'], 'sit')}" if row["given"] else "",
                )
                for row in sits["rows"]
            ],
            right="lrlrr",
        )
        parts.append(table)
        if sits["after"] is not None:
            parts.append(wrapped(sits["after"]))
    return "\n\n".join(parts)


SCORES_KEY = (
    "Every chance was given by the week before and held against what the cameras then saw. Log "
    "loss and Brier score are two measures of error, smaller is better; the first is the one "
    "spoken of above. Best five a day: had you sat the five best of each day (a site and half, any "
    "target), on how many a target came in shooting light. The rules of thumb: his all-time rate "
    "there is how often he came to that site in that half in all; the last 14 days is the same for "
    "those days alone."
)
