"""A stand sat on in vain is left alone, until a target comes there in light or the days pass."""

from __future__ import annotations

import pandas as pd
import pytest

from deerlog.analysis.plan.past_sits import burnt_stands

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
