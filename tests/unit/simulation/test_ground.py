"""The simulator does what it says: shapes, rates, truth and effort agree with one another."""

from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest
from simulation.ground import DENSITY, simulate_property
from simulation.life import NOT_ALIVE
from simulation.passings import TagErrors
from simulation.simulated_property import SimulatedProperty

N_PROPERTIES = 12


@pytest.fixture(scope="module")
def properties() -> list[SimulatedProperty]:
    return [
        simulate_property(np.random.default_rng(seed), density="thin")
        for seed in range(N_PROPERTIES)
    ]


def _buck_days(simulated: SimulatedProperty) -> tuple[np.ndarray, np.ndarray]:
    days = simulated.sightings["local"].dt.tz_localize(None).dt.normalize()
    buck = pd.Index(simulated.truth.bucks).get_indexer(simulated.sightings["buck"])
    return buck, np.asarray((days - simulated.truth.days[0]).dt.days)


def test_tables_have_the_columns_and_types_that_an_analysis_reads(
    properties: list[SimulatedProperty],
) -> None:
    p = properties[0]
    columns = "buck site camera setting bait local visit photos unsure others"
    assert " ".join(p.sightings.columns) == columns
    assert str(p.sightings["local"].dtype) == "datetime64[us, America/Chicago]"
    assert p.sightings["local"].is_monotonic_increasing
    assert not p.sightings.duplicated(["buck", "visit"]).any()
    assert list(p.effort.columns) == ["camera", "site", "day", "camera_day"]
    assert str(p.effort["day"].dtype) == "datetime64[us]"
    assert p.effort["camera_day"].between(0, 1).all()
    assert not p.effort.duplicated(["camera", "day"]).any(), "a camera at two sites on one day"
    assert set(p.sightings["site"]) <= set(p.sites["site"])
    assert p.sites[["x_m", "y_m"]].abs().max().max() <= p.side_m / 2


def test_same_seed_same_property() -> None:
    one, other = (simulate_property(np.random.default_rng(3), 1) for _ in range(2))
    pd.testing.assert_frame_equal(one.sightings, other.sightings)
    pd.testing.assert_frame_equal(one.effort, other.effort)


def test_nobody_is_seen_while_away_but_by_a_wrong_tag(
    properties: list[SimulatedProperty],
) -> None:
    n_wrong_while_away = 0
    for p in properties:
        buck, day = _buck_days(p)
        around = p.truth.around[buck, day]
        assert (around | p.truth.wrong_tag).all()
        n_wrong_while_away += int((~around).sum())
    assert n_wrong_while_away > 0, "the rule above was not put to the test"


def test_without_tag_errors_every_sighting_is_of_a_buck_that_is_around() -> None:
    flawless = TagErrors(missed=0.0, wrong=0.0, unsure=0.0)
    p = simulate_property(np.random.default_rng(1), 2, errors=flawless)
    buck, day = _buck_days(p)
    assert p.truth.around[buck, day].all()
    assert not p.truth.wrong_tag.any() and not p.sightings["unsure"].any()


def test_a_camera_that_is_down_sees_nothing(properties: list[SimulatedProperty]) -> None:
    n_down = 0
    for p in properties:
        _, day = _buck_days(p)
        site = pd.Index(p.truth.sites).get_indexer(p.sightings["site"])
        assert (p.truth.running[site, day] > 0).all()
        placed = pd.Index(p.truth.sites).get_indexer(p.effort["site"])
        day = np.asarray((p.effort["day"] - p.truth.days[0]).dt.days)
        down = p.truth.running[placed, day] == 0
        n_down += int(down.sum())
        # No day is believed lost that was not.
        assert (p.effort["camera_day"] >= p.truth.running[placed, day]).all()
        believed = p.effort["camera_day"].to_numpy()[down]
        assert (believed == 0).mean() > 0.7
    assert n_down > 500


@pytest.mark.parametrize("density", ["busy", "thin", "very thin"])
def test_residents_are_photographed_as_often_as_asked(density: str) -> None:
    shares = []
    for seed in range(N_PROPERTIES):
        p = simulate_property(np.random.default_rng(seed), 1, n_cameras=12, density=density)
        seen = np.zeros(p.truth.around.shape, dtype=bool)
        seen[_buck_days(p)] = True
        well_watched = p.truth.running.sum(axis=0) >= 0.5 * p.truth.running.sum(axis=0).max()
        residents = p.truth.seasons.query("resident")["buck"]
        for buck in pd.Index(p.truth.bucks).get_indexer(residents):
            days = p.truth.around[buck] & well_watched
            shares.append(seen[buck, days].mean())
    # One season of some 65 residents: their shares differ by an SD of about 0.18, so the mean is
    # good to 0.02; three times that is allowed.
    assert np.mean(shares) == pytest.approx(DENSITY[density], abs=0.07)
    assert np.std(shares) > 0.03, "residents should differ in how often they are seen"


def test_wrong_and_unsure_tags_at_the_stated_rates(properties: list[SimulatedProperty]) -> None:
    errors = TagErrors()
    wrong = np.concatenate([p.truth.wrong_tag for p in properties])
    unsure = np.concatenate([p.sightings["unsure"].to_numpy() for p in properties])
    n_sure = int((~unsure).sum())
    se = np.sqrt(errors.wrong / n_sure)
    # A visit's row gathers several passings and is wrong only where all are: a little below.
    assert wrong[~unsure].mean() == pytest.approx(errors.wrong, abs=4 * se + 0.002)
    assert unsure.mean() == pytest.approx(errors.unsure, abs=0.006)


def test_truth_by_season_agrees_with_truth_by_day(properties: list[SimulatedProperty]) -> None:
    for p in properties:
        season = p.calendar.season_of(p.truth.days)
        for row in p.truth.seasons.itertuples():
            buck = p.truth.bucks.index(row.buck)
            here = season == row.season
            assert row.days_around == p.truth.around[buck, here].sum()
            assert row.resident == (row.pattern in ("year-round", "fall"))
            alive = p.truth.stage[buck, here] != NOT_ALIVE
            assert pd.isna(row.alive_until) == alive[-1]
        located = np.isfinite(p.truth.range_centre_m).all(axis=-1)
        assert (located == p.truth.around).all()


def test_cut_keeps_the_past_and_only_the_past() -> None:
    whole = simulate_property(np.random.default_rng(5), 2, weather="simulated")
    last = date(2022, 10, 31)
    cut = whole.cut(last)
    assert cut.as_of == last
    assert cut.sightings["local"].max() < pd.Timestamp("2022-11-01", tz=whole.zone)
    assert cut.effort["day"].max() == pd.Timestamp(last)
    assert cut.weather is not None and cut.weather["time"].max() < pd.Timestamp("2022-11-01")
    n = len(cut.sightings)
    pd.testing.assert_frame_equal(cut.sightings, whole.sightings.head(n))
    assert whole.sightings["local"].iloc[n] >= pd.Timestamp("2022-11-01", tz=whole.zone)
    assert len(cut.truth.wrong_tag) == n
    asked = simulate_property(np.random.default_rng(5), 2, weather="simulated", as_of=last)
    pd.testing.assert_frame_equal(asked.sightings, cut.sightings)


def test_share_of_residents_lies_where_asked() -> None:
    resident = np.concatenate(
        [
            simulate_property(np.random.default_rng(seed), 1, n_cameras=4, density=0.1)
            .truth.seasons["resident"]
            .to_numpy()
            for seed in range(60)
        ]
    )
    # 720 bucks at 0.45 in the middle: SD 0.019 by bucks, 0.020 with the spread of properties.
    assert resident.mean() == pytest.approx(0.45, abs=0.06)


def test_a_weather_effect_without_weather_is_refused() -> None:
    with pytest.raises(ValueError, match="needs weather"):
        simulate_property(np.random.default_rng(0), 1, weather_effect="strong")
