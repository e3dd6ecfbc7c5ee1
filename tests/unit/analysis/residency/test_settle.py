"""How likely two weeks decide a label, against every record written out."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import days, effort, visits

from deerlog.analysis.presence.patterns import AROUND, QUIET
from deerlog.analysis.presence.sightings import sighting_states
from deerlog.analysis.residency.residency import residency
from deerlog.analysis.residency.standing import (
    Settling,
    Standing,
    patterns_after,
    settling,
)
from deerlog.timekeeping.seasons import SeasonCalendar

HERD = {
    "Crab": days("2023-10-01", "2023-10-08", 3),
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
    for record in product([False, True], repeat=n_days):
        chance = 0.0
        for way in range(standing.joint.shape[1]):
            state = standing.joint[b, way]
            for t, seen in enumerate(record):
                quiet = standing.quiet[t] if way == QUIET else 1.0
                told = sighting_states(
                    np.array([[seen]]), np.array([[share * quiet]]), standing.wrong_tags[[b]][None],
                    standing.rates, standing.judgement,
                )[0, 0, 0]  # fmt: skip
                state = (state @ standing.transition[t, b, way]) * told
            assert state.shape == (len(standing.rates), len(AROUND))
            chance += state.sum()
        label = label_after(standing, b, np.array(record), share)
        total += chance
        decided += chance * (label != "undecided")
    assert total == pytest.approx(1, abs=1e-5)
    return decided


def label_after(standing: Standing, b: int, record: np.ndarray, share: float) -> str:
    n_days = len(record)
    chance, gone = patterns_after(
        standing, np.array([b]), record[:, None], np.array([share]), [n_days - 1]
    )
    return standing.label_after(b, chance[0, 0], float(gone[0, 0]), int(record.sum()), n_days)


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
    now = label_after(blind, 0, np.zeros(1, dtype=bool), 0.0)
    assert got.as_it_is == pytest.approx(float(now != "undecided"), abs=0.01)
    assert now == "undecided"
    assert got.with_camera["Alder"] > 0.1


def test_nothing_is_settled_after_the_season() -> None:
    assert settling(stand_on("2024-05-31"), "Crab") is None
    last = settling(stand_on("2024-05-28"), "Crab")
    assert last is not None
    assert last.days == 3
