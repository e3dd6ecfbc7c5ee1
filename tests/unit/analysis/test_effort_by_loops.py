"""What ran, what was looked at and intervals, counted or integrated in another way."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import watched_share
from scipy.stats import beta, poisson

from deerlog.analysis.effort_grid import camera_worth, site_weights, watched_effort
from deerlog.analysis.intervals import jeffreys, poisson_exact

ZONE = "America/Chicago"


@pytest.mark.parametrize("level", [0.95, 0.8])
def test_jeffreys_is_the_middle_of_a_beta_posterior(level: float) -> None:
    tail = (1 - level) / 2
    for n in (1, 5, 40):
        for k in range(n + 1):
            low, high = jeffreys(k, n, level)
            posterior = beta(k + 0.5, n - k + 0.5)
            assert low == pytest.approx(posterior.ppf(tail) if k else 0.0)
            assert high == pytest.approx(posterior.ppf(1 - tail) if k < n else 1.0)


@pytest.mark.parametrize("level", [0.95, 0.8])
def test_poisson_bounds_leave_half_of_the_rest_on_either_side(level: float) -> None:
    tail = (1 - level) / 2
    for k in (0, 1, 2, 30):
        low, high = poisson_exact(k, level)
        assert poisson.cdf(k, float(high)) == pytest.approx(tail)
        assert low == 0 if k == 0 else poisson.sf(k - 1, float(low)) == pytest.approx(tail)


@pytest.mark.parametrize("seed", range(4))
def test_his_share_is_one_on_the_mean_of_usual_days(seed: int) -> None:
    rng = np.random.default_rng(seed)
    running = rng.choice([0.0, 0.02, 0.5, 1.0], (60, 4))
    running[:5] = 0.0
    weights = site_weights(rng.integers(0, 9, (3, 4)).astype(float), running.sum(axis=0), 40.0)
    share = watched_share(running, weights)
    worth = camera_worth(running, weights)
    for b in range(3):
        covered = np.array(
            [sum(running[t, s] * weights[b, s] for s in range(4)) for t in range(60)]
        )
        usual = covered[covered >= covered.max() / 10]
        assert 0 < len(usual) < 60
        np.testing.assert_allclose(share[:, b], covered / usual.mean())
        for s in range(4):
            more = running[7].copy()
            more[s] += 1
            added = (more - running[7]) @ weights[b] / usual.mean()
            assert worth[b, s] == pytest.approx(added)


def test_a_tenth_of_the_best_day_is_usual_still() -> None:
    weights = np.ones((1, 1))
    share = watched_share(np.array([[1.0], [0.1]]), weights)[:, 0]
    assert share == pytest.approx([1 / 0.55, 0.1 / 0.55])
    share = watched_share(np.array([[1.0], [0.0999]]), weights)[:, 0]
    assert share == pytest.approx([1.0, 0.0999])


def test_weights_are_his_rates_drawn_to_his_average() -> None:
    visits, ran = np.array([[6.0, 0.0], [0.0, 0.0]]), np.array([30.0, 20.0])
    got = site_weights(visits, ran, 10.0)
    average = 6 / 50
    assert got[0] == pytest.approx([(6 + 10 * average) / 40, 10 * average / 30])
    nothing = 0.5 / 50  # as half a visit, that none weighs nothing
    assert got[1] == pytest.approx([10 * nothing / 40, 10 * nothing / 30])
    assert (site_weights(visits * 0, ran * 0, 10.0) == 0.5).all()


@pytest.mark.parametrize("seed", range(5))
def test_of_each_day_counts_the_share_of_visits_looked_at_within_three_days(seed: int) -> None:
    rng = np.random.default_rng(seed)
    first = pd.Timestamp("2024-10-01")
    came = [
        (site, day + float(rng.random()), bool(rng.random() < 0.6))
        for site in ("Oak", "Elm")
        for day in rng.choice(60, 12, replace=False)
    ]
    visits = pd.DataFrame(came, columns=["site", "at", "tagged"])
    moment = (first + pd.to_timedelta(visits["at"], unit="D")).astype("datetime64[us]")
    visits = visits.assign(first=moment.dt.tz_localize(ZONE))
    rows = [(camera, site, day) for camera, site in (("1", "Oak"), ("2", "Oak"), ("3", "Elm"),
            ("4", "Fir")) for day in range(60)]  # fmt: skip
    ran = pd.DataFrame(rows, columns=["camera", "site", "number"])
    ran = ran.assign(
        day=(first + pd.to_timedelta(ran["number"], unit="D")).astype("datetime64[us]"),
        camera_day=rng.choice([0.3, 1.0], len(ran)),
    )
    got = watched_effort(ran[["camera", "site", "day", "camera_day"]], visits)
    for row, watched in zip(ran.itertuples(), got["camera_day"], strict=True):
        mine = sorted((int(at), tagged) for site, at, tagged in came if site == row.site)
        near = [tagged for n, tagged in mine if abs(n - row.number) <= 3]
        if not near:  # the last before and the first after
            before = [tagged for n, tagged in mine if n < row.number][-1:]
            near = before + [tagged for n, tagged in mine if n > row.number][:1]
        share = np.mean(near) if near else 1.0
        both = ran[(ran["site"] == row.site) & (ran["number"] == row.number)]["camera_day"].sum()
        # Two cameras watch a site no better than one: the share is of what was watched.
        wanted = row.camera_day * (share / max(both, 1.0) if share < 1 else 1.0)
        assert watched == pytest.approx(wanted)
