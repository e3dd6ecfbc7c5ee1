"""What the sits brought."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import gamma

from deerlog.analysis.intervals import jeffreys
from deerlog.analysis.plan.past_sits import rested, sit_record, sits_summary, sits_worth

SITS = pd.DataFrame(
    {
        "day": pd.to_datetime(["2025-10-04", "2025-11-08", "2025-11-08", "2025-12-20"]),
        "half": ["PM", "AM", "PM", "PM"],
        "stand": ["Oak", "Oak", "Elm", "Elm"],
        "phase": ["early season", "rut", "rut", "late season"],
        "setting": ["travel", "travel", "food", "food"],
        "bucks_seen": [(), ("Lantern",), ("Nobody's",), ("Lantern", "Tollkeeper")],
    }
)


def test_only_targets_count_where_there_are_any() -> None:
    chances: list[float | None] = [None, 0.2, 0.1, 0.3]
    assert list(sit_record(SITS, ["Lantern"], chances)["seen"]) == [False, True, False, True]
    assert list(sit_record(SITS, None, chances)["seen"]) == [False, True, True, True]


def test_summary_by_half_setting_and_phase() -> None:
    table = sits_summary(sit_record(SITS, ["Lantern"], [None, 0.2, 0.1, 0.3]))
    rows = {(r["cut"], r["value"]): r for r in table.to_dict("records")}
    whole = rows["all", "all"]
    assert (whole["sits"], whole["seen"], whole["share"], whole["given"]) == (4, 2, 0.5, 3)
    assert whole["mean_chance"] == pytest.approx(0.2) and whole["given_seen"] == 2
    assert (rows["half", "PM"]["given"], rows["half", "PM"]["given_seen"]) == (2, 1)
    assert (whole["low"], whole["high"]) == tuple(map(float, jeffreys(2, 4)))
    assert (rows["half", "PM"]["sits"], rows["half", "PM"]["seen"]) == (3, 1)
    assert pd.isna(rows["phase", "early season"]["mean_chance"])
    assert rows["phase", "early season"]["given"] == 0
    assert list(table.loc[table["cut"] == "phase", "value"]) == [
        "early season", "rut", "late season",
    ]  # fmt: skip
    for cut in ("half", "setting", "phase"):
        assert table.loc[table["cut"] == cut, "sits"].sum() == 4


def test_no_sits_no_rows() -> None:
    assert sits_summary(sit_record(SITS.iloc[:0], None, [])).empty


def test_days_rested() -> None:
    stands = pd.DataFrame({"stand": ["Elm", "Ash", "Oak"], "rest_days": [3, 2, 4]})
    table = rested(SITS, stands, pd.Timestamp("2025-12-24"))
    assert list(table["stand"]) == ["Elm", "Ash", "Oak"]
    assert list(table["days_rested"].fillna(-1)) == [4, -1, 46]
    assert pd.isna(table["last_sit"].iloc[1])
    assert list(table["rest_days"]) == [3, 2, 4]


def test_what_a_chance_is_worth_from_the_stand() -> None:
    """Gamma posterior: two sightings before, mean one half; a stand's prior is of the others."""
    stand = ["Ladder"] * 30 + ["Box"] * 10 + ["Box"]
    seen = [True] * 2 + [False] * 39
    record = pd.DataFrame({"stand": stand, "chance": [0.1] * 40 + [np.nan], "seen": seen})
    every, box, ladder = sits_worth(record).itertuples(index=False)
    posterior = gamma(2 + 2, scale=1 / (4 + 4.0))
    assert (every.stand, every.sits, every.seen) == ("", 40, 2)
    assert every.expected == pytest.approx(4.0)
    assert every.worth == pytest.approx(posterior.mean())
    assert (every.low, every.high) == pytest.approx(posterior.interval(0.95))
    # A stand is drawn to what the sits on all others say, its own once.
    assert box.worth == pytest.approx(2 / (2 / ((2 + 2) / (4 + 3.0)) + 1.0))
    assert ladder.worth == pytest.approx((2 + 2) / (2 / (2 / (4 + 1.0)) + 3.0))
    assert box.worth < every.worth
    alone = sits_worth(record[record["stand"] == "Box"]).drop(columns="stand")
    assert alone.iloc[0].equals(alone.iloc[1]), "of one stand alone all sits are its own"


def test_without_a_chance_given_half_is_thought() -> None:
    record = pd.DataFrame({"stand": ["Box"], "chance": [np.nan], "seen": [True]})
    (only,) = sits_worth(record).itertuples(index=False)
    assert (only.stand, only.sits, only.worth) == ("", 0, 0.5)
