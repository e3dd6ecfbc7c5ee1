"""Each buck's days out of visits and effort."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import days, effort, visits

from deerlog.analysis.effort_grid import effort_grid
from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.sightings import BuckDays, buck_days

FIRST, LAST = "2023-11-01", "2023-11-10"
JUDGEMENT = Judgement(stranger_rate=0.001)


def counted(table: pd.DataFrame, ran: pd.DataFrame, *bucks: str) -> BuckDays:
    grid = effort_grid(ran, pd.Timestamp(FIRST), pd.Timestamp(LAST))
    return buck_days(table, list(bucks), grid, JUDGEMENT)


@pytest.fixture
def table() -> pd.DataFrame:
    dark = visits({"Crab": days("2023-11-02", "2023-11-02")}, in_light=False)
    light = visits({"Crab": days("2023-11-02", "2023-11-04", 2), "Tall": days(FIRST, FIRST)})
    return pd.concat([dark, light])


def test_visits_and_light_by_day_and_buck(table: pd.DataFrame) -> None:
    got = counted(table, effort(FIRST, LAST), "Tall", "Crab")
    assert got.visits.shape == got.light_visits.shape == (10, 2)
    assert got.visits[:, 1].tolist() == [0, 2, 0, 1, *[0] * 6]
    assert got.light_visits[:, 1].tolist() == [0, 1, 0, 1, *[0] * 6]
    assert got.visits[:, 0].tolist() == [1, *[0] * 9]


def test_wrong_tags_grow_with_what_was_tagged_and_what_ran(table: pd.DataFrame) -> None:
    got = counted(table, effort("2023-11-01", "2023-11-06"), "Tall", "Crab")
    assert got.share[:6] == pytest.approx(1.0)
    # Tall's visits may be tagged Crab and Crab's Tall: one and three over six watched days.
    expected = {1: (2, 0), 4: (0, 0)}
    for day, others in expected.items():
        for name, n, mean in zip((0, 1), others, (3 / 6, 1 / 6), strict=True):
            visits_of_others = (1 + n) * mean / (1 + mean)
            assert got.wrong_tags(0.02)[day, name] == pytest.approx(
                0.02 * visits_of_others / 2 + 0.001
            )
    assert got.wrong_tags(0.02)[8] == pytest.approx(0.0)


def test_a_tag_while_nothing_ran_may_be_a_strangers() -> None:
    table = visits({"Crab": days("2023-11-09", "2023-11-09")})
    got = counted(table, effort("2023-11-01", "2023-11-06"), "Tall", "Crab")
    assert got.share[8, 1] == 0
    # Nobody else was about: a stranger's, then.
    assert got.wrong_tags(0.02)[8, 1] == pytest.approx(0.001)
    assert got.wrong_tags(0.02)[8, 0] == 0


def test_share_follows_the_sites_he_uses() -> None:
    table = pd.concat(
        [visits({"Crab": days(FIRST, "2023-11-05")}, site="Alder"),
         visits({"Tall": days(FIRST, "2023-11-05")}, site="Birch")]
    )  # fmt: skip
    ran = pd.concat(
        [effort(FIRST, LAST, sites=["Alder"]), effort(FIRST, "2023-11-05", sites=["Birch"])]
    )
    got = counted(table, ran, "Crab", "Tall")
    late = got.share[5:]
    assert (late[:, 0] > late[:, 1]).all()
    assert (got.share[:5] > late).all()
    assert np.isfinite(got.share).all()


def test_no_visits() -> None:
    got = counted(visits({}), effort(FIRST, LAST))
    assert got.visits.shape == got.share.shape == got.wrong_tags(0.02).shape == (10, 0)


def test_sites_that_ran_are_counted_on_the_days_on_which_any_did(table: pd.DataFrame) -> None:
    """Three sites on four days, one of them on two more, none on the last four."""
    ran = pd.concat([effort("2023-11-01", "2023-11-04"),
                     effort("2023-11-05", "2023-11-06", sites=["Birch"])])  # fmt: skip
    assert counted(table, ran, "Tall", "Crab").n_sites == pytest.approx((4 * 3 + 2) / 6)
    # Seen at Alder alone: what counts there counts for most of what sees him.
    assert 1 <= counted(table, ran, "Tall", "Crab").n_cameras.max() <= 3
    nowhere = effort("2023-12-01", "2023-12-02")
    assert counted(table, nowhere, "Tall", "Crab").n_sites == 0


def test_an_unsure_visit_is_no_day_without_him() -> None:
    """At that site, that day and of that buck; a sure visit there counts all the same."""
    table = visits({"Crab": days(FIRST, "2023-11-05"), "Tall": days(FIRST, "2023-11-05")})
    ran = effort(FIRST, LAST, sites=["Alder"])
    grid = effort_grid(ran, pd.Timestamp(FIRST), pd.Timestamp(LAST))
    unsure = visits({"Crab": days("2023-11-05", "2023-11-06"), "Nobody": days(FIRST, FIRST)})
    outside = visits({"Crab": days("2023-11-08", "2023-11-08")}, site="Elsewhere")
    names = ["Crab", "Tall"]
    got = buck_days(table, names, grid, JUDGEMENT, pd.concat([unsure, unsure, outside]))
    plain = buck_days(table, names, grid, JUDGEMENT)
    assert np.argwhere(got.share != plain.share).tolist() == [[5, 0]]
    assert got.share[5, 0] == 0 and plain.share[5, 0] == pytest.approx(1.0)
