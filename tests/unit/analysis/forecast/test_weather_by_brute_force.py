"""Weather's effects against the same likelihood summed half-day by half-day, and an optimiser."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pandas as pd
import pytest
from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.weather import WeatherDrivers
from deerlog.analysis.forecast.weather import WeatherEffects, weather_effects
from scipy.optimize import minimize

from deerlog.analysis.forecast.chances import ExpectedVisits

FORTNIGHTS = 11
DAYS = pd.date_range("2024-06-01", periods=14 * FORTNIGHTS, unit="us")
PRIOR_SD = 0.3


class Record:
    """Visits that lean on the first driver, and how likely each way of spreading them was."""

    def __init__(self, *, clumped: bool, seed: int = 2) -> None:
        rng = np.random.default_rng(seed)
        shape = (len(DAYS), 2)
        self.value = rng.normal(0, 1, (*shape, 3))
        self.expected = rng.uniform(0.5, 3.0, shape)
        self.response = rng.uniform(0.6, 1.0, shape)
        rate = self.expected * np.exp(-0.7 * self.value[:, :, 0] * self.response)
        self.came = rng.poisson(rate * (rng.gamma(1.0, 1.0, shape) if clumped else 1.0))
        if not clumped:  # as even as whole visits can be
            self.came = np.round(8 * self.expected) + (np.arange(2 * len(DAYS)) % 2).reshape(shape)
        self.came[28:42] = 0  # a fortnight without a visit tells nothing
        self.value[5, 1, 2] = np.nan  # nor does a half-day whose weather is not known
        self.expected[70, 0] = 0.0  # or on which nothing could come
        self.came[70, 0] = 0
        known = np.isfinite(self.value).all(axis=-1) & (self.expected > 0)
        # The half-days of each fortnight: what came, log of what was expected, weather.
        self.fortnights = []
        for first in range(0, len(DAYS), 14):
            here = [(d, h) for d in range(first, first + 14) for h in (0, 1) if known[d, h]]
            k = np.array([float(self.came[at]) for at in here])
            base = np.array([np.log(self.expected[at]) for at in here])
            x = np.array([self.response[at] * self.value[at] for at in here])
            if k.sum() > 0:
                self.fortnights.append((k, base, x))

    def found(self) -> WeatherEffects:
        without = ExpectedVisits(expected=self.expected, response=self.response)
        weather = WeatherDrivers(days=DAYS, value=self.value, sd=np.array([5.0, 2.0, 4.0]))
        judgement = ForecastJudgement(weather_sd=PRIOR_SD)
        return weather_effects(self.came.astype(float), without, weather, judgement)

    def log_likelihood(self, number: int, effect: np.ndarray) -> float:
        """Of how one fortnight's visits were spread (multinomial), for chance alone."""
        k, base, x = self.fortnights[number]
        weight = np.exp(base + x @ effect)
        return float(k @ np.log(weight / weight.sum()))

    @property
    def dispersion(self) -> float:
        """Variance over mean without weather, by half-days that are free to differ; 1 or more."""
        apart = mean = free = 0.0
        for k, base, _ in self.fortnights:
            even = k.sum() * np.exp(base) / np.exp(base).sum()
            apart += ((k - even) ** 2).sum()
            mean += even.sum()
            free += len(k) - 1
        n = sum(len(k) for k, _, _ in self.fortnights)
        return max(1.0, apart / mean * n / free)

    def fitted(self, drivers: list[int], numbers: list[int]) -> tuple[np.ndarray, np.ndarray]:
        """Best effects of some drivers from some fortnights, and their spread."""
        phi = self.dispersion

        def minus_log_posterior(some: np.ndarray) -> float:
            effect = np.zeros(3)
            effect[drivers] = some
            told = sum(self.log_likelihood(number, effect) for number in numbers) / phi
            return 0.5 * (some**2).sum() / PRIOR_SD**2 - told

        best = minimize(minus_log_posterior, np.zeros(len(drivers)), tol=1e-9)
        step, n = 1e-3, len(drivers)
        curvature = np.empty((n, n))
        for i, a in enumerate(np.eye(n) * step):
            for j, b in enumerate(np.eye(n) * step):
                corners = [(1, 1, 1), (-1, 1, -1), (1, -1, -1), (-1, -1, 1)]
                curvature[i, j] = sum(
                    sign * minus_log_posterior(best.x + s * a + t * b) for s, t, sign in corners
                ) / (4 * step**2)
        effect = np.zeros(3)
        effect[drivers] = best.x
        return effect, np.sqrt(np.diag(np.linalg.inv(curvature)))

    def won(self, drivers: list[int]) -> np.ndarray:
        """What effects learned without every sixth fortnight win on it over none."""
        numbers = range(len(self.fortnights))
        won = np.zeros(len(numbers))
        for fold in range(6):
            learned = self.fitted(drivers, [n for n in numbers if n % 6 != fold])[0]
            for n in (n for n in numbers if n % 6 == fold):
                gain = self.log_likelihood(n, learned) - self.log_likelihood(n, np.zeros(3))
                won[n] = gain / self.dispersion
        return won


@cache
def record(clumped: bool) -> Record:
    return Record(clumped=clumped)


@pytest.mark.parametrize("clumped", [True, False])
def test_effects_and_intervals(clumped: bool) -> None:
    here = record(clumped)
    assert (here.dispersion > 1.3) if clumped else (here.dispersion == 1.0)
    got = here.found()
    effect, sd = here.fitted([0, 1, 2], list(range(len(here.fortnights))))
    np.testing.assert_allclose(got.table["effect"], effect, atol=1e-5)
    np.testing.assert_allclose(got.table["low"], effect - 1.959964 * sd, atol=1e-4)
    np.testing.assert_allclose(got.table["high"], effect + 1.959964 * sd, atol=1e-4)
    assert got.visits == sum(k.sum() for k, _, _ in here.fortnights)
    assert got.half_days == sum(len(k) for k, _, _ in here.fortnights)


def test_gains_on_what_was_held_out() -> None:
    here = record(True)
    got = here.found()
    assert got.table["kept"].tolist() == [True, False, False]
    first = here.won([0])
    beside = [here.won([0, 1]) - first, here.won([0, 2]) - first]
    n = len(first)
    for row, won in enumerate([first, *beside]):
        mean = won.sum() / n
        error = np.sqrt(n * ((won - mean) ** 2).sum() / (n - 1))
        assert got.table["gain"].iloc[row] == pytest.approx(won.sum(), abs=1e-5)
        assert got.table["gain_error"].iloc[row] == pytest.approx(error, abs=1e-5)
    # What is used is learned anew from all fortnights, without those not kept.
    assert got.kept == pytest.approx(here.fitted([0], list(range(n)))[0], abs=1e-5)


def test_sixty_visits_in_eight_fortnights_are_just_enough() -> None:
    def tried(n_fortnights: int, n_visits: int) -> WeatherEffects:
        came = np.zeros((len(DAYS), 2))
        came[: 14 * n_fortnights : 14, 0] = 1.0
        came[1, 1] = n_visits - came.sum()
        even = np.ones(came.shape)
        weather = WeatherDrivers(days=DAYS, value=record(False).value, sd=np.ones(3))
        return weather_effects(came, ExpectedVisits(expected=even, response=even), weather)

    assert np.isfinite(tried(8, 60).table["effect"]).all()
    for too_few in (tried(8, 59), tried(7, 60)):
        assert too_few.table["effect"].isna().all() and not too_few.kept.any()
        assert not too_few.table["kept"].any()


def test_an_effect_is_kept_from_two_standard_errors_on() -> None:
    here = record(True)
    ratio = here.found().table.eval("gain / gain_error").iloc[0]
    without = ExpectedVisits(expected=here.expected, response=here.response)
    weather = WeatherDrivers(days=DAYS, value=here.value, sd=np.ones(3))
    for clear, kept in ((ratio * (1 - 1e-6), True), (ratio * (1 + 1e-6), False)):
        judgement = replace(ForecastJudgement(weather_sd=PRIOR_SD), weather_clear=float(clear))
        got = weather_effects(here.came.astype(float), without, weather, judgement)
        assert bool(got.table["kept"].iloc[0]) is kept
