"""What came of each half-day, to hold chances against: buck, site, day, morning or afternoon."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import pandas as pd

from .hours import light_of_days
from .simulated_property import SimulatedProperty


def seen_in_light(simulated: SimulatedProperty) -> npt.NDArray[np.bool_]:
    """Whether a sure visit in shooting light was written down, shape (bucks, sites, days, 2).

    The axes are those of `Truth`; the last is AM and PM, split at solar noon.
    """
    truth = simulated.truth
    seen = np.zeros((len(truth.bucks), len(truth.sites), len(truth.days), 2), dtype=bool)
    sure = simulated.sightings[~simulated.sightings["unsure"]]
    light = light_of_days(
        simulated.latitude,
        simulated.longitude,
        simulated.zone,
        truth.days[0].date(),
        truth.days[-1].date(),
    )
    day_of = sure["local"].dt.tz_localize(None).dt.normalize()
    day = np.asarray((day_of - truth.days[0]).dt.days)
    instant = pd.DatetimeIndex(sure["local"]).tz_convert("UTC").tz_localize(None)
    seconds = np.asarray(instant, dtype="datetime64[us]").astype(np.int64) / 1e6
    lit = (seconds >= light.light_starts[day]) & (seconds <= light.light_ends[day])
    half = (seconds >= light.noon[day]).astype(int)
    buck = pd.Index(truth.bucks).get_indexer(pd.Index(sure["buck"]))
    site = pd.Index(truth.sites).get_indexer(pd.Index(sure["site"]))
    seen[buck[lit], site[lit], day[lit], half[lit]] = True
    return seen


def full_days(simulated: SimulatedProperty) -> npt.NDArray[np.bool_]:
    """Site-days on which the camera is believed to have run all day, shape (sites, days)."""
    truth = simulated.truth
    full = np.zeros((len(truth.sites), len(truth.days)), dtype=bool)
    ran = simulated.effort[simulated.effort["camera_day"] >= 1]
    site = pd.Index(truth.sites).get_indexer(pd.Index(ran["site"]))
    full[site, np.asarray((ran["day"] - truth.days[0]).dt.days)] = True
    return full


def log_loss(chance: npt.NDArray[np.float64], seen: npt.NDArray[np.bool_]) -> float:
    """Mean negative log probability of what happened, in nats. Chances of 0 and 1 are not
    softened: a sighting that was called impossible costs infinity."""
    with np.errstate(divide="ignore"):
        return float(-np.where(seen, np.log(chance), np.log1p(-chance)).mean())


def share_of_possible_gain(ours: float, best_simple: float, truth: float) -> float:
    """How far a forecast's log loss gets from the best simple rule (0) to the truth (1)."""
    return (best_simple - ours) / (best_simple - truth)
