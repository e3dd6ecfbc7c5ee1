"""Whole seasons of sunrises and sunsets, and heights of the sun, against skyfield.

Source: the PyPI package skyfield (Brandon Rhodes) with the JPL ephemeris DE421 out of the package
skyfield-data; computed here. Its own horizon for the sun is the US Naval Observatory's: centre
50 minutes of arc below the level.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator
from datetime import UTC, date
from typing import Any, NamedTuple

import astral
import astral.sun
import numpy as np
import pandas as pd
import pytest
from skyfield import almanac
from skyfield.api import Loader, wgs84

from deerlog.timekeeping.sun import sun_height, sun_times


class Place(NamedTuple):
    latitude: float
    longitude: float
    zone: str


PLACES = [
    Place(26.5, -98.2, "America/Chicago"),
    Place(33.4, -81.3, "America/New_York"),
    Place(40.2, -90.7, "America/Chicago"),
    Place(44.9, -69.1, "America/New_York"),
    Place(47.6, -111.8, "America/Denver"),
    Place(34.1, -110.3, "America/Phoenix"),
]
# The clocks changed on 3 November 2024 and 9 March 2025, Arizona's excepted.
FIRST, LAST = date(2024, 6, 1), date(2025, 5, 31)


class Sky(NamedTuple):
    scale: Any
    bodies: Any


@pytest.fixture(scope="module")
def sky() -> Iterator[Sky]:
    with warnings.catch_warnings():
        # It warns that its Earth-rotation table is old: a matter of milliseconds here.
        warnings.filterwarnings("ignore", message=".*has expired.*")
        from skyfield_data import get_skyfield_data_path

        load = Loader(get_skyfield_data_path(), verbose=False)
    bodies = load("de421.bsp")
    yield Sky(load.timescale(builtin=True), bodies)
    bodies.close()


def almanac_events(sky: Sky, place: Place, horizon: float) -> dict[str, pd.Series]:
    """Sunrise and sunset of each local day, by day."""
    observer = sky.bodies["earth"] + wgs84.latlon(place.latitude, place.longitude)
    begin = pd.Timestamp(FIRST).tz_localize(place.zone)
    end = pd.Timestamp(LAST).tz_localize(place.zone) + pd.Timedelta(days=1)
    t0, t1 = (sky.scale.from_datetime(t.to_pydatetime()) for t in (begin, end))
    events = {}
    for name, find in (("sunrise", almanac.find_risings), ("sunset", almanac.find_settings)):
        times, happens = find(observer, sky.bodies["sun"], t0, t1, horizon_degrees=horizon)
        assert happens.all()
        at = pd.DatetimeIndex(times.utc_datetime()).tz_convert(place.zone)
        events[name] = pd.Series(at, index=at.tz_localize(None).normalize())
    return events


def check_season(sky: Sky, place: Place, horizon: float = -50 / 60) -> None:
    ours = sun_times(place.latitude, place.longitude, place.zone, FIRST, LAST)
    for name, theirs in almanac_events(sky, place, horizon).items():
        assert list(theirs.index) == list(ours.index), "one of each on every local day"
        apart = (ours[name] - theirs).dt.total_seconds().abs()
        # A minute: shooting light is told in whole minutes.
        assert apart.max() <= 60.0, (place, name, apart.idxmax())


@pytest.mark.parametrize("place", PLACES, ids=lambda p: f"{p.latitude}N {p.zone}")
def test_a_whole_season_within_a_minute(sky: Sky, place: Place) -> None:
    check_season(sky, place)


def test_a_season_of_the_bare_horizon_fails(sky: Sky, must_fail: Callable[..., None]) -> None:
    """Without refraction and the disk's half width sunrise is some minutes later."""
    must_fail(check_season, sky, PLACES[2], horizon=0.0)


@pytest.mark.parametrize("place", PLACES[:5], ids=lambda p: f"{p.latitude}N {p.zone}")
def test_the_wall_clock_jumps_an_hour_at_both_changes(place: Place) -> None:
    sun = sun_times(place.latitude, place.longitude, place.zone, FIRST, LAST)
    clock = sun["sunset"].dt.tz_localize(None) - sun.index.to_series()
    steps = clock.diff().dt.total_seconds() / 60
    # Sunset moves by under three minutes a day; a change of clocks by sixty.
    assert steps.loc["2024-11-03"] == pytest.approx(-60, abs=3)
    assert steps.loc["2025-03-09"] == pytest.approx(60, abs=3)
    others = steps.drop(pd.DatetimeIndex(["2024-11-03", "2025-03-09"])).dropna()
    assert others.abs().max() < 3


# ---- height ------------------------------------------------------------------------------------


def drawn_instants(n: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rng = np.random.default_rng(5)
    seconds = rng.integers(0, 30 * 365 * 86_400, n)
    instants = np.datetime64("2005-01-01", "us") + seconds.astype("timedelta64[s]")
    return rng.uniform(-55, 70, n), rng.uniform(-180, 180, n), instants


def heights(n: int, late_minutes: float = 0.0) -> np.ndarray:
    late = np.timedelta64(round(late_minutes * 60e6), "us")
    return np.array(
        [
            sun_height(a, o, np.array([t + late]))[0]
            for a, o, t in zip(*drawn_instants(n), strict=True)
        ]
    )


def check_height_astral(late_minutes: float = 0.0) -> None:
    """Source: the PyPI package astral, elevation without refraction; computed here."""
    n = 500
    theirs = [
        astral.sun.elevation(
            astral.Observer(latitude, longitude),
            pd.Timestamp(t).to_pydatetime().replace(tzinfo=UTC),
            with_refraction=False,
        )
        for latitude, longitude, t in zip(*drawn_instants(n), strict=True)
    ]
    # Both are low-precision formulas, good to about a hundredth of a degree each; the sun moves
    # 0.02 degrees in five seconds.
    assert np.abs(heights(n, late_minutes) - theirs).max() <= 0.03


def check_height_skyfield(sky: Sky, late_minutes: float = 0.0) -> None:
    n = 60
    theirs = []
    for latitude, longitude, t in zip(*drawn_instants(n), strict=True):
        at = sky.scale.from_datetime(pd.Timestamp(t).to_pydatetime().replace(tzinfo=UTC))
        observer = sky.bodies["earth"] + wgs84.latlon(latitude, longitude)
        theirs.append(observer.at(at).observe(sky.bodies["sun"]).apparent().altaz()[0].degrees)
    # What the docstring promises.
    assert np.abs(heights(n, late_minutes) - theirs).max() <= 0.02


def test_height_against_astral() -> None:
    check_height_astral()


def test_height_against_skyfield(sky: Sky) -> None:
    check_height_skyfield(sky)


def test_height_a_minute_late_fails(sky: Sky, must_fail: Callable[..., None]) -> None:
    must_fail(check_height_astral, late_minutes=1.0)
    must_fail(check_height_skyfield, sky, late_minutes=1.0)


def test_height_reads_aware_and_naive_instants_alike() -> None:
    aware = pd.DatetimeIndex(["2024-11-05 17:00"]).tz_localize("America/Chicago")
    naive = np.asarray(aware.tz_convert("UTC").tz_localize(None))
    assert sun_height(40.0, -90.0, aware) == sun_height(40.0, -90.0, naive)
