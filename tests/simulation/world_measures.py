"""How good the answers of one world are: each measure with its number and standard error.

Standard errors are by property, since what is said of one property errs together.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import xlog1py, xlogy

from deerlog.timekeeping.seasons import SeasonCalendar

from .scoring import jeffreys_interval
from .world_answers import RULES, Answers
from .world_property import NEXT_SEASON

CHANCE_EDGES = (0.0, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.6, 0.8, 1.0)
SCORE_EDGES = (0.0, 5.0, 10.0, 20.0, 35.0, 50.0, 65.0, 80.0, 90.0, 95.0, 100.0)
ENOUGH = 30.0
"""Visits, given or expected, from which a phase or a bin of chances is told of."""
WORTH_A_LOOK = 0.02
"""Stands are held to their interval where the chance given, or the true one, is at least this."""
SHOWN_TO = 0.005
"""Half a percent: chances are shown in whole percents, so an interval reaches so much further."""
GONE_FROM = 0.8
"""The chance that he is gone from which he counts as called gone, whatever his label is named."""

PHASE_DAYS = {
    name: (after - first).days for name, first, after in SeasonCalendar().phase_bounds(2021)
}


class Measure(NamedTuple):
    """A measure of one world.

    ``error`` is its standard error, NaN where it has none; ``n`` what it was counted over;
    ``where`` names the rule, phase or bin it is of.
    """

    value: float
    error: float = float("nan")
    n: int = 0
    where: str = ""


WHOLE_SEASON = "in season"
"""All days of judgement but the one of the next season, together."""
NONE = Measure(float("nan"))


def ratio(over: npt.ArrayLike, under: npt.ArrayLike, group: npt.ArrayLike) -> tuple[float, float]:
    """Sum over sum, and its standard error by group (a ratio estimate's; NaN for one group)."""
    _, place = np.unique(np.asarray(group), return_inverse=True)
    a = np.bincount(place, np.asarray(over, dtype=float))
    b = np.bincount(place, np.asarray(under, dtype=float))
    if not b.sum():
        return float("nan"), float("nan")
    found, n = float(a.sum() / b.sum()), len(a)
    if n < 2:
        return found, float("nan")
    left = a - found * b
    return found, float(np.sqrt(n / (n - 1) * (left**2).sum()) / b.sum())


def share(true: pd.Series, group: pd.Series) -> Measure:
    """Share of rows that are true."""
    if not len(true):
        return NONE
    value, error = ratio(true, np.ones(len(true)), group)
    return Measure(value, error, len(true))


def _bin(values: pd.Series, edges: tuple[float, ...]) -> npt.NDArray[np.int64]:
    """Which bin each value falls into; the upper end belongs to the last bin only."""
    return np.clip(np.searchsorted(edges, values, side="right") - 1, 0, len(edges) - 2)


def expected_loss(given: npt.ArrayLike, true: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Log loss to be expected of a chance where the true one is known, nats, shape (n,).

    Less ruled by luck than the loss on what came, and the same on average. A chance of 0 for what
    can happen costs infinity.
    """
    p, q = np.asarray(true, dtype=float), np.asarray(given, dtype=float)
    return np.asarray(-xlogy(p, q) - xlog1py(1 - p, -q))


def chance_measures(answers: Answers, *, knows_the_track: bool = False) -> dict[str, Measure]:
    """Measures of the chances.

    Parameters
    ----------
    knows_the_track
        The true chances know what nobody can: they stand for what came, and bound no log loss.
    """
    table = answers.half_days
    found = dict.fromkeys(
        ("given / true", "where never seen", "worst phase", "worst bin", "loss", "rule", "truth",
         "centre", "R", "R of a season", "stand covers", "came / true", "chances given"), NONE,
    )  # fmt: skip
    if not len(table):
        return found
    found["chances given"] = share(table["given"].notna(), table["property"])
    table = table[table["given"].notna()]
    if not len(table):
        return found
    n, group = len(table), table["property"]
    found["given / true"] = Measure(*ratio(table["given"], table["true"], group), n)
    found["came / true"] = Measure(*ratio(table["came"], table["true"], group), n)
    new = table[~table["met"]]
    found["where never seen"] = Measure(
        *ratio(new["given"], new["true"], new["property"]), len(new)
    )
    found["worst phase"] = _worst(table, table["phase"])
    named = [f"{low:g}-{high:g}" for low, high in pairwise(CHANCE_EDGES)]
    bins = np.array(named, dtype=object)[_bin(table["given"], CHANCE_EDGES)]
    found["worst bin"] = _worst(table, pd.Series(bins))

    columns = {"loss": "given", "truth": "true", **dict(zip(RULES, RULES, strict=True))}
    if table["centre"].notna().all():
        columns["centre"] = "centre"
    losses = {name: expected_loss(table[column], table["true"]) for name, column in columns.items()}
    mean = {
        name: Measure(*ratio(loss, np.ones(n), group), n, name) for name, loss in losses.items()
    }
    best = min(RULES, key=lambda rule: mean[rule].value)
    found["rule"] = mean[best]
    found |= {name: mean[name] for name in columns if name in found}
    if knows_the_track:
        found["truth"] = NONE
    else:
        found["R"] = _gain(losses, table, np.ones(n))
        rows = table["phase"].map(table["phase"].value_counts())
        found["R of a season"] = _gain(losses, table, table["phase"].map(PHASE_DAYS) / rows)
    found["stand covers"] = _covers(answers.stands)
    return found


def _worst(table: pd.DataFrame, by: pd.Series) -> Measure:
    """Given / true where it is farthest from 1, of parts with enough visits given or expected."""
    worst = NONE
    for name, part in table.groupby(by.to_numpy(), observed=True):
        if max(part["given"].sum(), part["true"].sum()) < ENOUGH:
            continue
        value, error = ratio(part["given"], part["true"], part["property"])
        off = abs(np.log(value)) if value > 0 else np.inf
        if np.isnan(worst.value) or off > abs(np.log(worst.value)):
            worst = Measure(value, error, len(part), str(name))
    return worst


def _gain(
    losses: dict[str, npt.NDArray[np.float64]], table: pd.DataFrame, weight: npt.ArrayLike
) -> Measure:
    """How far the chances get from the better simple rule (0) to the truth (1), of half-days that
    count with a weight."""
    heavy = {name: np.asarray(weight) * loss for name, loss in losses.items()}
    best = min((heavy[rule] for rule in RULES), key=np.sum)
    gained, possible = best - heavy["loss"], best - heavy["truth"]
    return Measure(*ratio(gained, possible, table["property"]), len(table))


def _covers(stands: pd.DataFrame) -> Measure:
    """Share of half-days at stands whose interval holds the true chance that any target comes."""
    if not len(stands):
        return NONE
    seen = stands[stands[["given", "true"]].max(axis=1) >= WORTH_A_LOOK]
    inside = (seen["low"] - SHOWN_TO <= seen["true"]) & (seen["true"] <= seen["high"] + SHOWN_TO)
    return share(inside, seen["property"])


def chance_reliability(answers: Answers) -> pd.DataFrame:
    """By bin of the chance given: ``low, high, half_days, given, true, came`` (means), ``ratio``
    and its ``error``."""
    table = answers.half_days[answers.half_days["given"].notna()]
    rows = []
    for n, part in table.groupby(_bin(table["given"], CHANCE_EDGES)):
        value, error = ratio(part["given"], part["true"], part["property"])
        rows.append(
            {
                "low": CHANCE_EDGES[int(n)],
                "high": CHANCE_EDGES[int(n) + 1],
                "half_days": len(part),
                **{name: part[name].mean() for name in ("given", "true", "came")},
                "ratio": value,
                "error": error,
            }
        )
    return pd.DataFrame(rows)


class _Judged(NamedTuple):
    """Who counts in a measure of the labels, and what is counted of them."""

    of: Callable[[pd.DataFrame], pd.Series]
    what: Callable[[pd.DataFrame], pd.Series]


def _living(t: pd.DataFrame) -> pd.Series:
    """Bucks whose label has a right answer: not on the edge, not dead or gone (passers have one
    ever after)."""
    return (t["kind"] != "edge") & (~t["gone"] | (t["kind"] == "passer"))


def _called_gone(t: pd.DataFrame) -> pd.Series:
    return (t["label"] == "gone") | (t["p_gone"] >= GONE_FROM)


def _decided(t: pd.DataFrame) -> pd.Series:
    return t["label"] != "undecided"


def _right(t: pd.DataFrame) -> pd.Series:
    """A passer who has left may be called gone."""
    ends = (t["label"] == "gone") & t["gone"]
    says = t["label"].map({"resident": True, "visiting": False})
    return ends & (t["kind"] == "passer") | (says == t["lives_here"])


LABELS = {
    "right": _Judged(lambda t: _living(t) & _decided(t), _right),
    "decided": _Judged(_living, _decided),
    "passers called resident": _Judged(
        lambda t: t["kind"] == "passer", lambda t: t["label"] == "resident"
    ),
    "visitors called resident": _Judged(
        lambda t: _living(t) & ~t["lives_here"] & (t["kind"] != "passer"),
        lambda t: t["label"] == "resident",
    ),
    "residents called visiting": _Judged(
        lambda t: _living(t) & t["lives_here"], lambda t: t["label"] == "visiting"
    ),
    "living called gone": _Judged(lambda t: ~t["gone"], _called_gone),
    "dead called gone": _Judged(lambda t: t["gone"] & t["lives_here"], _called_gone),
    "dead called visiting": _Judged(
        lambda t: t["gone"] & t["lives_here"], lambda t: t["label"] == "visiting"
    ),
}
"""Shares told of the labels. *Dead* are residents that died or left for good."""


def label_measures(answers: Answers) -> dict[tuple[str, str], Measure]:
    """Measures of the labels, by measure and name of the day of judgement; with ``Brier`` and
    ``p_passing of passers`` (means). What the analysis does not tell is NaN.

    `WHOLE_SEASON` takes all days together, of the living called gone that of the next season too.
    """
    found: dict[tuple[str, str], Measure] = {}
    every = answers.labels
    if not len(every):
        return found
    days = {str(day): table for day, table in every.groupby("judged", sort=False)}
    days[WHOLE_SEASON] = every[every["judged"] != NEXT_SEASON]
    for day, table in days.items():
        for name, (of, what) in LABELS.items():
            whole = day == WHOLE_SEASON and name == "living called gone"
            part = every[of(every)] if whole else table[of(table)]
            told = what is not _called_gone or part["p_gone"].notna().any()
            found[name, day] = share(what(part), part["property"]) if told else NONE
        passers = table[(table["kind"] == "passer") & table["p_passing"].notna()]
        found["p_passing of passers", day] = share(passers["p_passing"], passers["property"])
        scored = table[_living(table)]
        error = (scored["score"] / 100 - scored["lives_here"]) ** 2
        found["Brier", day] = share(error, scored["property"])
    return found


def score_reliability(answers: Answers) -> pd.DataFrame:
    """By bin of the score, of all days of judgement within the season: ``low, high, bucks, score``
    (mean), ``live_here`` (percent) with its 95 % interval ``from, to``."""
    table = answers.labels
    table = table[_living(table) & (table["judged"] != NEXT_SEASON)] if len(table) else table
    if not len(table):
        return pd.DataFrame()
    rows = []
    for n, part in table.groupby(_bin(table["score"], SCORE_EDGES)):
        k = int(part["lives_here"].sum())
        low, high = jeffreys_interval(k, len(part))
        rows.append(
            {
                "low": SCORE_EDGES[int(n)],
                "high": SCORE_EDGES[int(n) + 1],
                "bucks": len(part),
                "score": part["score"].mean(),
                "live_here": 100 * k / len(part),
                "from": 100 * low,
                "to": 100 * high,
            }
        )
    return pd.DataFrame(rows)
