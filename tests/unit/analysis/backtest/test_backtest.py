"""Walking forward: what is scored, and no peeking."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR, days, effort, visits

from deerlog.analysis.backtest.backtest import (
    HALF_DAY_COLUMNS,
    RULES,
    WARM_UP_DAYS,
    Backtest,
    backtest,
)

SITES = pd.DataFrame(
    {
        "site": ["Alder", "Birch", "Cedar"],
        "setting": ["food", "travel", "scrape"],
        "x_m": [0.0, 400.0, 900.0],
        "y_m": 0.0,
    }
)
FIRST, LAST = pd.Timestamp("2023-09-04"), pd.Timestamp("2023-10-15")
SEEN = visits(
    {"Ash": days("2022-06-05", "2023-10-15", 3), "Oak": days("2023-09-20", "2023-10-15", 2)}
)
RAN = effort("2022-06-01", "2023-10-15")


def run(seen: pd.DataFrame = SEEN, ran: pd.DataFrame = RAN, **other) -> Backtest:
    chosen = {"first": FIRST, "last": LAST, **other}
    return backtest(seen, ran, CALENDAR, SITES, **chosen)


def run_watched(watched: pd.DataFrame, seen: pd.DataFrame = SEEN) -> Backtest:
    """All of `RAN` ran; so much of it was looked at."""
    return backtest(seen, watched, CALENDAR, SITES, first=FIRST, last=LAST, ran=RAN)


@pytest.fixture(scope="module")
def replayed() -> Backtest:
    return run()


def test_what_is_scored(replayed: Backtest) -> None:
    table = replayed.half_days
    assert list(table.columns) == HALF_DAY_COLUMNS
    assert replayed.weeks == 6
    ash, oak = table[table["buck"] == "Ash"], table[table["buck"] == "Oak"]
    # Six weeks of three sites and two halves.
    assert len(ash) == 42 * 3 * 2
    assert oak["day"].min() == pd.Timestamp("2023-09-25"), "not before the week after his first"
    assert not table.duplicated(["buck", "site", "half", "day"]).any()
    came = SEEN[(SEEN["buck"] == "Ash") & (SEEN["day"] >= FIRST)]
    assert set(ash.loc[ash["seen"], "day"]) == set(came["day"])
    assert (ash.loc[ash["seen"], ["site", "half"]] == ["Alder", "PM"]).all(axis=None)


def test_scores_by_hand(replayed: Backtest) -> None:
    scores = replayed.scores().set_index("rule")
    assert list(scores.index) == list(RULES)
    table = replayed.half_days
    for rule in RULES:
        p, y = table[rule].to_numpy(), table["seen"].to_numpy()
        wanted = -np.mean([np.log(a if b else 1 - a) for a, b in zip(p, y, strict=True)])
        assert scores.loc[rule, "log_loss"] == pytest.approx(wanted)
        assert scores.loc[rule, "brier"] == pytest.approx(np.mean((p - y) ** 2))
        assert np.isfinite(scores.loc[rule, "log_loss"])
    assert scores.loc["forecast", "log_loss"] < scores["log_loss"].iloc[1:].min()
    assert replayed.reliability()["half_days"].sum() == len(table)


@pytest.mark.parametrize("week", ["2023-09-18", "2023-10-02"])
def test_no_peeking(replayed: Backtest, week: str) -> None:
    """From some week's Wednesday on everything is another story; its chances stay as they were."""
    turn = pd.Timestamp(week) + pd.Timedelta(days=2)
    planted = visits(
        {
            "Ash": days(f"{turn:%Y-%m-%d}", "2024-05-31"),
            "Oak": days(f"{turn:%Y-%m-%d}", "2024-05-31"),
            "Ghost": days(f"{turn:%Y-%m-%d}", "2024-05-31"),
        },
        site="Cedar",
    )
    seen = pd.concat([SEEN[SEEN["day"] < turn], planted], ignore_index=True)
    ran = pd.concat([RAN[RAN["day"] < turn], effort(f"{turn:%Y-%m-%d}", "2024-05-31")])
    end = pd.Timestamp(week) + pd.Timedelta(days=6)
    keys = ["buck", "site", "half", "day"]
    now, then = (
        b.half_days[b.half_days["day"] <= end]
        .astype(dict.fromkeys(keys[:3], "str"))
        .set_index(keys)
        for b in (run(seen, ran, last=end), replayed)
    )
    assert len(now) == len(then)
    pd.testing.assert_frame_equal(
        now[list(RULES)].sort_index(), then[list(RULES)].sort_index(), rtol=1e-9
    )
    assert not now["seen"].equals(then["seen"].reindex(now.index)), "what came was planted"


def test_a_peeking_forecast_would_be_caught(replayed: Backtest) -> None:
    """The planted story does change the chances of the week after."""
    turn = pd.Timestamp("2023-09-20")
    planted = visits({"Ash": days("2023-09-20", "2023-10-15")}, site="Cedar")
    seen = pd.concat([SEEN[SEEN["day"] < turn], planted], ignore_index=True)
    keys = ["buck", "site", "half", "day"]
    told, untold = (
        b.half_days.astype(dict.fromkeys(keys[:3], "str")).set_index(keys)["forecast"]
        for b in (run(seen), replayed)
    )
    at_cedar = ("Ash", "Cedar", "PM", pd.Timestamp("2023-09-25"))
    assert told[at_cedar] > 3 * untold[at_cedar]


def test_only_cameras_that_ran() -> None:
    ran = RAN.assign(camera_day=np.where(RAN["site"] == "Birch", 0.5, RAN["camera_day"]))
    ran = ran[~((ran["site"] == "Cedar") & (ran["day"] >= "2023-10-01"))]
    table = run(ran=ran).half_days
    assert set(table["site"]) == {"Alder", "Cedar"}
    assert table.loc[table["site"] == "Cedar", "day"].max() == pd.Timestamp("2023-09-30")


def test_what_was_looked_at_in_part_is_scored_in_part() -> None:
    part = RAN.assign(camera_day=0.95)
    whole, some = run(), run_watched(part)
    assert some.weeks_not_looked_at == 0
    assert len(some.half_days) == len(whole.half_days), "the cameras ran all the same"
    rate = whole.half_days["all_time"].sum()
    # The rule's rate is of what was watched, and so much of it is to be expected.
    assert some.half_days["all_time"].sum() == pytest.approx(rate, rel=0.02)


def test_a_week_hardly_looked_at_is_not_scored() -> None:
    late = RAN["day"] >= pd.Timestamp("2023-10-02")
    seen = SEEN[SEEN["day"] < pd.Timestamp("2023-10-02")]
    got = run_watched(RAN.assign(camera_day=np.where(late, 0.5, 1.0)), seen)
    assert (got.weeks, got.weeks_not_looked_at) == (6, 2)
    assert got.half_days["day"].max() == pd.Timestamp("2023-10-01")


def test_only_the_bucks_asked_for() -> None:
    table = run(bucks=["Oak"], last=pd.Timestamp("2023-10-01")).half_days
    assert set(table["buck"]) == {"Oak"}


def test_nothing_to_replay() -> None:
    soon = RAN["day"].min() + pd.Timedelta(days=WARM_UP_DAYS - 1)
    nothing = run(first=pd.Timestamp("2022-06-01"), last=soon)
    assert nothing.weeks == 0 and nothing.half_days.empty
    assert nothing.scores()["half_days"].tolist() == [0, 0, 0]
    assert nothing.reliability().empty
    unseen = run(seen=visits({}))
    assert unseen.weeks == 6 and unseen.half_days.empty


def test_progress_is_told() -> None:
    told: list[tuple[int, int]] = []
    run(last=pd.Timestamp("2023-09-17"), progress=lambda done, of: told.append((done, of)))
    assert told == [(1, 2), (2, 2)]


def test_a_week_does_not_straddle_a_season() -> None:
    table = run(first=pd.Timestamp("2023-05-29"), last=pd.Timestamp("2023-06-04"), bucks=["Ash"])
    assert table.weeks == 2, "1 June 2023 was a Thursday"
    assert table.half_days["day"].nunique() == 7
