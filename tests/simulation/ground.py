"""A simulated property: range centres moving over ground, cameras as detectors.

The shape of the numbers, in order: who lives how (`life`), where (`ranges`), past which cameras
(`cameras`, `passings`), at what hour (`hours`) and in what weather (`weather`).
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import numpy.typing as npt
import pandas as pd

from deerlog.timekeeping.seasons import SeasonCalendar

from .cameras import SETTINGS, Cameras, draw_cameras
from .chances import true_chances
from .hours import draw_shares, light_of_days
from .life import (
    FALL_RANGE,
    PATTERNS,
    RESIDENT_PATTERNS,
    RUT_RANGE,
    SUMMER_RANGE,
    Life,
    draw_life,
    draw_mix,
)
from .passings import ACTIVITY_BY_PHASE, TagErrors, draw_passings, rate_for_share_of_days, reach
from .place import LATITUDE, LONGITUDE, ZONE
from .ranges import Ranges, draw_ranges
from .simulated_property import SimulatedProperty, Truth
from .tables import effort_table, names_of, seasons_table, sightings_table, sites_table
from .weather import EFFECTS, draw_weather, weather_drivers, weather_factor

DENSITY = {"busy": 0.85, "thin": 0.42, "very thin": 0.18}
"""Share of the days he is around on which a resident of the property is photographed, on average:
nearly daily, every second or third day, less than once in five days."""


def simulate_property(
    rng: np.random.Generator,
    n_seasons: int = 3,
    n_cameras: int | None = None,
    n_bucks: int = 12,
    *,
    density: str | float = "busy",
    as_of: date | None = None,
    first_season: int = 2021,
    resident_share: tuple[float, float] = (0.35, 0.55),
    persistence: float | None = None,
    p_newcomer: float = 0.3,
    p_death: float = 0.08,
    clumping: float = 0.8,
    errors: TagErrors | None = None,
    weather: str | pd.DataFrame | None = None,
    weather_effect: str | dict[str, float] = "none",
    chances: bool = False,
    calendar: SeasonCalendar | None = None,
) -> SimulatedProperty:
    """Simulate one property from the ground up.

    Parameters
    ----------
    n_cameras
        None draws 4 to 20.
    density
        A key of `DENSITY`, or the share of days itself.
    as_of
        Last day in the tables; None is the end of the last season.
    resident_share
        Bounds of the property's share of bucks that live here through the hunting season.
    persistence
        Probability that a pattern carries over; else it is drawn afresh, and may be the same again.
        None draws 0.80 to 0.86, so that 0.85 to 0.90 keep it in all.
    clumping
        Shape of the gamma noise on the rate of a buck, site and day; small is clumped.
    weather
        None for none, ``"simulated"``, or a table as `weather.draw_weather` gives.
    weather_effect
        A key of `weather.EFFECTS`, or effects in the log rate per SD by driver.
    chances
        Also work out `Truth.chance_on_range` and `Truth.chance_on_day`; takes twice as long.
    """
    calendar = calendar or SeasonCalendar()
    seasons = tuple(range(first_season, first_season + n_seasons))
    bounds = [calendar.bounds(s) for s in seasons]
    lengths = [(after - first).days for first, after in bounds]
    days = pd.date_range(bounds[0][0], bounds[-1][1] - timedelta(days=1), freq="D", unit="us")

    side_m = rng.uniform(1000, 2000)
    if n_cameras is None:
        n_cameras = int(rng.integers(4, 21))
    life = draw_life(
        rng,
        n_bucks=n_bucks,
        season_lengths=lengths,
        rut_peak_days=[(calendar.rut_peak_day(s) - calendar.bounds(s)[0]).days for s in seasons],
        mix=draw_mix(rng, resident_share),
        persistence=rng.uniform(0.80, 0.86) if persistence is None else persistence,
        p_newcomer=p_newcomer,
        p_death=p_death,
    )
    in_rut = np.asarray(calendar.phase_of(days) == "rut")
    ranges = draw_ranges(rng, life, season_lengths=lengths, side_m=side_m, in_rut=in_rut)
    cameras = draw_cameras(rng, n_cameras=n_cameras, season_lengths=lengths, side_m=side_m)
    simulated = watch(
        rng,
        life,
        ranges,
        cameras,
        seasons=seasons,
        calendar=calendar,
        side_m=side_m,
        density=density,
        clumping=clumping,
        errors=errors or TagErrors(),
        weather=weather,
        weather_effect=weather_effect,
        chance_days=days if chances else None,
    )
    return simulated if as_of is None else simulated.cut(as_of)


def watch(
    rng: np.random.Generator,
    life: Life,
    ranges: Ranges,
    cameras: Cameras,
    *,
    seasons: tuple[int, ...],
    calendar: SeasonCalendar,
    side_m: float,
    density: str | float,
    clumping: float,
    errors: TagErrors,
    weather: str | pd.DataFrame | None = None,
    weather_effect: str | dict[str, float] = "none",
    drift: npt.NDArray[np.float64] | None = None,
    chance_days: pd.DatetimeIndex | None = None,
) -> SimulatedProperty:
    """What cameras on some ground would have caught of bucks whose lives and ranges are given.

    Parameters
    ----------
    density, clumping, weather, weather_effect
        As for `simulate_property`.
    drift
        Factor on each buck's rate by day, shape (bucks, days); None for none.
    chance_days
        Days whose true chances are worked out; those of other days are left at 0. None for none.
    """
    bounds = [calendar.bounds(s) for s in seasons]
    lengths = [(after - first).days for first, after in bounds]
    first, last = bounds[0][0], bounds[-1][1] - timedelta(days=1)
    days = pd.date_range(first, last, freq="D", unit="us")
    phase = calendar.phase_of(days)
    light = light_of_days(LATITUDE, LONGITUDE, ZONE, first, last)
    n_bucks, n_seasons = life.pattern.shape
    around = np.isin(life.stage, (SUMMER_RANGE, FALL_RANGE, RUT_RANGE))
    buck, day = np.nonzero(around)
    factor, weather_table = _weather(rng, weather, weather_effect, days)
    parts = draw_shares(
        rng,
        n_bucks=n_bucks,
        setting=np.array(SETTINGS)[cameras.setting],
        bait=cameras.bait,
        phase=phase,
        buck=buck,
        day=day,
    )
    parts[:, :, :2] *= factor[day]
    # Relative rate of each buck past each site, before where he is and how much ran.
    liking = rng.lognormal(0, 0.3, n_bucks)[None, :] * rng.lognormal(
        0, 0.4, (len(cameras.setting), n_bucks)
    )
    activity = np.array([ACTIVITY_BY_PHASE[p] for p in phase])
    scale = cameras.quality[:, None] * liking[:, buck] * activity[day]
    if drift is not None:
        scale *= drift[buck, day]
    near = reach(ranges.day_centre_m[buck, day], cameras.position_m, ranges.spread_m[buck, day])
    shape = scale * near
    resident = np.isin(np.array(PATTERNS)[life.pattern], RESIDENT_PATTERNS)
    season_of_day = np.repeat(np.arange(n_seasons), lengths)
    tune = resident[buck, season_of_day[day]]
    tune = tune if tune.any() else np.ones(len(buck), dtype=bool)
    # Tuned on well watched days: a property not yet watched says nothing.
    n_running = cameras.running.sum(axis=0)
    tune &= (n_running >= 0.5 * n_running.max())[day]
    per_day = rate_for_share_of_days(
        (shape * cameras.running[:, day] * (1 - errors.missed))[:, tune][:, ::5],
        clumping,
        DENSITY[density] if isinstance(density, str) else density,
    )
    rate = (per_day * shape)[:, :, None] * parts
    passings = draw_passings(
        rng,
        rate=rate * cameras.running[:, day, None],
        buck=buck,
        day=day,
        clumping=clumping,
        errors=errors,
        n_bucks=n_bucks,
        phase=phase,
        light=light,
    )
    names = names_of(n_bucks, cameras)
    sightings, wrong = sightings_table(rng, passings, cameras, names)
    on_range, on_day = None, None
    if chance_days is not None:
        asked = np.flatnonzero(days[day].isin(chance_days))
        on_range, on_day = true_chances(
            scale=per_day * scale[:, asked],
            near=near[:, asked],
            parts=parts[:, asked],
            buck=buck[asked],
            day=day[asked],
            ranges=ranges,
            cameras=cameras,
            errors=errors,
            clumping=clumping,
        )
    truth = Truth(
        bucks=names.bucks,
        sites=names.sites,
        days=days,
        seasons=seasons_table(life, around, names.bucks, days, seasons, lengths),
        around=around,
        stage=life.stage,
        range_centre_m=ranges.centre_m,
        day_centre_m=ranges.day_centre_m,
        running=cameras.running,
        wrong_tag=wrong,
        chance_on_range=on_range,
        chance_on_day=on_day,
    )
    return SimulatedProperty(
        sightings=sightings,
        effort=effort_table(cameras, names, days),
        sites=sites_table(cameras, names),
        weather=weather_table,
        calendar=calendar,
        latitude=LATITUDE,
        longitude=LONGITUDE,
        zone=ZONE,
        side_m=side_m,
        seasons=seasons,
        as_of=last,
        truth=truth,
    )


def _weather(
    rng: np.random.Generator,
    weather: str | pd.DataFrame | None,
    effect: str | dict[str, float],
    days: pd.DatetimeIndex,
) -> tuple[npt.NDArray[np.float64], pd.DataFrame | None]:
    """Factor on passings in shooting light, shape (days, 2), and the weather behind it."""
    effects = EFFECTS[effect] if isinstance(effect, str) else effect
    if weather is None:
        if effects:
            raise ValueError("a weather effect needs weather: give weather='simulated' or a table")
        return np.ones((len(days), 2)), None
    table = draw_weather(rng, days) if isinstance(weather, str) else weather
    if not effects:
        return np.ones((len(days), 2)), table
    return weather_factor(weather_drivers(table, days), effects), table
