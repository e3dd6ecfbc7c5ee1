"""Real tracks under virtual cameras: the label from the track, and sightings that obey it."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from simulation.gps import FOLDER, read_fixes, sample_track

pytestmark = pytest.mark.skipif(
    not (FOLDER / "fixes_hourly.csv").is_file(),
    reason="the GPS tracks are not in ../shared/data/whitetail_gps",
)


@pytest.fixture(scope="module")
def fixes() -> pd.DataFrame:
    return read_fixes()


def test_all_rows_are_read(fixes: pd.DataFrame) -> None:
    assert len(fixes) == 60_860 and fixes["animal"].nunique() == 17
    assert fixes["time"].dt.tz is not None


def test_over_the_middle_she_lives_there_and_beside_it_she_does_not(fixes: pd.DataFrame) -> None:
    animals = pd.read_csv(FOLDER / "animals.csv").set_index("animal")
    n_seen_beside = 0
    # T_169 keeps a second place; see the next test.
    for number, animal in enumerate(animals.index.drop("T_169")):
        track = fixes[fixes["animal"] == animal]
        x, y = animals.loc[animal, ["x_med", "y_med"]].astype(float)
        home = sample_track(np.random.default_rng(number), track, centre_m=(x, y))
        assert home.truth.seasons["resident"].all()
        assert len(home.sightings) >= 10
        # The near edge of the property is 3 km and more from the middle of her range.
        for east, north in [(3750, 0), (0, 3750), (-4000, 0), (0, -5000)]:
            beside = sample_track(
                np.random.default_rng(number), track, centre_m=(x + east, y + north)
            )
            assert not beside.truth.seasons["resident"].any()
            n_seen_beside += len(beside.sightings)
    # C_100, C_161, T_155 and C_108 each went beyond 3 km once, for a fix or a day.
    assert n_seen_beside <= 3


def test_the_second_place_of_t_169_is_not_home(fixes: pd.DataFrame) -> None:
    track = fixes[fixes["animal"] == "T_169"]
    trips = pd.read_csv(FOLDER / "T_169_trips.csv")
    centre = (float(trips["x_mean"].median()), float(trips["y_mean"].median()))
    p = sample_track(np.random.default_rng(0), track, centre_m=centre, passings_per_fix=2.0)
    assert not p.truth.seasons["resident"].any()
    assert 10 <= p.truth.seasons["days_around"].sum() <= 25
    assert len(p.sightings) > 0
    day = p.sightings["local"].dt.tz_localize(None).dt.normalize()
    around = p.truth.around[0, np.asarray((day - p.truth.days[0]).dt.days)]
    # A passing is put within the hour after its fix, so it may fall on the next day.
    assert around.mean() > 0.95


def test_effort_is_the_days_with_a_position(fixes: pd.DataFrame) -> None:
    track = fixes[fixes["animal"] == "C_108"]
    p = sample_track(np.random.default_rng(0), track, centre_m=(967.0, 2470.0), n_cameras=5)
    local_days = track["time"].dt.tz_convert("America/New_York").dt.date.nunique()
    assert len(p.effort) == 5 * local_days
    assert set(p.sightings["site"]) <= set(p.sites["site"])


def test_one_animal_at_a_time(fixes: pd.DataFrame) -> None:
    with pytest.raises(ValueError, match="one animal, not 17"):
        sample_track(np.random.default_rng(0), fixes, centre_m=(0.0, 0.0))
