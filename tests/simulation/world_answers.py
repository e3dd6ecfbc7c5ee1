"""A property of a world put to the analysis: answers beside the truth, as tables."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pandas as pd

from .activity_centre import centre_chances
from .answers import MAY_BE_ABSENT, Chances, chances, labels, stand_interval
from .simple_rules import simple_rates
from .world_property import DAYS_AHEAD, WorldProperty

RULES = ("all_time", "last_14_days")


class Answers(NamedTuple):
    """What was answered of one or more properties, beside the truth.

    Attributes
    ----------
    half_days
        One row a buck seen by then, site whose camera ran, half and day asked about: ``property``,
        ``phase``, ``given`` (NaN: no chance given), ``true``, ``came``, `RULES`, ``centre`` (NaN
        where that reference was not asked) and ``met`` (he had been seen there in shooting light).
    stands
        One row a site, half and day: ``property``, ``given``, ``low``, ``high``, ``true``: of the
        chance that any target comes.
    labels
        One row a buck and day of judgement: ``property``, ``judged`` (name of the day), ``buck``,
        ``kind``, ``lives_here``, ``gone`` (dead or gone for good), ``label``, ``score``,
        ``p_gone``, ``p_passing``.
    """

    half_days: pd.DataFrame
    stands: pd.DataFrame
    labels: pd.DataFrame


def together(parts: list[Answers]) -> Answers:
    """Answers of several properties as one."""
    return Answers(*(pd.concat(tables, ignore_index=True) for tables in zip(*parts, strict=True)))


def ask(asked: WorldProperty, number: int, *, centre: bool = False) -> Answers:
    """Ask everything of one property.

    Parameters
    ----------
    number
        Written into column ``property``.
    centre
        Also ask the reference of `activity_centre`.
    """
    came = asked.came
    half_days, stands = [], []
    for as_of in asked.asked_on:
        days = pd.date_range(as_of + pd.Timedelta(days=1), periods=DAYS_AHEAD, unit="us")
        if not _any_known(asked, as_of):
            continue
        given = chances(asked, as_of, days)
        half_days.append(_half_days(asked, came, given, as_of, days, centre=centre))
        stands.append(_stands(asked, given, days))
    judged = [_judged(asked, name, as_of) for name, as_of in asked.judged_on.items()]
    tables = [_concat(half_days), _concat(stands), _concat(judged)]
    return Answers(*(table.assign(property=number) for table in tables))


def _concat(parts: list[pd.DataFrame]) -> pd.DataFrame:
    parts = [part for part in parts if len(part)]
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame()


def _any_known(asked: WorldProperty, as_of: pd.Timestamp) -> bool:
    sightings = asked.simulated.sightings
    known = sightings["local"].dt.tz_localize(None) < as_of + pd.Timedelta(days=1)
    return bool((known & ~sightings["unsure"]).any())


def _half_days(
    asked: WorldProperty,
    came: np.ndarray,
    given: Chances,
    as_of: pd.Timestamp,
    days: pd.DatetimeIndex,
    *,
    centre: bool,
) -> pd.DataFrame:
    truth = asked.simulated.truth
    bucks = pd.Index(truth.bucks).get_indexer(pd.Index(given.bucks))
    sites = pd.Index(truth.sites).get_indexer(pd.Index(given.sites))
    ahead = truth.days.get_indexer(days)
    known = slice(0, int(truth.days.get_indexer(pd.DatetimeIndex([as_of]))[0]) + 1)

    ran = _ran(asked, sites, known)
    seen = came[bucks][:, sites][:, :, known]
    references = simple_rates(seen, ran)
    if centre:
        place = asked.simulated.sites.set_index("site").loc[list(given.sites), ["x_m", "y_m"]]
        references["centre"] = centre_chances(
            seen.sum(axis=2).astype(float), ran.sum(axis=1), place.to_numpy(dtype=float)
        )
    # Shape (days, bucks, sites, halves).
    at = np.ix_(bucks, sites, ahead)
    true, outcome = (a[at].transpose(2, 0, 1, 3) for a in (asked.chance, came))
    scored = np.broadcast_to(
        (truth.running[np.ix_(sites, ahead)] >= 1).T[:, None, :, None], true.shape
    )
    day, buck, site, half = np.nonzero(scored)
    table = pd.DataFrame(
        {
            "phase": np.asarray(asked.simulated.calendar.phase_of(days))[day],
            "given": given.chance[scored],
            "true": true[scored],
            "came": outcome[scored],
            "centre": np.nan,
            "met": seen.any(axis=(2, 3))[buck, site],
        }
    )
    return table.assign(**{name: r[buck, site, half] for name, r in references.items()})


def _ran(asked: WorldProperty, sites: np.ndarray, known: slice) -> np.ndarray:
    """Part of the day that each camera is believed to have run, shape (sites, days)."""
    truth, effort = asked.simulated.truth, asked.simulated.effort
    ran = np.zeros((len(truth.sites), len(truth.days)))
    site = pd.Index(truth.sites).get_indexer(pd.Index(effort["site"]))
    ran[site, truth.days.get_indexer(pd.DatetimeIndex(effort["day"]))] = effort["camera_day"]
    return ran[sites][:, known]


def _stands(asked: WorldProperty, given: Chances, days: pd.DatetimeIndex) -> pd.DataFrame:
    truth = asked.simulated.truth
    targets = [b for b in asked.targets if b in given.bucks]
    sites = pd.Index(truth.sites).get_indexer(pd.Index(given.sites))
    ahead = truth.days.get_indexer(days)
    running = (truth.running[np.ix_(sites, ahead)] >= 1).any(axis=1)
    if not targets or not running.any() or asked.knows_the_track:
        return pd.DataFrame()
    names = [site for site, runs in zip(given.sites, running, strict=True) if runs]
    chance, low, high = stand_interval(given, names, targets)
    bucks = pd.Index(truth.bucks).get_indexer(pd.Index(targets))
    own = asked.chance[np.ix_(bucks, sites[running], ahead)]
    true = 1 - np.prod(1 - own, axis=0).transpose(1, 0, 2)
    columns = {"given": chance, "low": low, "high": high, "true": true}
    return pd.DataFrame({name: values.ravel() for name, values in columns.items()})


def _judged(asked: WorldProperty, name: str, as_of: pd.Timestamp) -> pd.DataFrame:
    if not _any_known(asked, as_of):
        return pd.DataFrame()
    table = labels(asked, as_of)
    true = asked.bucks.loc[table["buck"]].reset_index(drop=True)
    gone = true["gone_from"] <= as_of
    return pd.DataFrame(
        {
            "judged": name,
            "buck": table["buck"],
            "kind": true["kind"],
            "lives_here": true["resident"],
            "gone": gone,
            "label": table["label"],
            "score": table["score"].astype(float),
            **{column: table[column].astype(float) for column in MAY_BE_ABSENT},
        }
    )
