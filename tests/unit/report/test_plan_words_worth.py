"""What sits made of the chances, in words."""

from __future__ import annotations

import pandas as pd

from deerlog.analysis.plan.past_sits import WORTH_COLUMNS
from deerlog.report.words.plan_words import worth_words


def worth(*row: object) -> pd.DataFrame:
    return pd.DataFrame([row], columns=WORTH_COLUMNS)


def test_few_sits_tell_nothing_and_many_a_share_with_its_range() -> None:
    assert worth_words(worth("", 16, 0, 0.9, 0.4, 0.05, 1.11)) == "" == worth_words(None)
    assert worth_words(worth("", 120, 9, 20.0, 0.458, 0.22, 0.78)) == (
        "From the stand a chance is worth about 46% (22 to 78%): 120 sits that were given 20.0 "
        "visits on camera saw a target 9 times."
    )
