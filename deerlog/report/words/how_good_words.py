"""How good the chances were, in words: against rules of thumb, whether they were too high or too
low, and what weather does."""

from __future__ import annotations

import math

from deerlog.analysis.backtest.correction import Correction
from deerlog.analysis.backtest.scores import ChancesOff, ForecastGain
from deerlog.analysis.forecast.weather import DRIVERS, WeatherEffects
from deerlog.analysis.presence.tagger import WrongNames
from deerlog.property.wording import count, listing
from deerlog.report.words.words import interval, percent

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


NOT_MOVED = 0.05
"""A correction that moves chances by less, as a share of them, is none to speak of (our choice)."""


def correction_words(correction: Correction) -> str:
    """How far the property's own last weeks move the chances."""
    weeks = f"the last {count(correction.weeks, 'week')}"
    if not correction.weeks:
        return "No past week can correct the chances yet."
    moved = correction.factor - 1
    if abs(moved) < NOT_MOVED:
        return f"Held against {weeks}, the chances needed hardly any correction."
    which = "lower" if moved < 0 else "higher"
    return f"The chances are corrected by {weeks}: {percent(abs(moved))} {which} as a whole."


PAIR_FROM = 0.8
"""A pair of bucks is named as taken for each other from so high a chance (our choice)."""


def wrong_names_words(wrong: WrongNames, visits: int) -> str:
    """How many names look wrong, and whose."""
    said = (
        f"About {_in_a_hundred(wrong.share)} in 100 names look wrong "
        f"({_in_a_hundred(wrong.low)} to {_in_a_hundred(wrong.high)}), from "
        f"{count(visits, 'visit')} with a sure name."
    )
    for pair in wrong.pairs:
        if pair.chance >= PAIR_FROM:
            said += (
                f" {listing(pair.bucks)} look exchanged in about {round(10 * pair.share)} of 10 "
                "tags: look at their pictures side by side."
            )
    return said


def _in_a_hundred(share: float) -> str:
    return f"{100 * share:.1f}" if share < 0.0095 else f"{100 * share:.0f}"


def verdict(gains: list[ForecastGain], half_days: int, seen: int) -> str:
    """Whether the chances beat the rules of thumb, figures last; worse and unsure said as plainly.

    ``gains`` are against each rule; of ``half_days`` replayed, he came in light on ``seen``.
    """
    if not gains:
        return (
            "There is too little on record to replay a week, so the chances cannot be judged yet."
        )
    scored = (
        f"Of {count(half_days, 'half-day')} replayed (one buck at one site, a morning or an "
        f"evening), he came in shooting light on {seen:,}"
    )
    # A simple rule that calls impossible what then comes has an endless loss: no figure.
    gains = [g for g in gains if math.isfinite(g.gain)]
    if not gains:
        return f"{scored}: too few to judge the chances by."
    worst = min(gains, key=lambda g: g.gain)
    rule = RULE_WORDS[worst.rule]
    if worst.low is None or worst.high is None:
        return f"{scored}. Too few weeks to tell yet whether our chances beat the rules of thumb."
    if worst.low > 0:
        said = (
            "better than either rule of thumb, and by more than luck would explain. The better of "
            f"the two was {rule}"
        )
    elif worst.high < 0:
        said = (
            "worse than a rule of thumb here, and by more than bad luck would explain: go by "
            f"{rule} for now"
        )
    elif worst.gain > 0:
        said = (
            f"a little better than the better rule of thumb, {rule}; with this little record that "
            "could be luck"
        )
    else:
        said = (
            f"no better than the better rule of thumb, {rule}; with this little record it could be "
            "luck either way"
        )
    if worst.low > 0 or worst.high < 0:
        near, far = sorted((abs(worst.low), abs(worst.high)))
        fits = f"{interval(near, far)} {'smaller' if worst.low > 0 else 'larger'}"
    else:
        fits = f"anything from {percent(-worst.low)} larger to {percent(worst.high)} smaller"
    return (
        f"Our chances were {said}. {scored}. The error of our chances (log loss) was "
        f"{percent(abs(worst.gain))} {'smaller' if worst.gain > 0 else 'larger'} than that of the "
        f"rule; the record fits {fits}."
    )


def chances_off_words(off: ChancesOff, weeks: int) -> str:
    """That chances of one size were too high or too low, and how to read them."""
    if off.said_low == 0:
        band = f"under {percent(off.said_high)}"
    elif off.said_high == 1:
        band = f"{percent(off.said_low)} or more"
    else:
        band = f"{percent(off.said_low).removesuffix('%')} to {percent(off.said_high)}"
    came = percent(off.share)
    return (
        f"In the {count(weeks, 'week')} replayed, of {count(off.half_days, 'half-day')} given "
        f"{band} ({percent(off.said)} on average), {came} came true "
        f"({interval(off.low, off.high)}): {_read_them(off.share / off.said)}."
    )


_TIMES = (
    (0.25, "a quarter of what they say"),
    (1 / 3, "a third of what they say"),
    (0.5, "half of what they say"),
    (2 / 3, "about a third lower"),
    (0.75, "about a quarter lower"),
    (0.8, "about a fifth lower"),
    (0.9, "about a tenth lower"),
    (1.1, "about a tenth higher"),
    (1.25, "about a quarter higher"),
    (1.5, "about half as high again"),
    (2.0, "about twice as high"),
    (3.0, "about three times as high"),
)
"""How to read a chance that came true so many times as often as it said."""


def _read_them(times: float) -> str:
    if times < 1 / 6:
        return "read such chances as next to nothing"
    if times > 4:
        return "read such chances as several times as high"
    _, words = min(_TIMES, key=lambda each: abs(math.log(each[0] / times)))
    return f"read such chances {'as ' if words.startswith(('a ', 'half')) else ''}{words}"


def weather_words(effects: WeatherEffects, units: str) -> tuple[str, ...]:
    """What weather did to visits in shooting light, driver by driver."""
    table = effects.table.set_index("driver").loc[list(DRIVERS)]
    told = table[table["effect"].notna()]
    if told.empty:
        known = f"only {count(effects.visits, 'visit')} in shooting light on days whose weather is "
        known = f"{known}known" if effects.half_days else "it is known of too few days"
        return (f"Not enough to tell what weather does: {known}.",)
    kept: list[str] = []
    left: list[str] = []
    for row in told.reset_index().to_dict("records"):
        step, words = _STEPS[units][row["driver"]]
        per_unit = step / row["sd"]
        low, high = sorted((row["low"] * per_unit, row["high"] * per_unit))
        said = (
            f"{words}: {math.exp(row['effect'] * per_unit):.2f} times the visits in shooting light "
            f"({math.exp(low):.2f} to {math.exp(high):.2f})"
        )
        (kept if row["kept"] else left).append(said)
    lines = []
    if kept:
        lines.append(
            f"The chances go by this, since it helped to foretell weeks kept back for the test: "
            f"{listing(kept)}."
        )
    if left:
        found = "No effect of weather was found in your data. " if not kept else ""
        lines.append(
            f"{found}What was tried did not help to foretell weeks kept back for the test, so the "
            f"chances do not go by it ({count(effects.visits, 'visit')} in shooting light): "
            f"{'; '.join(left)}."
        )
    return tuple(lines)
