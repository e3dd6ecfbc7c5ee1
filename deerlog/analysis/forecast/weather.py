"""Weather as what may move deer: departures from normal, half-day by half-day; and what it does to
the bucks seen in shooting light, kept only if it helps to predict."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from deerlog.analysis.arrays import Bools, Floats, Ints
from deerlog.analysis.forecast.chances import ExpectedVisits
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.sighting_grid import SightingGrid
from deerlog.analysis.visits import HALVES

DRIVERS = ("temperature", "wind", "pressure_change")
UNITS = {
    "temperature": "°C above normal",
    "wind": "m/s above mean",
    "pressure_change": "hPa in 24 h",
}
_COLUMNS = {"temperature": "temperature_c", "wind": "wind_ms", "pressure_change": "pressure_hpa"}

EDGE_HOURS = 1.0
"""Readings up to an hour before sunrise and after sunset count for the half-day (our choice)."""
LEAST_DAYS = 30
"""Days of weather below which no normal can be told, and so no departure (our choice)."""
NORMAL_SD = (30.0, 30.0, 15.0, 15.0, 4.0, 4.0)
RESIDUAL_SD = 5.0
"""°C: priors of the yearly course (mean, half, first and second harmonic) and the spread of days
about it. They matter only where the weather covers part of a year (our choice)."""


@dataclass(frozen=True, kw_only=True)
class WeatherDrivers:
    """Drivers on D days (naive midnights): ``value`` (D, 2, 3), each of `DRIVERS` in its own
    standard deviations from its normal, NaN where not measured; ``sd`` (3,), those standard
    deviations, in `UNITS`, NaN for a driver never measured."""

    days: pd.DatetimeIndex
    value: Floats
    sd: Floats


def weather_drivers(
    weather: pd.DataFrame, sun: pd.DataFrame, days: pd.DatetimeIndex, known_until: pd.Timestamp
) -> WeatherDrivers:
    """Drivers of some days without gaps, against normals of the days up to ``known_until``.

    ``weather`` is ``time`` (naive local), ``temperature_c``, ``wind_ms``, ``pressure_hpa``, hourly
    to daily, in any order, gaps allowed, a forecast of coming days in it. Temperature: departure
    from a yearly course (two harmonics) through the weather's own days, apart for each half. Wind:
    from its mean in that half. Pressure: change over 24 hours.
    """
    raw = _half_day_means(weather, sun, days)
    known = np.asarray(days <= known_until)
    angle = 2 * np.pi * np.asarray(days.day_of_year, dtype=float) / 365.25
    value = np.full((len(days), len(HALVES), len(DRIVERS)), np.nan)
    value[:, :, 0] = raw[:, :, 0] - _yearly_course(raw[:, :, 0], angle, known)
    value[:, :, 1] = raw[:, :, 1] - _mean(raw[known, :, 1], axis=0)
    value[1:, :, 2] = raw[1:, :, 2] - raw[:-1, :, 2]
    sd = np.full(len(DRIVERS), np.nan)
    for i in range(len(DRIVERS)):
        told = value[known, :, i]
        told = told[np.isfinite(told)]
        if len(told) >= 2 * LEAST_DAYS and told.std() > 0:
            sd[i] = told.std()
    return WeatherDrivers(days=days, value=value / sd, sd=sd)


def _half_day_means(weather: pd.DataFrame, sun: pd.DataFrame, days: pd.DatetimeIndex) -> Floats:
    """Mean of the readings in each half of the day's light, shape (D, 2, 3)."""
    table = weather.dropna(subset=["time"])
    table = table.assign(day=table["time"].dt.normalize())
    table = table[table["day"].isin(days)]
    raw = np.full((len(days), len(HALVES), len(DRIVERS)), np.nan)
    if table.empty:
        return raw
    row = days.get_indexer(pd.DatetimeIndex(table["day"]))
    if table.groupby("day").size().median() <= 1:
        # One reading a day stands for the whole day.
        halves = [np.ones(len(table), dtype=bool)] * len(HALVES)
    else:
        light = sun.reindex(days)
        naive = {c: light[c].dt.tz_localize(None).to_numpy()[row] for c in light.columns}
        edge = pd.Timedelta(hours=EDGE_HOURS).to_timedelta64()
        time = table["time"].to_numpy()
        morning = (time >= naive["sunrise"] - edge) & (time < naive["noon"])
        evening = (time >= naive["noon"]) & (time <= naive["sunset"] + edge)
        halves = [morning, evening]
    for h, inside in enumerate(halves):
        for i, driver in enumerate(DRIVERS):
            if _COLUMNS[driver] not in table:
                continue
            reading = table[_COLUMNS[driver]].to_numpy(dtype=float)
            good = inside & np.isfinite(reading)
            n = np.bincount(row[good], minlength=len(days))
            total = np.bincount(row[good], reading[good], minlength=len(days))
            raw[:, h, i] = np.where(n > 0, total / np.maximum(n, 1), np.nan)
    return raw


def _yearly_course(temperature: Floats, angle: Floats, known: Bools) -> Floats:
    """What is normal on each day and half, shape (D, 2); NaN where too little is known."""
    n = len(angle)
    design = np.stack(
        [
            np.ones((n, 2)),
            np.broadcast_to([-0.5, 0.5], (n, 2)),
            *(np.broadcast_to(f(k * angle)[:, None], (n, 2)) for k in (1, 2) for f in _WAVES),
        ],
        axis=-1,
    )
    told = known[:, None] & np.isfinite(temperature)
    if told.any(axis=1).sum() < LEAST_DAYS:
        return np.full((n, 2), np.nan)
    x, y = design[told], temperature[told]
    prior = np.diag((RESIDUAL_SD / np.array(NORMAL_SD)) ** 2)
    return np.asarray(design @ np.linalg.solve(x.T @ x + prior, x.T @ y))


_WAVES = (np.sin, np.cos)


def _mean(values: Floats, axis: int) -> Floats:
    n = np.isfinite(values).sum(axis=axis)
    return np.where(n > 0, np.nansum(values, axis=axis) / np.maximum(n, 1), np.nan)


EFFECT_COLUMNS = [
    "driver", "unit", "sd", "effect", "low", "high", "kept", "gain", "gain_error",
]  # fmt: skip
STRATUM_DAYS = 14
FOLDS = 6
LEAST_STRATA = 8
LEAST_VISITS = 60
"""Fortnights with visits, and visits in shooting light, below which nothing is tried (our
choice)."""

LONGEST_STEP = 0.5
"""Most that one step may move an effect."""
MOST_STEPS = 50
ENOUGH = 1e-6
"""Steps stop when no effect moves by more; the next would move it by the square of that."""


@dataclass(frozen=True, kw_only=True)
class WeatherEffects:
    """Effects over all bucks.

    ``table``: `EFFECT_COLUMNS`, one row a driver. ``effect``, ``low``, ``high`` (95 %): change in
    the log odds of a visit in shooting light for one standard deviation (``sd``, in ``unit``), all
    drivers together, shrunk towards none; NaN where nothing could be tried. ``kept``: it is used in
    the forecast. ``gain``: log probability won on held-out fortnights by adding it to what was kept
    before it, in nats, and its standard error. ``kept`` (3,): the effects used, in the order of
    `DRIVERS`; 0 for those not kept. It rests on ``half_days`` with weather, and half-day ``visits``
    to sites.
    """

    table: pd.DataFrame
    kept: Floats
    half_days: int
    visits: int

    def log_odds(self, drivers: WeatherDrivers) -> Floats:
        """Change in the log odds of a visit in shooting light, shape (D, 2).

        0 where the weather is not known; no change on average over days like those learned from.
        """
        each = drivers.value * self.kept - 0.5 * self.kept**2
        return np.asarray(np.nan_to_num(np.where(self.kept != 0, each, 0.0)).sum(axis=-1))


def weather_effects(
    came: Floats,
    without: ExpectedVisits,
    drivers: WeatherDrivers,
    judgement: ForecastJudgement | None = None,
) -> WeatherEffects:
    """Estimate the effects and decide which to keep, from `visits_by_half_day` and what was to be
    expected without weather.

    Within each fortnight, how were the visits spread over its half-days, against what was expected?
    Comparing only within a fortnight keeps the season, the rut, and a camera's good or bad months
    out of it (a time-stratified case-crossover; Janes, Sheppard and Lumley 2005, Epidemiology
    16:717, from memory).
    """
    judgement = judgement or ForecastJudgement()
    usable = np.isfinite(drivers.sd)
    # With no driver to go by no half-day's weather is known.
    known = usable.any() & np.isfinite(drivers.value[:, :, usable]).all(axis=-1)
    known &= without.expected > 0
    x = np.nan_to_num(drivers.value[known]) * without.response[known][:, None]
    k, base = came[known], np.log(without.expected[known])
    day = np.broadcast_to(np.arange(len(came))[:, None], came.shape)[known]
    stratum = _strata(day // STRATUM_DAYS, k)
    rows = stratum >= 0
    x, k, base, stratum = x[rows], k[rows], base[rows], stratum[rows]
    n_strata = int(stratum.max(initial=-1)) + 1
    effect, sd, gain, error = np.full((4, len(DRIVERS)), np.nan)
    kept = np.zeros(len(DRIVERS))
    if usable.any() and n_strata >= LEAST_STRATA and k.sum() >= LEAST_VISITS:
        data = _Strata(x=x, k=k, base=base, stratum=stratum, n=n_strata)
        tried, prior_sd = np.flatnonzero(usable).tolist(), judgement.weather_sd
        everything = np.ones(n_strata, dtype=bool)
        effect[tried], sd[tried] = _fit(data, tried, everything, prior_sd)
        chosen = _chosen(data, tried, judgement, gain, error)
        if chosen:
            kept[chosen] = _fit(data, chosen, everything, prior_sd)[0]
    table = {
        "driver": DRIVERS, "unit": [UNITS[d] for d in DRIVERS], "sd": drivers.sd, "effect": effect,
        "low": effect - 1.96 * sd, "high": effect + 1.96 * sd, "kept": kept != 0,
        "gain": gain, "gain_error": error,
    }  # fmt: skip
    return WeatherEffects(
        table=pd.DataFrame(table)[EFFECT_COLUMNS], kept=kept, half_days=len(k), visits=int(k.sum())
    )


def _chosen(
    data: _Strata, tried: list[int], judgement: ForecastJudgement, gain: Floats, error: Floats
) -> list[int]:
    """Drivers worth keeping, each added to those before it; ``gain`` and its error are filled."""
    chosen: list[int] = []
    held_out: Floats = np.zeros(data.n)
    while len(chosen) < len(tried):
        best: tuple[float, int, Floats] | None = None
        for i in (i for i in tried if i not in chosen):
            now = _held_out(data, [*chosen, i], judgement.weather_sd)
            won = now - held_out
            gain[i], error[i] = won.sum(), won.std(ddof=1) * np.sqrt(data.n)
            clear = float(gain[i] / max(error[i], 1e-12))
            if clear >= judgement.weather_clear and (best is None or clear > best[0]):
                best = clear, i, now
        if best is None:
            break
        _, i, held_out = best
        chosen.append(i)
    return chosen


def visits_by_half_day(grid: SightingGrid) -> Floats:
    """Bucks and sites with a visit in shooting light, counted together, shape (T, 2).

    On days that the camera is known to have run: what ran unknown was not expected to see anything.
    """
    ran = grid.running[:, None, :, None] > 0
    return np.asarray((grid.seen_in_light & ran).sum(axis=(1, 2)), dtype=float)


@dataclass(frozen=True, kw_only=True)
class _Strata:
    """Half-days in order of stratum: drivers (n, 3), counts (n,), log of what was expected (n,),
    stratum (n,), and the number of strata."""

    x: Floats
    k: Floats
    base: Floats
    stratum: Ints
    n: int


def _strata(block: Ints, came: Floats) -> Ints:
    """Strata numbered from 0 in order of time; -1 in a fortnight without a visit."""
    total = np.bincount(block, came, minlength=int(block.max(initial=-1)) + 1)
    number = np.cumsum(total > 0) - 1
    return np.where(total > 0, number, -1)[block]


def _log_share(data: _Strata, effect: Floats) -> Floats:
    """Log of the share of its fortnight's visits expected in each half-day, shape (n,)."""
    score = data.base + data.x @ effect
    total = np.logaddexp.reduceat(score, np.searchsorted(data.stratum, np.arange(data.n)))
    return np.asarray(score - total[data.stratum])


def _dispersion(data: _Strata) -> float:
    """By how much visits are more clumped than chance would have them; 1 if not at all."""
    total = np.bincount(data.stratum, data.k, minlength=data.n)
    mean = total[data.stratum] * np.exp(_log_share(data, np.zeros(len(DRIVERS))))
    spare = max(len(data.k) - data.n, 1) / len(data.k)
    return max(1.0, float(((data.k - mean) ** 2).sum() / mean.sum() / spare))


def _fit(
    data: _Strata, drivers: list[int], strata: Bools, prior_sd: float
) -> tuple[Floats, Floats]:
    """Effects of some drivers from some fortnights, and their posterior spread (Newton)."""
    phi = _dispersion(data)
    inside = strata[data.stratum]
    total = np.bincount(data.stratum, data.k, minlength=data.n)
    effect = np.zeros(len(drivers))
    x = data.x[:, drivers]
    prior = np.eye(len(drivers)) / prior_sd**2
    k = np.where(inside, data.k, 0.0)

    def height(effect: Floats) -> float:
        """Log of the posterior, but for a constant."""
        whole = np.zeros(len(DRIVERS))
        whole[drivers] = effect
        return float(k @ _log_share(data, whole) / phi - 0.5 * effect @ prior @ effect)

    here = height(effect)
    for _ in range(MOST_STEPS):
        whole = np.zeros(len(DRIVERS))
        whole[drivers] = effect
        share = np.exp(_log_share(data, whole))
        mean_x = np.stack(
            [np.bincount(data.stratum, share * column, minlength=data.n) for column in x.T], axis=1
        )
        apart = x - mean_x[data.stratum]
        weight = np.where(inside, total[data.stratum] * share, 0.0) / phi
        gradient = apart.T @ k / phi - prior @ effect
        curvature = (apart * weight[:, None]).T @ apart + prior
        step = np.linalg.solve(curvature, gradient)
        longest = float(np.abs(step).max())
        scale = min(1.0, LONGEST_STEP / max(longest, 1e-12))
        # Halved until it leads up: the function has one top, and a step's way is upwards.
        while (there := height(effect + scale * step)) < here - 1e-9 * (1 + abs(here)):
            scale /= 2
        effect, here = effect + scale * step, there
        if longest < ENOUGH:
            break
    else:
        raise ArithmeticError(f"weather's effects did not come to rest in {MOST_STEPS} steps")
    return effect, np.sqrt(np.diag(np.linalg.inv(curvature)))


def _held_out(data: _Strata, drivers: list[int], prior_sd: float) -> Floats:
    """Log probability won on each fortnight by effects learned from the others, shape (strata,)."""
    phi = _dispersion(data)
    fold = np.arange(data.n) % FOLDS
    none = _log_share(data, np.zeros(len(DRIVERS)))
    won = np.zeros(data.n)
    for f in range(FOLDS):
        whole = np.zeros(len(DRIVERS))
        whole[drivers] = _fit(data, drivers, fold != f, prior_sd)[0]
        each = data.k * (_log_share(data, whole) - none) / phi
        won += np.where(fold == f, np.bincount(data.stratum, each, minlength=data.n), 0.0)
    return won
