"""Shares of visits in shooting light: own data, shrinkage, and what bucks share."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.forecast.judgement import ForecastJudgement
from deerlog.analysis.forecast.light_shares import LightShares, light_shares
from deerlog.timekeeping.seasons import PHASES

BUCKS, SITES, SETTINGS = ("Ash", "Oak"), ("a", "b"), ("food", "bed")
RUT = PHASES.index("rut")


def visits(counts: dict[tuple[str, str, str], tuple[int, int, int]]) -> pd.DataFrame:
    """By buck, site and phase: visits in AM light, in PM light, in the dark."""
    rows = []
    for (buck, site, phase), (morning, evening, dark) in counts.items():
        rows += [(buck, site, phase, "AM", True)] * morning
        rows += [(buck, site, phase, "PM", True)] * evening
        rows += [(buck, site, phase, "PM", False)] * dark
    columns = ["buck", "site", "phase", "half", "in_light"]
    return pd.DataFrame(rows, columns=columns).astype({"in_light": bool})


class Told(NamedTuple):
    """By buck, phase, site and half."""

    share: np.ndarray
    log_sd: np.ndarray


def told(got: LightShares) -> Told:
    return Told(*(a.transpose(0, 2, 1, 3) for a in got.at(np.eye(len(PHASES)))))


def shares(counts: dict[tuple[str, str, str], tuple[int, int, int]]) -> Told:
    return told(light_shares(visits(counts), BUCKS, SITES, SETTINGS, ForecastJudgement()))


def test_many_visits_give_their_own_shares() -> None:
    got = shares({("Ash", "a", "rut"): (300, 100, 600), ("Oak", "b", "rut"): (10, 200, 790)})
    np.testing.assert_allclose(got.share[0, RUT, 0], [0.3, 0.1], atol=0.015)
    np.testing.assert_allclose(got.share[1, RUT, 1], [0.01, 0.2], atol=0.015)
    assert got.log_sd[0, RUT, 0].max() < 0.15


def test_one_visit_does_not_make_a_habit() -> None:
    got = shares({("Ash", "a", "rut"): (1, 0, 0), ("Oak", "a", "rut"): (0, 100, 300)})
    assert got.share[0, RUT, 0, 0] < 0.3
    assert got.share[0, RUT, 0, 0] > got.share[1, RUT, 0, 0]
    assert got.log_sd[0, RUT, 0, 0] > got.log_sd[1, RUT, 0, 1]


def test_a_buck_never_seen_at_a_site_is_like_the_others_there() -> None:
    got = shares(
        {
            ("Ash", "a", "rut"): (50, 50, 100),
            ("Oak", "a", "rut"): (50, 50, 100),
            ("Oak", "b", "rut"): (2, 8, 190),
        }
    )
    assert got.share[0, RUT, 1].sum() < 0.7 * got.share[0, RUT, 0].sum()


def test_shares_are_shares_and_nothing_is_no_trouble() -> None:
    none = visits({("Ash", "a", "rut"): (1, 1, 1)}).iloc[:0]
    got = told(light_shares(none, BUCKS, SITES, SETTINGS, ForecastJudgement()))
    assert got.share.shape == (2, len(PHASES), 2, 2)
    assert got.share.shape == (2, len(PHASES), 2, 2)
    by_day = got.share.sum(axis=-1)[0, :, 0]
    assert by_day.argmax() == RUT and by_day.min() == by_day[PHASES.index("early season")]
    np.testing.assert_allclose(got.share[..., 0], got.share[..., 1])
    assert got.share.sum(axis=-1).max() < 1
    nobody = light_shares(none, (), SITES, SETTINGS, ForecastJudgement())
    assert told(nobody).share.shape[0] == 0


def test_between_two_phases_is_between_their_shares() -> None:
    got = light_shares(
        visits({("Ash", "a", "rut"): (300, 100, 100), ("Ash", "a", "late season"): (5, 5, 490)}),
        BUCKS, SITES, SETTINGS, ForecastJudgement(),
    )  # fmt: skip
    weights = np.zeros((3, len(PHASES)))
    weights[:, RUT], weights[:, RUT + 1] = [1, 0.5, 0], [0, 0.5, 1]
    rut, border, late = got.at(weights)[0][0, 0].sum(axis=-1)
    assert rut > 2 * border and border > 2 * late


def test_it_matters_which_half_a_visit_is_in() -> None:
    morning = shares({("Ash", "a", "rut"): (40, 10, 50)}).share[0, RUT, 0]
    evening = shares({("Ash", "a", "rut"): (10, 40, 50)}).share[0, RUT, 0]
    assert morning[0] > 2 * morning[1]
    np.testing.assert_allclose(morning, evening[::-1], rtol=1e-3)
    assert morning.sum() == pytest.approx(0.5, abs=0.03)


def test_what_was_learned_before_is_a_start_whatever_sites_and_bucks_there_were() -> None:
    table = visits({("Ash", "a", "rut"): (30, 10, 60), ("Oak", "b", "rut"): (1, 20, 79)})
    judgement = ForecastJudgement()
    wanted = told(light_shares(table, BUCKS, SITES, SETTINGS, judgement))
    for bucks, sites in ((BUCKS, SITES), (BUCKS, ("b",)), (("Oak",), SITES), (("Elm",), ("c",))):
        known = table[table["buck"].isin(bucks) & table["site"].isin(sites)]
        before = light_shares(known, bucks, sites, SETTINGS[: len(sites)], judgement)
        got = told(light_shares(table, BUCKS, SITES, SETTINGS, judgement, before=before))
        np.testing.assert_allclose(got.share, wanted.share, rtol=0.02)
        np.testing.assert_allclose(got.log_sd, wanted.log_sd, rtol=0.05)


def test_his_own_habit_reaches_from_phase_to_phase_and_site_to_site() -> None:
    """Seen in light by half at one site in the rut: less is known of elsewhere and other times."""
    got = shares({("Ash", "a", "rut"): (0, 100, 100), ("Oak", "a", "rut"): (0, 5, 195),
                  ("Oak", "b", "rut"): (0, 5, 195)})  # fmt: skip
    evening = got.share[..., 1]
    late = PHASES.index("late season")
    assert evening[0, RUT, 0] > evening[0, late, 0] > evening[1, late, 0]
    assert evening[0, RUT, 0] > evening[0, RUT, 1] > evening[1, RUT, 1]
    sd = got.log_sd[..., 1]
    assert sd[0, RUT, 0] < min(sd[0, late, 0], sd[0, RUT, 1]) < sd[0, late, 1]
