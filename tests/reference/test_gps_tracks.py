"""Residency from real tracks under virtual cameras, on properties over and beside the ranges.

Source: seventeen white-tailed does, Ohio, January 2023 to June 2024 (DeNicola, Mezzini and
Cagnacci, Wildlife Biology, 10.1002/wlb3.01512). The label is known from the track. They are does,
and suburban: a check of presence and residence, not of the rut.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest
from simulation.gps import FOLDER, read_fixes, sample_track
from simulation.judged import residency_of

pytestmark = pytest.mark.skipif(
    not (FOLDER / "fixes_hourly.csv").is_file(),
    reason="the GPS tracks are not in ../shared/data/whitetail_gps",
)

ENOUGH_DAYS = 30
"""A season with fewer days of track says too little to be held to a label."""


@pytest.fixture(scope="module")
def fixes() -> pd.DataFrame:
    return read_fixes()


@pytest.fixture(scope="module")
def animals() -> pd.DataFrame:
    return pd.read_csv(FOLDER / "animals.csv").set_index("animal")


def labels(
    fixes: pd.DataFrame,
    animal: str,
    centre_m: tuple[float, float],
    passings_per_fix: float = 0.25,
) -> pd.DataFrame:
    """Truth and label of every season with enough days of track, where she was seen at all."""
    track = fixes[fixes["animal"] == animal]
    # The same cameras and luck for an animal wherever the property lies.
    rng = np.random.default_rng(sum(map(ord, animal)))
    p = sample_track(rng, track, centre_m=centre_m, passings_per_fix=passings_per_fix)
    if p.sightings.empty:
        return pd.DataFrame(columns=["resident", "label", "score"])
    table = residency_of(p).table
    table = table[table["season"] != "all"].astype({"season": int}).set_index("season")
    season = p.calendar.season_of(p.truth.days[p.truth.running[0] > 0])
    long = [s for s in np.unique(season) if (season == s).sum() >= ENOUGH_DAYS]
    truth = p.truth.seasons.set_index("season")["resident"]
    return table.join(truth)[["resident", "label", "score"]].reindex(
        [s for s in long if s in table.index]
    )


def check_over_the_middle(fixes: pd.DataFrame, animals: pd.DataFrame, shift_m: float = 0.0) -> None:
    """Every season of every animal is called resident on a property over her range."""
    n = 0
    for animal in animals.index:
        x, y = animals.loc[animal, ["x_med", "y_med"]].astype(float)
        got = labels(fixes, animal, (x + shift_m, y))
        assert (got["label"] == "resident").all(), f"{animal}\n{got}"
        n += len(got)
    assert n >= 20


def test_over_the_middle_she_lives_there(fixes: pd.DataFrame, animals: pd.DataFrame) -> None:
    check_over_the_middle(fixes, animals)


def test_a_property_a_mile_off_is_not_hers(
    fixes: pd.DataFrame, animals: pd.DataFrame, must_fail: Callable[..., None]
) -> None:
    must_fail(check_over_the_middle, fixes, animals, shift_m=1600.0)


def test_seldom_photographed_she_is_never_called_a_visitor(
    fixes: pd.DataFrame, animals: pd.DataFrame
) -> None:
    """A fifth of the passings: fewer labels, and no wrong one."""
    found = []
    for animal in animals.index:
        x, y = animals.loc[animal, ["x_med", "y_med"]].astype(float)
        found.append(labels(fixes, animal, (x, y), passings_per_fix=0.05))
    got = pd.concat(found)
    assert (got["label"] != "visiting").all()
    assert (got["label"] == "resident").mean() > 0.5


def test_beside_the_range_nobody_lives(fixes: pd.DataFrame, animals: pd.DataFrame) -> None:
    """3 km and more from her middle to the near edge: unseen, or no resident."""
    for animal in animals.index.drop("T_169"):
        x, y = animals.loc[animal, ["x_med", "y_med"]].astype(float)
        for east, north in ((3750.0, 0.0), (0.0, -3750.0)):
            got = labels(fixes, animal, (x + east, y + north))
            assert (got["label"] != "resident").all()
            assert got["score"].lt(50).all()


def test_the_place_t_169_visits_is_not_her_home(fixes: pd.DataFrame) -> None:
    """14 of 107 days in seven trips and a last one, under cameras that hardly miss her."""
    trips = pd.read_csv(FOLDER / "T_169_trips.csv")
    centre = (float(trips["x_mean"].median()), float(trips["y_mean"].median()))
    got = labels(fixes, "T_169", centre, passings_per_fix=2.0)
    assert len(got) == 1
    assert (got["label"] != "resident").all()
