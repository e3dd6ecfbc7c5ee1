"""A stand sat on in vain is left alone, until a target comes there in light or the days pass."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import gamma

from deerlog.analysis.plan.past_sits import burnt_stands, from_the_stand

STANDS = pd.DataFrame({"stand": ["Ladder", "Blind"], "sites": [("Beans", "Oak"), ("Pond",)]})
TODAY = pd.Timestamp("2024-11-10")


def sits(*rows: tuple[str, str, tuple[str, ...]]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["day", "stand", "bucks_seen"])
    return table.assign(day=pd.to_datetime(table["day"]), half="PM")


def visits(*rows: tuple[str, str, str, bool]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["buck", "site", "day", "in_light"])
    return table.assign(day=pd.to_datetime(table["day"]))


BLANK = sits(("2024-11-01", "Ladder", ()), ("2024-11-04", "Ladder", ("Doe",)),
             ("2024-11-07", "Ladder", ()))  # fmt: skip


def burnt(table: pd.DataFrame, seen: pd.DataFrame, today: pd.Timestamp = TODAY) -> dict[str, str]:
    found = burnt_stands(table, STANDS, ("Ash",), seen, today, burnt_after=3, burnt_days=14)
    return {str(stand): str(row["free_from"].date()) for stand, row in found.iterrows()}


def test_three_blank_sits_burn_a_stand_until_its_days_have_passed() -> None:
    assert burnt(BLANK, visits()) == {"Ladder": "2024-11-22"}
    assert burnt(BLANK.iloc[1:], visits()) == {}
    assert burnt(BLANK, visits(), pd.Timestamp("2024-11-16")) == {}, "the first is too far back"


@pytest.mark.parametrize(
    ("visit", "frees"),
    [
        (("Ash", "Oak", "2024-11-08", True), True),
        (("Ash", "Oak", "2024-11-07", True), False),
        (("Ash", "Oak", "2024-11-08", False), False),
        (("Ash", "Pond", "2024-11-08", True), False),
        (("Elm", "Oak", "2024-11-08", True), False),
    ],
)
def test_a_target_there_in_light_frees_it(visit: tuple[str, str, str, bool], frees: bool) -> None:
    assert (burnt(BLANK, visits(visit)) == {}) is frees


def test_a_sit_that_saw_a_target_begins_the_count_anew() -> None:
    seen = sits(("2024-11-01", "Ladder", ()), ("2024-11-03", "Ladder", ("Ash",)),
                ("2024-11-05", "Ladder", ()), ("2024-11-07", "Ladder", ()))  # fmt: skip
    assert burnt(seen, visits()) == {}
    more = pd.concat([seen, sits(("2024-11-09", "Ladder", ()))])
    assert burnt(more, visits()) == {"Ladder": "2024-11-24"}


def test_what_a_chance_is_worth_from_the_stand() -> None:
    none = from_the_stand(pd.DataFrame({"chance": [np.nan], "seen": [True]}))
    assert (none.ratio, none.sits) == (0.5, 0)
    record = pd.DataFrame({"chance": [0.1] * 40 + [np.nan], "seen": [True] * 2 + [False] * 39})
    found = from_the_stand(record)
    posterior = gamma(2 + 2, scale=1 / (4 + 4.0))
    assert found.ratio == pytest.approx(posterior.mean())
    assert (found.low, found.high) == pytest.approx(posterior.interval(0.95))
    assert (found.sits, found.seen) == (40, 2)
