"""Is he around: records made by hand, and no peeking."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import CALENDAR, days, effort, visits

from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import YEAR_ROUND
from deerlog.analysis.presence.presence import PastSeasons, around, past_seasons
from deerlog.analysis.residency.residency import residency

PRESENCE = Judgement()
RECORD = {
    "Stay": days("2022-06-02", "2025-05-30", 3),
    "Early": days("2022-10-30", "2022-11-08") + days("2023-10-31", "2023-11-09"),
    "Late": days("2022-11-19", "2022-11-28") + days("2023-11-18", "2023-11-27"),
}
RAN = effort("2022-06-01", "2025-05-31")


def past(record: dict[str, list[pd.Timestamp]], season: int = 2024) -> PastSeasons:
    return past_seasons(visits(record), RAN, CALENDAR, season, PRESENCE)


def on(record: dict[str, list[pd.Timestamp]], day: str, season: int = 2024) -> pd.DataFrame:
    return around(past(record, season), visits(record), RAN, pd.Timestamp(day))


@pytest.fixture(scope="module")
def in_july() -> pd.DataFrame:
    return on(RECORD, "2024-07-20")


def test_shape(in_july: pd.DataFrame) -> None:
    assert list(in_july.columns) == ["Early", "Late", "Stay"]
    assert in_july.index[0] == pd.Timestamp("2022-06-01")
    assert in_july.index[-1] == pd.Timestamp("2025-05-31")
    assert in_july.index.is_unique and in_july.to_numpy().min() >= 0
    assert in_july.to_numpy().max() <= 1 + 1e-6


def test_visitors_are_expected_on_their_own_dates(in_july: pd.DataFrame) -> None:
    fall = in_july["2024-10-01":"2024-12-31"]
    for buck, best in (("Early", "2024-11-04"), ("Late", "2024-11-23")):
        peak = fall[buck].idxmax()
        assert abs((peak - pd.Timestamp(best)).days) <= 4
        assert fall[buck].max() > 0.4
        assert fall[buck]["2024-12-20":].max() < 0.15
    assert fall.loc["2024-11-03", "Early"] > 2 * fall.loc["2024-11-03", "Late"]
    assert fall.loc["2024-11-25", "Late"] > 2 * fall.loc["2024-11-25", "Early"]


def test_a_resident_is_around(in_july: pd.DataFrame) -> None:
    assert in_july["Stay"]["2024-07-01":"2024-07-20"].min() > 0.9
    assert in_july["Stay"]["2024-10-01":"2024-12-01"].min() > 0.6


def test_he_starts_a_season_where_he_ended_the_last() -> None:
    seen = {"Gone": days("2022-06-02", "2023-11-20", 2), **RECORD}
    opens = {}
    for carried in (0.0, 0.9):
        chosen = replace(PRESENCE, carried_over=carried)
        before = past_seasons(visits(seen), RAN, CALENDAR, 2024, chosen)
        here = around(before, visits(seen), RAN, pd.Timestamp("2024-06-01"))
        opens[carried] = here.loc["2024-06-01"]
    assert opens[0.9]["Stay"] > opens[0.0]["Stay"] + 0.02
    assert opens[0.9]["Stay"] > 2 * opens[0.9]["Gone"]


def test_the_future_is_not_known() -> None:
    later = {buck: [d for d in on_days if d <= pd.Timestamp("2024-10-20")]
             for buck, on_days in RECORD.items()}  # fmt: skip
    planted = {**RECORD, "Late": RECORD["Late"] + days("2024-10-21", "2025-02-20")}
    pd.testing.assert_frame_equal(on(later, "2024-10-20"), on(planted, "2024-10-20"))


def test_until_cuts_and_changes_nothing(in_july: pd.DataFrame) -> None:
    day, until = pd.Timestamp("2024-07-20"), pd.Timestamp("2024-07-27")
    cut = around(past(RECORD), visits(RECORD), RAN, day, until=until)
    assert cut.index[-1] == pd.Timestamp("2024-07-27")
    np.testing.assert_allclose(cut, in_july[:"2024-07-27"], atol=1e-6)


def test_before_he_was_first_seen_nothing_is_said() -> None:
    got = on({**RECORD, "New": days("2024-07-01", "2024-07-19")}, "2024-07-20")
    assert got["New"][:"2024-05-31"].isna().all()
    assert got.loc["2024-07-19", "New"] > 0.9


def test_in_a_first_season_and_with_nothing_at_all() -> None:
    first = {"New": days("2022-07-01", "2022-09-19", 2)}
    got = on(first, "2022-09-20", 2022)
    assert got.loc["2022-09-19", "New"] > 0.8 and not got["New"].isna().any()
    assert on({}, "2022-09-20", 2022).empty


def test_page_and_plan_say_the_same_of_a_day(in_july: pd.DataFrame) -> None:
    labelled = residency(visits(RECORD), RAN, CALENDAR, as_of=pd.Timestamp("2024-07-20"))
    pd.testing.assert_frame_equal(labelled.around, in_july)


def test_the_chance_that_he_is_gone_is_a_chance() -> None:
    """Seen daily, then never again: gone, or his fall ground is off the cameras."""
    left = {"Left": days("2022-06-02", "2022-10-25"), **RECORD}
    run = past(left, 2023).runs[2022]
    assert run.gone.min() >= 0 and run.gone.max() <= 1
    gone = run.gone[:, run.bucks.index("Left"), YEAR_ROUND].max(axis=-1)
    assert gone[140] < 0.01 < 0.5 < gone[-1]


def test_an_unsure_name_is_neither_absence_nor_presence() -> None:
    """Gone from the cameras for five weeks: unsure visits on those days are as no camera."""
    seen = {"Ash": days("2024-06-05", "2024-09-20", 3)}
    lull, sites = days("2024-09-21", "2024-10-25"), ("Alder", "Birch", "Cedar")
    ran = effort("2024-06-01", "2024-10-25")
    unsure = pd.concat([visits({"Ash": lull}, site=site) for site in sites])
    today = pd.Timestamp("2024-10-25")

    def last_day(ran: pd.DataFrame, unsure: pd.DataFrame | None) -> float:
        opened = past_seasons(visits(seen), ran, CALENDAR, 2024, PRESENCE, unsure)
        return float(around(opened, visits(seen), ran, today).loc[today, "Ash"])

    watched, maybe = last_day(ran, None), last_day(ran, unsure)
    assert maybe > 2 * watched
    dark = last_day(effort("2024-06-01", "2024-10-25", without=lull), None)
    assert maybe == pytest.approx(dark, abs=0.1)
    assert last_day(ran, unsure[unsure["day"] > today]) == watched
