"""The residency label on simulated properties holds its aims. Seeded.

The tables of DEVELOPERS.md come from ``python -m simulation.residency_calibration``, on more
properties than there is time for here. An aim counts as missed where what is found lies beyond it
by more than its sampling error; see `aims_missed`.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pandas as pd
import pytest

from deerlog.analysis.residency.explain import reasons, what_if
from simulation.ground import simulate_property
from simulation.judged import residency_of
from simulation.residency_calibration import (
    FIRST_FALL,
    THREE_SEASONS,
    Case,
    aims_missed,
    judge_all,
    of_all,
    of_living,
)

FEW_PHOTOS = (Case("very thin", 1, False),)


@pytest.fixture(scope="module")
def judged() -> pd.DataFrame:
    parts = [
        judge_all(THREE_SEASONS, range(6), workers=1),
        judge_all(FIRST_FALL, range(20), workers=1),
        judge_all(FEW_PHOTOS, range(14), workers=1),
    ]
    return pd.concat(parts, ignore_index=True)


def test_no_aim_is_missed(judged: pd.DataFrame) -> None:
    assert len(judged) > 400
    assert aims_missed(judged) == []


def test_better_than_both_rules_people_use(judged: pd.DataFrame) -> None:
    for cases in (THREE_SEASONS, FIRST_FALL):
        living = judged[judged["case"].isin(cases) & judged["alive"]]
        ours = of_living(living).share_right
        for rule in ("by_weeks", "by_months"):
            assert ours > (living[rule] == living["lives_here"]).mean() + 0.05


def test_few_photos_leave_more_undecided_and_not_more_wrong(judged: pd.DataFrame) -> None:
    few = of_living(judged[judged["case"].isin(FEW_PHOTOS)])
    more = of_living(judged[judged["case"].isin(FIRST_FALL)])
    assert few.share_decided < more.share_decided
    assert few.right_interval[1] > 0.95


def test_scores_say_more_than_the_share_of_residents(judged: pd.DataFrame) -> None:
    base = judged["lives_here"].mean()
    assert of_all(judged).brier < 0.25 * base * (1 - base)


def test_every_buck_is_scored_and_told_why_while_a_season_goes_on() -> None:
    whole = simulate_property(np.random.default_rng(1), 2, n_cameras=8, n_bucks=12)
    simulated = whole.cut(whole.as_of - timedelta(days=60))
    result = residency_of(simulated)
    tagged = simulated.sightings.loc[~simulated.sightings["unsure"], "buck"]
    assert tagged.nunique() == 12
    assert set(result.prior_log_odds) == set(tagged)
    told = reasons(result.table, result.weekly)
    assert result.standing is not None
    assert set(told) == set(result.standing.bucks) == set(tagged)
    labels = [told[buck].label for buck in result.standing.bucks]
    assert len(what_if(result.standing, labels)) == 12


# ---- the check itself can fail -----------------------------------------------------------------


def test_labels_put_on_other_bucks_are_found_out(judged: pd.DataFrame) -> None:
    order = np.random.default_rng(0).permutation(len(judged))
    columns = ["score", "label"]
    mixed = judged.assign(**{c: judged[c].to_numpy()[order] for c in columns})
    missed = aims_missed(mixed)
    assert any("right" in m for m in missed)
    assert any("Brier" in m for m in missed)


def test_a_label_withheld_is_found_out(judged: pd.DataFrame) -> None:
    shy = judged.assign(label=judged["label"].where(judged["score"].between(1, 99.9), "undecided"))
    assert any("decided" in m for m in aims_missed(shy))


def test_scores_too_modest_are_found_out(judged: pd.DataFrame) -> None:
    """Everybody who lives here scored 85: of those scored 80 to 90 all live here."""
    modest = judged.assign(score=judged["score"].where(~judged["lives_here"], 85.0))
    assert any("80 to 90" in m for m in aims_missed(modest))
