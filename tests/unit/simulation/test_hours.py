"""Hours of the day: every passing inside its own part of the day, also as clocks change."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from simulation.hours import PARTS, draw_instants, draw_shares, light_of_days

ZONE = "America/Chicago"


def test_light_of_days_across_a_clock_change() -> None:
    light = light_of_days(40.1, -90.9, ZONE, date(2021, 11, 6), date(2021, 11, 8))
    hours = (light.next_midnight - light.midnight) / 3600
    assert hours.tolist() == [24.0, 25.0, 24.0]
    first = pd.Timestamp(light.midnight[0], unit="s", tz="UTC").tz_convert(ZONE)
    assert (first.hour, first.day) == (0, 6)
    for before, after in pairwise(light):
        assert (before < after).all()


def test_instants_fall_into_their_part_of_the_day() -> None:
    light = light_of_days(40.1, -90.9, ZONE, date(2021, 6, 1), date(2022, 5, 31))
    rng = np.random.default_rng(0)
    n = 20_000
    day, part = rng.integers(0, 365, n), rng.integers(0, len(PARTS), n)
    at = draw_instants(rng, day=day, part=part, midday=np.full(365, 0.2), light=light)
    assert ((at >= light.midnight[day]) & (at < light.next_midnight[day])).all()
    lit = (at >= light.light_starts[day]) & (at <= light.light_ends[day])
    assert (lit == (part < 2)).all()
    assert ((at < light.noon[day]) == np.isin(part, (0, 2))).all()
    # Most of what passes in shooting light does so within two hours of its start or end.
    from_end = np.minimum(at - light.light_starts[day], light.light_ends[day] - at)
    assert (from_end[part < 2] < 2 * 3600).mean() > 0.6


def test_shares_sum_to_one_and_follow_phase_and_setting() -> None:
    rng = np.random.default_rng(1)
    n_bucks, n_sites = 200, 40
    setting = np.array(["food", "bed"] * (n_sites // 2))
    phase = np.array(["early season", "rut"], dtype=object)
    buck = np.repeat(np.arange(n_bucks), 2)
    day = np.tile([0, 1], n_bucks)
    parts = draw_shares(
        rng,
        n_bucks=n_bucks,
        setting=setting,
        bait=np.zeros(n_sites, dtype=bool),
        phase=phase,
        buck=buck,
        day=day,
    )
    assert parts.shape == (n_sites, 2 * n_bucks, 4)
    assert parts.sum(axis=-1) == pytest.approx(np.ones((n_sites, 2 * n_bucks)))
    light = parts[:, :, :2].sum(axis=-1)
    assert light[:, day == 1].mean() > light[:, day == 0].mean() + 0.1, "more by day in the rut"
    assert light[setting == "bed"].mean() > light[setting == "food"].mean() + 0.1
    morning = parts[:, :, 0] / light
    assert morning[setting == "food"].mean() < 0.4, "food is for the evening"
