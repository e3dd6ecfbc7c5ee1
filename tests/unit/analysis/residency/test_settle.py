"""How likely two weeks decide a label, against every record written out."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pandas as pd
import pytest
from deerlog.analysis.residency.tables import label_of
from invented.buck_record import days, effort, visits

from deerlog.analysis.presence import forward_backward as presence
from deerlog.analysis.presence.patterns import AROUND, GONE, RESIDENT
from deerlog.analysis.residency.residency import residency
from deerlog.analysis.residency.standing import Settling, Standing, patterns_after, settling
from deerlog.timekeeping.seasons import SeasonCalendar

HERD = {
    "Crab": days("2023-06-04", "2023-09-05", 9),
    "Post": days("2023-06-04", "2023-10-08", 3),
}


def stand_on(as_of: str, seen: dict[str, list[pd.Timestamp]] = HERD) -> Standing:
    got = residency(
        visits(seen), effort("2023-06-01", "2024-05-31"), SeasonCalendar(),
        as_of=pd.Timestamp(as_of),
    ).standing  # fmt: skip
    assert got is not None
    return got


def every_record(standing: Standing, b: int, share: float, n_days: int) -> float:
    """Chance of being decided: every record of the days, with its chance and its label."""
    total = decided = 0.0
    n_states = len(AROUND)
    for record in product([False, True], repeat=n_days):
        chance = 0.0
        for way in range(standing.joint.shape[1]):
            for r, rate in enumerate(standing.rates):
                state = standing.joint[b, way, r]
                for t, seen in enumerate(record):
                    state = state @ standing.transition[t, way]
                    told = presence.sighting_emission(
                        np.array([[seen]]),
                        np.array([[share * standing.rate_factor[t, way]]]),
                        np.array([rate]),
                        standing.wrong_tags[[b]][None],
                    )[0, 0, 0]
                    state = state * told[AROUND.astype(int)]
                    assert state.shape == (n_states,)
                chance += state.sum()
        seen_on = np.array(record)[:, None]
        after = patterns_after(standing, np.array([b]), seen_on, np.array([share]), [n_days - 1])
        pattern = after[0, 0]
        n_seen = int(standing.days_seen[b]) + sum(record)
        label = label_of(100 * pattern[RESIDENT].sum(), n_seen, n_seen, pattern[GONE].sum())
        total += chance
        decided += chance * (label != "undecided")
    assert total == pytest.approx(1)
    return decided


def test_by_every_record() -> None:
    standing = stand_on("2023-10-08")
    n_days, draws = 4, 4000
    got = settling(standing, "Crab", days=n_days, draws=draws)
    assert got is not None
    expected = every_record(standing, 0, float(standing.share[0]), n_days)
    assert 0.02 < expected < 0.98, "a record that decides nothing here tests nothing"
    error = np.sqrt(expected * (1 - expected) / draws)
    assert got.as_it_is == pytest.approx(expected, abs=4 * error)
    more = float(standing.share[0] + standing.camera_worth[0, 0])
    expected = every_record(standing, 0, more, n_days)
    error = np.sqrt(expected * (1 - expected) / draws)
    assert got.with_camera["Alder"] == pytest.approx(expected, abs=4 * error)


def test_same_input_same_chances_and_only_sites_he_has_used() -> None:
    standing = stand_on("2023-10-08")
    first, again = settling(standing, "Crab"), settling(standing, "Crab")
    assert first == again
    assert isinstance(first, Settling)
    assert list(first.with_camera) == ["Alder"]
    assert first.days == 14
    for chance in (first.as_it_is, *first.with_camera.values()):
        assert 0 <= chance <= 1


def test_where_nothing_runs_only_a_camera_can_settle_it() -> None:
    standing = stand_on("2023-10-08")
    blind = replace(
        standing, share=np.zeros_like(standing.share), wrong_tags=standing.wrong_tags * 1e-6
    )
    got = settling(blind, "Crab")
    assert got is not None
    now = every_label_now(blind)
    assert got.as_it_is == pytest.approx(float(now != "undecided"), abs=0.01)
    assert now == "undecided"
    assert got.with_camera["Alder"] > 0.1


def every_label_now(standing: Standing) -> str:
    pattern = patterns_after(
        standing, np.array([0]), np.zeros((1, 1), dtype=bool), np.zeros(1), [0]
    )[0, 0]
    n = int(standing.days_seen[0])
    return label_of(100 * pattern[RESIDENT].sum(), n, n, pattern[GONE].sum())


def test_nothing_is_settled_after_the_season() -> None:
    assert settling(stand_on("2024-05-31"), "Crab") is None
    last = settling(stand_on("2024-05-28"), "Crab")
    assert last is not None
    assert last.days == 3
