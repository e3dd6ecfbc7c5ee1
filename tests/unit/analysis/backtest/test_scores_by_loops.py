"""Scores of a replay against sums written out, and where weeks begin to count."""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR, days, effort, visits
from scipy.stats import beta

from deerlog.analysis.backtest.backtest import Backtest, backtest
from deerlog.analysis.backtest.scores import chances_off
from deerlog.analysis.backtest.scores import forecast_gain
from deerlog.analysis.backtest.scores import RELIABILITY_EDGES, reliability, top_sits


def half_days(seed: int, n_weeks: int = 12) -> pd.DataFrame:
    """Chances of three sizes, of weeks that are good or bad as a whole."""
    rng = np.random.default_rng(seed)
    n = 60 * n_weeks
    week = np.repeat(np.arange(n_weeks), 60)
    chance = rng.choice([0.02, 0.049, 0.05, 0.1, 0.199, 0.2, 0.5, 1.0], n)
    good = rng.choice([0.2, 0.6, 1.5], n_weeks)[week]
    return pd.DataFrame(
        {
            "day": pd.Timestamp("2025-08-04")
            + pd.to_timedelta(7 * week + rng.integers(0, 7, n), "D"),
            "forecast": chance,
            "all_time": rng.uniform(0.02, 0.6, n),
            "seen": rng.random(n) < np.minimum(chance * good, 0.95),
        }
    )


def by_week(table: pd.DataFrame, value: pd.Series) -> np.ndarray:
    """Sums of Monday to Sunday."""
    sums: dict[int, float] = defaultdict(float)
    for day, each in zip(table["day"], value, strict=True):
        sums[(day - pd.Timestamp("2025-08-04")).days // 7] += each
    return np.array([sums[k] for k in sorted(sums)])


@pytest.mark.parametrize("seed", range(5))
def test_bands_that_are_off(seed: int) -> None:
    table = half_days(seed)
    wanted = []
    for low, high in ((0.0, 0.05), (0.05, 0.2), (0.2, 1.01)):
        band = table[(table["forecast"] >= low) & (table["forecast"] < high)]
        n, came = len(band), int(band["seen"].sum())
        share, said = came / n, band["forecast"].mean()
        residual = by_week(band, band["seen"] - share)
        k = len(residual)
        error = np.sqrt(k / (k - 1) * (residual**2).sum()) / n
        exact = beta(came + 0.5, n - came + 0.5).ppf([0.025, 0.975])
        bounds = min(exact[0], share - 1.96 * error), max(exact[1], share + 1.96 * error)
        news = not (low == 0.0 and share < said)  # too small to walk in for, and smaller still
        if not bounds[0] <= said <= bounds[1] and news:
            wanted.append((low, said, came, n, max(bounds[0], 0), min(bounds[1], 1)))
    got = [
        (b.said_low, b.said, b.came_true, b.half_days, b.low, b.high) for b in chances_off(table)
    ]
    np.testing.assert_allclose(np.reshape(got, (-1, 6)), np.reshape(wanted, (-1, 6)))
    assert all(band.share == band.came_true / band.half_days for band in chances_off(table))


def test_some_of_those_are_off_and_some_are_not() -> None:
    counts = [len(chances_off(half_days(seed))) for seed in range(5)]
    assert 0 < sum(counts) < 10


@pytest.mark.parametrize("weeks", [7, 8])
def test_of_eight_weeks_something_is_said(weeks: int) -> None:
    table = half_days(1, weeks).assign(forecast=0.12)
    off = table.assign(seen=np.arange(len(table)) % 2 == 0)
    assert bool(chances_off(off)) is (weeks == 8)
    gain = forecast_gain(off, "all_time")
    assert gain is not None and (gain.low is not None) is (weeks == 8)


def test_the_interval_of_a_share_near_all_ends_at_one() -> None:
    table = half_days(2).assign(forecast=0.5)
    (off,) = chances_off(table.assign(seen=np.arange(len(table)) > 2))
    assert off.high <= 1.0 and off.low > 0.9
    lumped = table.assign(seen=np.arange(len(table)) < 30)  # all in one week
    (off,) = chances_off(lumped)
    assert off.low == 0.0 < off.share


@pytest.mark.parametrize("seed", range(3))
def test_the_gain_over_a_rule_with_weeks_apart(seed: int) -> None:
    table = half_days(seed)
    table["forecast"] = table["forecast"].clip(upper=0.9)

    def loss(chance: pd.Series) -> pd.Series:
        return -np.log(chance.where(table["seen"], 1 - chance))

    ours, theirs = by_week(table, loss(table["forecast"])), by_week(table, loss(table["all_time"]))
    gain = (theirs - ours).sum() / theirs.sum()
    residual = theirs - ours - gain * theirs
    n = len(residual)
    error = np.sqrt(n / (n - 1) * (residual**2).sum()) / theirs.sum()
    got = forecast_gain(table, "all_time")
    assert got is not None
    assert (got.gain, got.low, got.high) == pytest.approx(
        (gain, gain - 1.96 * error, gain + 1.96 * error)
    )
    called_impossible = forecast_gain(table.assign(forecast=0.0), "all_time")
    assert called_impossible is not None and np.isnan(called_impossible.gain)


def test_each_bin_of_reliability_is_counted() -> None:
    rng = np.random.default_rng(6)
    edges = RELIABILITY_EDGES
    assert list(edges) == sorted(edges) and (edges[0], edges[-1]) == (0.0, 1.0)
    chance = np.concatenate([rng.random(400) ** 2, edges])
    seen = rng.random(len(chance)) < chance
    rows = []
    for low, high in pairwise(edges):
        here = (chance >= low) & ((chance < high) | ((high == 1) & (chance == 1)))
        n, came = here.sum(), (here & seen).sum()
        bounds = beta(came + 0.5, n - came + 0.5).ppf([0.025, 0.975])
        rows.append(
            (low, high, n, chance[here].mean(), came, came / n,
             bounds[0] if came else 0.0, bounds[1] if came < n else 1.0)
        )  # fmt: skip
    got = reliability(chance, seen)
    np.testing.assert_allclose(got.to_numpy(dtype=float), np.array(rows, dtype=float))


def test_the_best_sits_of_each_day() -> None:
    rng = np.random.default_rng(8)
    rows = []
    for day in range(6):
        for site in "abcd"[: 2 + day % 3]:
            for half in ("AM", "PM"):
                for buck in ("X", "Y"):
                    rows.append((pd.Timestamp(day, unit="D"), site, half, buck, rng.random() < 0.3,
                                 1.0 if rng.random() < 0.1 else rng.random()))  # fmt: skip
    table = pd.DataFrame(rows, columns=["day", "site", "half", "buck", "seen", "rule"])
    came = chosen = 0
    for _, of_day in table.groupby("day"):
        sits = []
        for _, sit in of_day.groupby(["site", "half"]):
            nobody = float(np.prod(1 - np.minimum(sit["rule"], 1 - 1e-9)))
            sits.append((nobody, bool(sit["seen"].any())))
        if len(sits) > 4:
            best = sorted(sits, key=lambda s: s[0])[:4]
            came, chosen = came + sum(seen for _, seen in best), chosen + 4
    assert top_sits(table, "rule", 4) == (came, chosen)


SITES = pd.DataFrame({"site": ["Alder"], "setting": ["food"], "x_m": [0.0], "y_m": [0.0]})


def replayed(**other: object) -> Backtest:
    chosen: dict[str, object] = {
        "first": pd.Timestamp("2023-06-01"), "last": pd.Timestamp("2023-07-23"), **other,
    }  # fmt: skip
    seen = visits(
        {"Ash": days("2023-06-05", "2023-07-20", 4), "Elm": days("2023-06-08", "2023-06-09")}
    )
    ran = chosen.pop("effort", effort("2023-06-05", "2023-07-23", sites=["Alder"]))
    return backtest(seen, ran, CALENDAR, SITES, **chosen)  # type: ignore[arg-type]


def test_nothing_is_scored_before_four_weeks_of_record_and_weeks_begin_as_asked() -> None:
    """The record begins on Monday 5 June; four weeks after is Monday 3 July."""
    told: list[tuple[int, int]] = []
    made: list[pd.DatetimeIndex] = []
    got = replayed(
        progress=lambda *done: told.append(done), each_week=lambda made_: made.append(made_.days)
    )
    assert got.half_days["day"].min() == pd.Timestamp("2023-07-03")
    assert got.half_days["day"].max() == pd.Timestamp("2023-07-23")
    assert got.weeks == got.weeks_scored == 3
    assert told == [(1, 3), (2, 3), (3, 3)]
    assert [len(days_) for days_ in made] == [7, 7, 7]
    assert set(got.half_days["buck"]) == {"Ash", "Elm"}
    by_wednesday = replayed(week_starts="Wed", bucks=["Elm"])
    assert by_wednesday.weeks == 4  # two days, two weeks, five days
    assert set(by_wednesday.half_days["buck"]) == {"Elm"}
    assert len(by_wednesday.half_days) == 21 * 2


def test_what_ran_a_hundredth_less_than_all_day_is_scored_and_a_week_looked_at_nine_tenths() -> (
    None
):
    everything = effort("2023-06-05", "2023-07-23", sites=["Alder"])
    for part, scored in ((0.99, True), (0.98, False)):
        some = everything.assign(camera_day=part)
        assert (len(replayed(effort=some).half_days) > 0) is scored
    for part, n_weeks in ((0.9001, 3), (0.8999, 0)):
        some = everything.assign(camera_day=part)
        got = replayed(effort=some, ran=everything)
        assert (got.weeks_scored, got.weeks_not_looked_at) == (n_weeks, 3 - n_weeks)
