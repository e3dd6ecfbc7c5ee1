"""What a person writes of the visits: everything, names only, targets only, daylight only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from .hours import light_of_days
from .simulated_property import SimulatedProperty

TAGGERS = ("usual", "hasty", "targets only", "daylight only")
"""The usual one looks at every visit; the hasty one names bucks and leaves all else blank; the
next does so with the targets alone; the last never looks at what came out of shooting light."""

OTHERS_A_DAY = 2.0
"""Visits of anything else at a site in a day, in the middle (our choice)."""


def tagged_by(
    rng: np.random.Generator, tagger: str, simulated: SimulatedProperty, targets: Sequence[str]
) -> tuple[SimulatedProperty, pd.DataFrame | None]:
    """The property as that person's sheets have it, and which visits were looked at.

    Returns
    -------
    simulated
        With the sightings that were written down.
    looked_at
        Visits of anything, one row each: ``site``, ``first`` (local, aware), ``tagged``,
        ``in_light`` and ``visit`` as in the sightings (-1: of no named buck). None where all were
        looked at.
    """
    if tagger == "usual":
        return simulated, None
    sightings = simulated.sightings
    if tagger == "daylight only":
        written = in_shooting_light(simulated, sightings["local"])
    elif tagger == "targets only":
        written = sightings["buck"].isin(targets).to_numpy()
    elif tagger == "hasty":
        written = np.ones(len(sightings), dtype=bool)
    else:
        raise ValueError(f"there is no tagger {tagger}; the taggers are: {', '.join(TAGGERS)}")
    bucks = sightings.assign(tagged=written).groupby("visit", sort=False)
    visits = pd.DataFrame(
        {
            "site": bucks["site"].first(),
            "first": bucks["local"].first(),
            "tagged": bucks["tagged"].any(),
        }
    ).reset_index()
    visits["in_light"] = in_shooting_light(simulated, visits["first"])
    others = _others(rng, simulated)
    others["in_light"] = in_shooting_light(simulated, others["first"])
    others["tagged"] = others["in_light"] & (tagger == "daylight only")
    others["visit"] = -1
    looked_at = pd.concat([visits, others]).sort_values("first", ignore_index=True)
    kept = replace(
        simulated,
        sightings=sightings[written].reset_index(drop=True),
        truth=replace(simulated.truth, wrong_tag=simulated.truth.wrong_tag[written]),
    )
    return kept, looked_at


def in_shooting_light(simulated: SimulatedProperty, times: pd.Series) -> npt.NDArray[np.bool_]:
    """Whether each time (local, aware) falls in shooting light, shape (n,)."""
    days = simulated.truth.days
    light = light_of_days(
        simulated.latitude, simulated.longitude, simulated.zone, days[0].date(), days[-1].date()
    )
    day = np.asarray((times.dt.tz_localize(None).dt.normalize() - days[0]).dt.days)
    seconds = times.dt.as_unit("us").astype("int64").to_numpy() / 1e6
    return np.asarray((seconds >= light.light_starts[day]) & (seconds <= light.light_ends[day]))


def _others(rng: np.random.Generator, simulated: SimulatedProperty) -> pd.DataFrame:
    """Visits of does, raccoons and the rest at any hour: ``site, first``."""
    truth = simulated.truth
    rate = OTHERS_A_DAY * rng.lognormal(0, 0.6, len(truth.sites))
    site, day = np.nonzero(rng.poisson(rate[:, None] * truth.running))
    first = truth.days[day] + pd.to_timedelta(rng.integers(0, 86_400, len(day)), unit="s")
    local = pd.Series(first).dt.tz_localize(
        simulated.zone, ambiguous=True, nonexistent="shift_forward"
    )
    names = pd.Series(np.array(truth.sites, dtype=object)[site], dtype="str")
    return pd.DataFrame({"site": names, "first": local.dt.as_unit("us")})
