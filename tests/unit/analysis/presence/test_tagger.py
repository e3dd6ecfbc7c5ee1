"""Two bucks taken for each other, and what that leaves of their tags."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR, SITES, days, effort, visits

from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.presence import Presence, past_seasons, presence
from deerlog.analysis.presence.tagger import PAIR_SHARES, confused_pairs
from deerlog.analysis.residency.residency import residency

TODAY = pd.Timestamp("2024-12-31")
RAN = effort("2024-06-01", "2024-12-31")
NAMES = ("Ash", "Elm", "Fir", "Oak")


def record(exchanged: float) -> pd.DataFrame:
    """Ash lives at Alder; Elm comes there in the rut alone; that share of both is exchanged. Fir
    and Oak live at Birch and Cedar."""
    rng = np.random.default_rng(2)
    every = days("2024-06-01", "2024-12-31")
    # Visits clump, so that both names stand on some days.
    home = [day for day in every for _ in range(rng.poisson(rng.gamma(0.5, 2.0)))]
    rut = [day for day in days("2024-11-08", "2024-11-18") for _ in range(rng.poisson(0.8))]
    tags: dict[str, list[pd.Timestamp]] = {"Ash": [], "Elm": []}
    for own, other, came in (("Ash", "Elm", home), ("Elm", "Ash", rut)):
        for day in came:
            tags[other if rng.random() < exchanged else own].append(day)
    parts = [visits({"Elm": tags["Elm"], "Ash": tags["Ash"]}, site="Alder")]
    for name, site in (("Fir", "Birch"), ("Oak", "Cedar")):
        parts.append(visits({name: [d for d in every if rng.random() < 0.3]}, site=site))
    return pd.concat(parts, ignore_index=True)


def found(exchanged: float) -> Presence:
    past = past_seasons(record(exchanged), RAN, CALENDAR, 2024, Judgement())
    made = presence(past, record(exchanged), RAN, TODAY)
    assert made is not None
    return made


def test_a_pair_taken_for_each_other_is_named_and_a_clean_one_not() -> None:
    mixed, clean = found(0.3), found(0.0)
    assert mixed.wrong.pairs[0].bucks == ("Ash", "Elm")
    assert mixed.wrong.pairs[0].chance > 0.8
    assert 0.2 < mixed.wrong.pairs[0].share <= 0.3
    assert all(pair.chance < 0.2 for pair in clean.wrong.pairs)
    assert all(pair.chance < 0.2 for pair in mixed.wrong.pairs[1:])


def test_the_visitor_of_a_pair_is_not_called_a_resident() -> None:
    def label(judgement: Judgement) -> str:
        table = residency(record(0.3), RAN, CALENDAR, as_of=TODAY, judgement=judgement).table
        table = table[table["season"] == "all"].set_index("buck")
        assert table.at["Ash", "label"] == "resident"
        return str(table.at["Elm", "label"])

    assert label(Judgement()) != "resident"
    assert label(Judgement(confused_pairs=1e-9)) == "resident", "as it was without pairs"


def test_of_a_pair_the_others_visits_are_expected_under_his_name() -> None:
    record = found(0.3).record
    usual = record.wrong_tags(0.01)
    with_pair = record.wrong_tags(0.01, [(0, 1, 0.25)])
    more = with_pair - usual
    np.testing.assert_allclose(more[:, 0], record.own[:, 1] / 3)
    np.testing.assert_allclose(more[:, 1], record.own[:, 0] / 3)
    assert not more[:, 2:].any()
    by_site = record.alike
    np.testing.assert_allclose(np.diag(by_site), 1.0)
    assert by_site[2, 3] == 0 < by_site[0, 1], "Fir and Oak never met at a site"
    assert len(SITES) == 3 and len(NAMES) == len(by_site)


def test_chance_of_a_pair_by_hand() -> None:
    j = Judgement(confused_pairs=0.3)
    told = {("a", "b"): np.array([2.0, 3.0]), ("a", "c"): np.array([-9.0, -9.0])}
    first, second = confused_pairs(told, 3, j)
    odds = 0.1 / 0.9 * (np.exp(2.0) + np.exp(3.0)) / 2
    assert first.bucks == ("a", "b") and second.bucks == ("a", "c")
    assert first.chance == pytest.approx(odds / (1 + odds))
    weight = np.exp(3.0) / (np.exp(2.0) + np.exp(3.0))
    assert first.share == pytest.approx(PAIR_SHARES[0] * (1 - weight) + PAIR_SHARES[1] * weight)
