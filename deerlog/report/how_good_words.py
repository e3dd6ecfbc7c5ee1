"""How good the chances were, in words: against simple rules, and what weather does."""

from __future__ import annotations

import math

from deerlog.analysis.backtest.forecast_gain import ForecastGain
from deerlog.analysis.forecast.weather_drivers import DRIVERS
from deerlog.analysis.forecast.weather_effects import WeatherEffects
from deerlog.report.words import count, listing, percent

RULE_WORDS = {
    "forecast": "deerlog",
    "all_time": "his all-time rate there",
    "last_14_days": "the last 14 days",
}
"""Each way of forecasting, by its column in the backtest."""

_STEPS = {
    "imperial": {
        "temperature": (-10 / 1.8, "10 °F colder than normal"),
        "wind": (10 * 0.44704, "10 mph more wind than usual"),
        "pressure_change": (0.3 * 33.86389, "a rise of 0.3 inHg in 24 hours"),
    },
    "metric": {
        "temperature": (-5.0, "5 °C colder than normal"),
        "wind": (5.0, "5 m/s more wind than usual"),
        "pressure_change": (10.0, "a rise of 10 hPa in 24 hours"),
    },
}
"""Round steps in which an effect is told: so much in the units of the table, and its words."""


def verdict(gains: list[ForecastGain], half_days: int, seen: int) -> str:
    """Whether the forecast beats the simple rules; worse and uncertain are said as plainly."""
    if not gains:
        return "Too little was on record to replay a week, so the chances cannot be judged yet."
    scored = f"Of {count(half_days, 'half-day')} replayed, {seen:,} came true"
    if any(not math.isfinite(g.gain) for g in gains):
        # A simple rule that calls impossible what then comes has an endless loss: no figure.
        gains = [g for g in gains if math.isfinite(g.gain)]
        if not gains:
            return f"{scored}: too few to judge the chances by."
    worst = min(gains, key=lambda g: g.gain)
    rule = RULE_WORDS[worst.rule]
    if worst.low is None or worst.high is None:
        return f"{scored}: too few weeks to tell whether the chances beat the simple rules."
    span = f"{_signed(worst.low)} to {_signed(worst.high)}"
    if worst.low > 0:
        return (
            f"{scored}. The chances beat both simple rules: a log loss {percent(worst.gain)} "
            f"smaller than that of the better one, {rule} ({span})."
        )
    if worst.high < 0:
        return (
            f"{scored}. The chances do not beat the simple rule here: {rule} was better, by "
            f"{percent(-worst.gain)} of its log loss ({span})."
        )
    better = "smaller" if worst.gain > 0 else "larger"
    return (
        f"{scored}. It cannot be told yet whether the chances beat the simple rules: the log loss "
        f"is {percent(abs(worst.gain))} {better} than that of {rule}, which may be chance "
        f"({span} smaller)."
    )


def weather_words(effects: WeatherEffects, units: str) -> tuple[str, ...]:
    """What weather did to visits in shooting light, driver by driver."""
    rows = {str(row["driver"]): row for row in effects.table.to_dict("records")}
    if all(math.isnan(row["effect"]) for row in rows.values()):
        return (
            f"Not enough to tell what weather does: {count(effects.visits, 'visit')} in shooting "
            "light on days with weather.",
        )
    kept: list[str] = []
    left: list[str] = []
    for driver in DRIVERS:
        row = rows[driver]
        if math.isnan(row["effect"]):
            continue
        step, words = _STEPS[units][driver]
        per_unit = step / row["sd"]
        low, high = sorted((row["low"] * per_unit, row["high"] * per_unit))
        said = (
            f"{words}: {math.exp(row['effect'] * per_unit):.2f} times the visits in shooting light "
            f"({math.exp(low):.2f} to {math.exp(high):.2f})"
        )
        (kept if row["kept"] else left).append(said)
    lines = []
    if kept:
        lines.append(f"Kept, since they helped to tell weeks held out: {listing(kept)}.")
    if left:
        found = "No effect of weather was found in your data. " if not kept else ""
        lines.append(
            f"{found}Tried on {count(effects.visits, 'visit')} and left out, since they did not "
            f"help to tell weeks held out: {'; '.join(left)}."
        )
    return tuple(lines)


def _signed(share: float) -> str:
    return f"{100 * share:.0f}%"
