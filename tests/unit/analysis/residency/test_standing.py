"""The days ahead, run on from where a buck stands, against the engine given those days."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import days, effort, visits

from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import AROUND, PATTERN_OF_WAY, PATTERNS, RESIDENT
from deerlog.analysis.residency.residency import Residency, residency
from deerlog.analysis.residency.standing import Standing, patterns_after
from deerlog.timekeeping.seasons import SeasonCalendar

FIRST, LAST = "2022-06-01", "2024-05-31"
NO_WRONG_TAGS = Judgement(wrong_tag_share=1e-9, wrong_tag_log_sd=0.1)
"""So that wrong tags to expect are the same every day, whatever is tagged."""

SEEN = days("2022-06-10", "2022-08-30", 6) + days("2023-06-04", "2023-09-20", 5)


def alone(seen: list[pd.Timestamp], as_of: str) -> Residency:
    """One buck under cameras that run all the time: nothing to learn but from himself."""
    return residency(
        visits({"Crab": seen}),
        effort(FIRST, LAST),
        SeasonCalendar(),
        as_of=pd.Timestamp(as_of),
        judgement=NO_WRONG_TAGS,
    )


def standing(seen: list[pd.Timestamp], as_of: str) -> Standing:
    got = alone(seen, as_of).standing
    assert got is not None
    return got


@pytest.mark.parametrize("as_of", ["2022-09-03", "2023-07-01", "2023-10-01", "2024-05-30"])
def test_the_joint_sums_to_the_score(as_of: str) -> None:
    seen = [d for d in SEEN if d <= pd.Timestamp(as_of)]
    result = alone(seen, as_of)
    assert result.standing is not None
    joint = result.standing.joint[0]
    assert joint.sum() == pytest.approx(1)
    row = result.table[result.table["season"] == "all"].iloc[0]
    assert 100 * joint[RESIDENT[PATTERN_OF_WAY]].sum() == pytest.approx(row["score"], abs=1e-3)
    here = joint[..., AROUND].sum()
    assert here == pytest.approx(result.around.at[pd.Timestamp(as_of), "Crab"], abs=1e-5)


# Into the fall shift, over the eve of the pre-rut, through the rut.
@pytest.mark.parametrize("as_of", ["2023-08-28", "2023-10-10", "2023-11-01"])
def test_days_run_on_are_days_known(as_of: str) -> None:
    now = pd.Timestamp(as_of)
    known = [d for d in SEEN if d <= now]
    ahead = [now + pd.Timedelta(days=k) for k in (2, 9, 10, 20)]
    record = np.isin(np.arange(1, 22), [2, 9, 10, 20])[:, None]
    after, gone = patterns_after(
        standing(known, as_of), np.array([0]), record, np.array([1.0]), marks=[6, 20]
    )
    assert after.shape == (2, 1, len(PATTERNS))
    for chance, is_gone, n_days in zip(after[:, 0], gone[:, 0], (7, 21), strict=True):
        until = now + pd.Timedelta(days=n_days)
        real = alone([*known, *[d for d in ahead if d <= until]], f"{until:%Y-%m-%d}")
        row = real.table[real.table["season"] == "all"].iloc[0]
        told = row[["p_year_round", "p_fall", "p_summer", "p_rut", "p_passing"]].astype(float)
        # Ways and rates of less than one in a hundred thousand are left out.
        np.testing.assert_allclose(chance[:5], told, rtol=0, atol=2e-4)
        assert is_gone == pytest.approx(row["p_gone"], abs=2e-4)


def test_records_are_judged_side_by_side() -> None:
    stand = standing([d for d in SEEN if d <= pd.Timestamp("2023-10-10")], "2023-10-10")
    record = np.zeros((14, 3), dtype=bool)
    record[4, 1:] = True
    share = np.array([1.0, 1.0, 0.0])
    both = patterns_after(stand, np.zeros(3, dtype=int), record, share, [13])[0][0]
    for i in range(3):
        one = patterns_after(stand, np.array([0]), record[:, [i]], share[[i]], [13])[0][0, 0]
        np.testing.assert_allclose(both[i], one, rtol=1e-5, atol=1e-7)
    score = both[:, RESIDENT].sum(axis=1)
    assert score[1] > score[0]


def test_unwatched_days_without_a_tag_say_nothing() -> None:
    stand = standing([d for d in SEEN if d <= pd.Timestamp("2023-10-10")], "2023-10-10")
    nothing = np.zeros((30, 1), dtype=bool)
    after, _ = patterns_after(stand, np.array([0]), nothing, np.zeros(1), [0, 29])
    np.testing.assert_allclose(after[0], after[1], rtol=0, atol=1e-5)


def test_the_days_ahead_end_with_the_season() -> None:
    stand = standing(SEEN, "2024-05-29")
    assert list(stand.days) == [pd.Timestamp("2024-05-30"), pd.Timestamp("2024-05-31")]
    assert stand.transition.shape[0] == stand.quiet.shape[0] == 2
    assert len(standing(SEEN, "2024-05-31").days) == 0


def test_cameras_as_they_stood_lately() -> None:
    ran = effort(FIRST, LAST, without=days("2023-10-01", "2023-10-07"))
    result = residency(
        visits({"Crab": SEEN[:20]}), ran, SeasonCalendar(), as_of=pd.Timestamp("2023-10-10")
    )
    assert result.standing is not None
    usual = replace(result.standing, share=result.share.iloc[100].to_numpy()).share
    assert result.standing.share == pytest.approx(usual / 2)
