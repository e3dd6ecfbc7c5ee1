"""Residency on records made by hand, each with a plain right answer."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from invented.buck_record import SITES, days, effort, visits

from deerlog.analysis.presence.judgement import Judgement
from deerlog.analysis.presence.patterns import PATTERNS
from deerlog.analysis.residency.residency import (
    RESIDENCY_COLUMNS,
    WEEKLY_COLUMNS,
    Residency,
    residency,
)
from deerlog.analysis.residency.standing import label_of
from deerlog.analysis.weeks import NOT_SEEN, NOT_WATCHED
from deerlog.timekeeping.seasons import SeasonCalendar

FIRST, LAST = "2022-06-01", "2024-05-31"
"""Two seasons, watched through."""

RECORDS = {
    "year-round": days("2022-06-04", "2024-05-20", 4),
    "fall": days("2022-09-18", "2023-02-20", 3) + days("2023-09-12", "2024-02-24", 3),
    "summer": days("2022-06-03", "2022-09-04", 3)
    + days("2023-04-28", "2023-09-08", 3)
    + days("2024-04-20", "2024-05-30", 3),
    "rut": days("2022-11-10", "2022-11-19", 2) + days("2023-11-12", "2023-11-22", 2),
}


def score_all(
    seen: dict[str, list[pd.Timestamp]],
    ran: pd.DataFrame | None = None,
    as_of: str = LAST,
    calendar: SeasonCalendar | None = None,
    **other: Any,
) -> Residency:
    calendar = calendar or SeasonCalendar()
    ran = effort(FIRST, LAST) if ran is None else ran
    return residency(
        visits(seen, calendar=calendar), ran, calendar, as_of=pd.Timestamp(as_of), **other
    )


def row(result: Residency, buck: str, season: str = "all") -> pd.Series:
    table = result.table
    found = table[(table["buck"] == buck) & (table["season"] == season)]
    assert len(found) == 1
    return found.iloc[0]


@pytest.fixture(scope="module")
def herd() -> Residency:
    return score_all(RECORDS, targets=["rut"])


# ---- labels ------------------------------------------------------------------------------------


@pytest.mark.parametrize("pattern", RECORDS)
@pytest.mark.parametrize("season", ["all", "2022", "2023"])
def test_each_pattern_is_told(herd: Residency, pattern: str, season: str) -> None:
    got = row(herd, pattern, season)
    assert got["pattern"] == pattern
    assert got["p_" + pattern.replace("-", "_")] > 0.8
    resident = pattern in ("year-round", "fall")
    assert got["label"] == ("resident" if resident else "visiting")
    assert got["score"] > 95 if resident else got["score"] < 5


@pytest.mark.parametrize("pattern", RECORDS)
def test_alone_on_the_property(pattern: str) -> None:
    """With one buck there is no herd to learn from, and every wrong tag could be his."""
    got = row(score_all({pattern: RECORDS[pattern]}), pattern)
    assert got["pattern"] == pattern
    assert got["label"] == ("resident" if pattern in ("year-round", "fall") else "visiting")


def test_one_photo_is_not_enough_to_tell() -> None:
    for day in ("2022-07-15", "2023-10-15", "2023-11-20", "2024-01-20"):
        got = row(score_all({"Ghost": days(day, day)} | RECORDS), "Ghost")
        assert got["label"] == "undecided"


def test_a_resident_may_be_gone_three_weeks() -> None:
    gone = [d for d in RECORDS["year-round"] if not "2023-10-10" <= str(d)[:10] <= "2023-10-31"]
    got = row(score_all({"Old One": gone}), "Old One")
    assert got["label"] == "resident"
    assert got["longest_absence_days"] >= 21


def test_a_buck_who_moved_in_is_a_resident_now() -> None:
    seen = RECORDS["rut"][:5] + days("2023-06-05", "2024-05-20", 4)
    result = score_all({"Mover": seen} | RECORDS)
    assert row(result, "Mover", "2022")["label"] == "visiting"
    assert row(result, "Mover", "2023")["label"] == "resident"
    assert row(result, "Mover")["label"] == "resident"


def test_a_buck_not_seen_for_a_whole_watched_season_is_gone() -> None:
    result = score_all({"Lost": days("2022-06-04", "2023-05-20", 4)} | RECORDS)
    got = row(result, "Lost", "2023")
    assert got["label"] == "gone"
    assert got["days_seen"] == 0
    assert got["pattern"] == ""
    assert row(result, "Lost", "2022")["label"] == "resident"


def test_wrong_tags_do_not_turn_a_visitor_into_a_resident() -> None:
    """Two tags in two years put on the wrong buck, among hundreds of visits of others."""
    wrong = days("2022-07-20", "2022-07-20") + days("2023-09-25", "2023-09-25")
    got = row(score_all(RECORDS | {"rut": RECORDS["rut"] + wrong}), "rut")
    assert got["label"] == "visiting"


def test_a_tag_among_many_of_others_is_worth_less() -> None:
    """A wrong tag needs a visit to be put on; on a busy day there are more."""
    stray = pd.Timestamp("2023-07-20")
    record = visits(RECORDS | {"rut": [*RECORDS["rut"], stray]})
    busy = pd.concat([record, *[visits({"year-round": [stray]})] * 60])
    calendar, as_of = SeasonCalendar(), pd.Timestamp(LAST)
    quiet_day, busy_day = (
        residency(v, effort(FIRST, LAST), calendar, as_of=as_of).around.at[stray, "rut"]
        for v in (record, busy)
    )
    assert busy_day < 0.8 * quiet_day


def test_a_late_rut_moves_the_visitors_window() -> None:
    late = days("2023-01-08", "2023-01-18", 2) + days("2024-01-09", "2024-01-20", 2)
    seen = {"Late": late, "home": RECORDS["year-round"]}
    by_january = score_all(seen, calendar=SeasonCalendar(rut_peak=(1, 10)))
    assert row(by_january, "Late")["pattern"] == "rut"
    assert row(by_january, "Late")["label"] == "visiting"
    by_november = score_all(seen)
    assert row(by_november, "Late")["p_rut"] < row(by_january, "Late")["p_rut"]


@pytest.mark.parametrize("season_start", [(3, 15), (7, 1), (8, 1)])
def test_another_start_of_the_season(season_start: tuple[int, int]) -> None:
    result = score_all(RECORDS, calendar=SeasonCalendar(season_start))
    for pattern in ("year-round", "fall", "rut"):
        assert row(result, pattern)["pattern"] == pattern


CERTAIN = {"days_seen": 5, "days_so_far": 5, "enough": True}


@pytest.mark.parametrize(
    ("chances", "p_gone", "other", "label"),
    [
        ({"year-round": 0.5, "fall": 0.3, "rut": 0.2}, 0.0, {}, "resident"),
        ({"year-round": 0.5, "fall": 0.29, "rut": 0.21}, 0.0, {}, "undecided"),
        ({"summer": 0.3, "rut": 0.3, "passing": 0.2, "fall": 0.2}, 0.0, {}, "visiting"),
        ({"summer": 0.3, "rut": 0.3, "passing": 0.19, "fall": 0.21}, 0.0, {}, "undecided"),
        # Not due yet, he may as well be gone.
        ({"rut": 0.6, "absent": 0.3, "fall": 0.1}, 0.3, {}, "visiting"),
        ({"rut": 0.2, "absent": 0.8}, 0.8, {}, "gone"),
        ({"rut": 0.2, "absent": 0.8}, 0.79, {"days_seen": 0}, "undecided"),
        ({"rut": 0.2, "absent": 0.8}, 0.8, {"days_seen": 0}, "gone"),
        # He lived here, and is gone; he passed, and is gone: that was a visit.
        ({"year-round": 1.0}, 0.8, {}, "gone"),
        ({"year-round": 1.0}, 0.51, {}, "undecided"),
        ({"passing": 1.0}, 1.0, {}, "visiting"),
        # One day on camera; unseen this season; nothing that could tell.
        ({"rut": 1.0}, 0.0, {"days_seen": 1, "days_so_far": 1}, "undecided"),
        ({"rut": 1.0}, 0.0, {"days_seen": 1, "days_so_far": 2}, "visiting"),
        ({"year-round": 1.0}, 0.0, {"days_seen": 0}, "undecided"),
        ({"year-round": 1.0}, 0.0, {"enough": False}, "undecided"),
        ({"summer": 1.0}, 0.0, {"enough": False}, "undecided"),
    ],
)
def test_labels_at_their_bounds(
    chances: dict[str, float], p_gone: float, other: dict[str, Any], label: str
) -> None:
    chance = np.array([chances.get(pattern, 0.0) for pattern in PATTERNS])
    assert label_of(chance, p_gone, **{**CERTAIN, **other}) == label


def test_a_buck_of_october_alone_is_no_resident() -> None:
    """He comes for three weeks in October: first he may stay, then he has passed."""
    seen = {"Passer": days("2023-10-07", "2023-10-26", 2), "home": RECORDS["year-round"]}
    in_october = row(score_all(seen, as_of="2023-10-27"), "Passer")
    assert in_october["label"] == "undecided"
    assert in_october["pattern"] == ""
    for day in ("2023-11-20", "2024-01-31"):
        later = row(score_all(seen, as_of=day), "Passer")
        assert later["label"] == "visiting"
        assert later["p_passing"] > 0.5


def test_a_resident_who_is_shot_is_gone_and_stays_so() -> None:
    seen = {"Shot": days("2022-06-04", "2023-11-12", 2), "home": RECORDS["year-round"]}
    alive = row(score_all(seen, as_of="2023-11-13"), "Shot")
    assert alive["label"] == "resident"
    assert alive["p_gone"] < 0.05
    for day in ("2023-12-31", "2024-05-30"):
        got = row(score_all(seen, as_of=day), "Shot")
        assert got["label"] == "gone"
        assert got["score"] > 90, "he did live here through the hunting season"
    later = score_all(seen, effort(FIRST, "2025-05-31"), "2024-07-31")
    assert row(later, "Shot")["label"] == "gone"
    assert row(later, "Shot", "2024")["days_seen"] == 0
    assert later.around["Shot"]["2024-07-01":].max() < 0.1


def test_nothing_is_said_before_anything_could_tell() -> None:
    """A buck of summer as of early September: residents and summer bucks look the same so far."""
    seen = {"Velvet": days("2023-06-04", "2023-09-04", 2)}
    early = row(score_all(seen, effort("2023-06-01", "2023-09-05"), "2023-09-05"), "Velvet")
    assert early["label"] == "undecided"
    # With a season behind him the same four months are enough.
    known = {"Velvet": RECORDS["year-round"][:80] + seen["Velvet"]}
    assert row(score_all(known, as_of="2023-09-05"), "Velvet")["label"] == "resident"


def test_many_tags_where_they_make_no_sense_are_wrong_names() -> None:
    """Summer and rut bucks tagged now and then all year: the person who tags mixes bucks up."""
    clean = score_all(RECORDS)
    stray = {
        buck: RECORDS[buck] + days(f"2022-06-{9 + n:02d}", "2024-05-20", 35)
        for n, buck in enumerate(("fall", "summer", "rut"))
    }
    mixed = score_all(RECORDS | stray)
    assert clean.wrong is not None and mixed.wrong is not None
    assert clean.wrong.share < 0.03 < mixed.wrong.share
    assert mixed.wrong.low <= mixed.wrong.share <= mixed.wrong.high
    for pattern in RECORDS:
        assert row(mixed, pattern)["pattern"] == pattern


# ---- what was not watched ----------------------------------------------------------------------


def random_record(seed: int, n_bucks: int = 3) -> dict[str, list[pd.Timestamp]]:
    rng = np.random.default_rng(seed)
    watched = np.array(days("2022-07-01", "2023-04-30"))
    return {
        f"Buck {b}": [
            pd.Timestamp(d) for d in watched[np.sort(rng.choice(len(watched), n, replace=False))]
        ]
        for b, n in enumerate(rng.integers(1, 40, n_bucks))
    }


@settings(max_examples=8)
@given(seed=st.integers(0, 10**6))
def test_days_without_effort_leave_every_score_alone(seed: int) -> None:
    """More days, a dead camera, a site never run: no answer may move."""
    seen = random_record(seed)
    ran = effort("2022-07-01", "2023-04-30")
    plain = score_all(seen, ran, "2023-04-30")
    dead = [
        effort("2022-06-01", "2022-06-30", camera_day=0.0),
        effort("2023-05-01", "2023-05-31", camera_day=0.0),
        effort("2022-06-01", "2023-05-31", sites=["Dogwood"], camera_day=0.0),
    ]
    more = score_all(seen, pd.concat([ran, *dead]), "2023-05-31")
    columns = ["score", "p_year_round", "p_fall", "p_summer", "p_rut"]
    np.testing.assert_allclose(
        more.table[columns].to_numpy(),
        plain.table[columns].to_numpy(),
        rtol=0,
        atol=1e-4,  # single precision, of 100
    )
    assert list(more.table["weeks_watched"]) == list(plain.table["weeks_watched"])


def test_a_week_without_effort_argues_nothing() -> None:
    gap = days("2022-09-01", "2022-12-31")
    seen = {k: [d for d in on if d not in set(gap)] for k, on in RECORDS.items()}
    result = score_all(seen, effort(FIRST, LAST, without=gap))
    week = result.weekly
    blind = week[week["camera_days"] == 0]
    # Sixteen whole weeks, of the three bucks met before them.
    assert len(blind) == 3 * 16
    assert blind["evidence"].abs().max() < 1e-4
    assert (blind["state"] == NOT_WATCHED).all()
    assert blind[["days_seen", "visits", "shooting_light_visits"]].isna().all(axis=None)
    assert week.loc[week["state"] == NOT_SEEN, "visits"].eq(0).all()


def test_not_seen_while_watched_costs_a_resident_and_unwatched_does_not() -> None:
    gap = days("2023-09-15", "2024-01-31")
    seen = {"Old One": [d for d in RECORDS["year-round"] if d not in set(gap)]}
    watched = row(score_all(seen), "Old One")["score"]
    unwatched = row(score_all(seen, effort(FIRST, LAST, without=gap)), "Old One")["score"]
    assert unwatched > 95
    assert watched < 50


def test_a_tag_on_a_day_without_effort_counts() -> None:
    """The effort table is wrong there: something ran. He was around, and nothing breaks."""
    gap = days("2023-09-15", "2024-01-31")
    ran = effort(FIRST, LAST, without=gap)
    known = [d for d in RECORDS["year-round"] if d not in set(gap)]
    without = score_all({"Old One": known}, ran)
    caught = pd.Timestamp("2023-10-20")
    result = score_all({"Old One": [*known, caught]}, ran)
    assert result.around.at[caught, "Old One"] > 0.98
    assert result.around.at[caught, "Old One"] > without.around.at[caught, "Old One"] + 0.02
    assert row(result, "Old One")["days_seen"] == len(known) + 1
    week = result.weekly.set_index("week_start").loc[pd.Timestamp("2023-10-16")]
    assert (week["state"], week["days_seen"]) == ("seen", 1)
    assert np.isfinite(result.weekly["evidence"]).all()


def test_tags_and_no_effort_at_all() -> None:
    """Every camera missing from the effort table: the tags still stand."""
    result = score_all(RECORDS, effort("2022-06-02", "2022-06-01"))
    assert result.table["score"].between(0, 100).all()
    assert (result.share == 0).all(axis=None)
    assert set(result.weekly["state"]) == {"seen", NOT_WATCHED}
    # Seen in every month says he lives here; what was not seen says nothing against the others.
    assert row(result, "year-round")["label"] == "resident"
    assert result.around.at[RECORDS["rut"][0], "rut"] > 0.95


# ---- as of -------------------------------------------------------------------------------------


@pytest.mark.parametrize("as_of", ["2022-07-05", "2022-11-15", "2023-05-30", "2023-06-01"])
def test_as_of_is_the_same_as_never_having_known_the_rest(as_of: str) -> None:
    day = pd.Timestamp(as_of)
    known = {k: [d for d in on if d <= day] for k, on in RECORDS.items()}
    cut = score_all(known, effort(FIRST, as_of), as_of)
    whole = score_all(RECORDS, as_of=as_of)
    pd.testing.assert_frame_equal(cut.table, whole.table)
    pd.testing.assert_frame_equal(cut.weekly, whole.weekly)
    pd.testing.assert_frame_equal(cut.around, whole.around)
    assert whole.weekly["week_start"].max() <= day
    assert whole.around.index[-1] > day  # the forecast reaches to the season's end


def test_a_season_says_the_same_once_later_seasons_are_blind() -> None:
    """Seasons without any effort move no earlier season's row."""
    seen = {k: [d for d in on if d < pd.Timestamp("2023-06-01")] for k, on in RECORDS.items()}
    ran = effort(FIRST, "2023-05-31")
    now, later = (score_all(seen, ran, day) for day in ("2023-05-31", "2024-05-31"))
    for pattern in RECORDS:
        before, after = row(now, pattern, "2022"), row(later, pattern, "2022")
        assert after["score"] == pytest.approx(before["score"], abs=1e-7)


# ---- evidence and facts ------------------------------------------------------------------------


@settings(max_examples=8)
@given(seed=st.integers(0, 10**6))
def test_evidence_sums_to_the_score(seed: int) -> None:
    result = score_all(random_record(seed), effort(FIRST, LAST))
    argued = result.weekly.groupby("buck")["evidence"].sum()
    for buck, prior in result.prior_log_odds.items():
        p = row(result, buck)["score"] / 100
        # A chance printed from its odds, to the digits a chance near 1 has.
        assert 1 / (1 + np.exp(-(prior + argued[buck]))) == pytest.approx(p, abs=1e-12)
        assert prior + argued[buck] == pytest.approx(np.log(p) - np.log1p(-p), rel=1e-4)


@settings(max_examples=8)
@given(seed=st.integers(0, 10**6))
def test_chances_are_chances_in_any_order_of_rows(seed: int) -> None:
    seen, ran = visits(random_record(seed)), effort(FIRST, "2023-05-31")
    calendar, as_of = SeasonCalendar(), pd.Timestamp("2023-05-31")
    result = residency(seen, ran, calendar, as_of=as_of)
    table = result.table
    assert table["score"].between(0, 100).all()
    shares = table[["p_year_round", "p_fall", "p_summer", "p_rut", "p_passing"]]
    assert ((shares >= 0) & (shares <= 1)).all(axis=None)
    assert (shares.sum(axis=1) <= 1 + 1e-9).all()
    np.testing.assert_allclose(
        table["score"], 100 * (table["p_year_round"] + table["p_fall"]), atol=1e-9
    )
    assert ((result.around >= 0) & (result.around <= 1 + 1e-9)).all(axis=None)
    shuffled = residency(
        seen.sample(frac=1, random_state=seed), ran.sample(frac=1, random_state=seed),
        calendar, as_of=as_of,
    )  # fmt: skip
    pd.testing.assert_frame_equal(shuffled.table, table, rtol=1e-9)


def test_plain_facts_beside_the_score(herd: Residency) -> None:
    got = row(herd, "rut", "2023")
    assert got["target"]
    assert not row(herd, "fall")["target"]
    assert (got["first_seen"], got["last_seen"]) == (
        pd.Timestamp("2023-11-12"),
        pd.Timestamp("2023-11-22"),
    )
    assert (got["days_seen"], got["visits"], got["shooting_light_visits"]) == (6, 6, 6)
    assert got["daylight_share"] == 1.0
    assert got["daylight_high"] == 1.0
    assert got["longest_absence_days"] == 1
    assert got["weeks_seen"] == 3  # from Sunday the 12th to Wednesday the 22nd
    assert got["weeks_watched"] == 53
    whole = row(herd, "rut")
    assert whole["days_seen"] == 11
    assert whole["first_seen"] == pd.Timestamp("2022-11-10")
    assert whole["longest_absence_days"] == 1  # within a season; a summer away is no absence


def test_absence_counts_watched_days_only() -> None:
    seen = {"Old One": [pd.Timestamp("2022-10-01"), pd.Timestamp("2022-10-31")]}
    assert row(score_all(seen), "Old One")["longest_absence_days"] == 29
    ran = effort(FIRST, LAST, without=days("2022-10-05", "2022-10-14"))
    assert row(score_all(seen, ran), "Old One")["longest_absence_days"] == 19
    once = row(score_all({"Old One": seen["Old One"][:1]}), "Old One")
    assert once["longest_absence_days"] is pd.NA


def test_days_with_several_visits() -> None:
    table = pd.concat([visits({"Crab": days("2022-10-01", "2022-10-03")})] * 3)
    result = residency(
        table, effort(FIRST, LAST), SeasonCalendar(), as_of=pd.Timestamp("2022-10-20")
    )
    got = row(result, "Crab")
    assert (got["days_seen"], got["visits"]) == (3, 9)


def test_a_record_begins_with_the_season_he_was_first_seen_in() -> None:
    result = score_all({"New": days("2023-10-01", "2023-12-01", 3)} | RECORDS)
    assert list(result.table.loc[result.table["buck"] == "New", "season"]) == ["2023", "all"]
    assert set(result.weekly.loc[result.weekly["buck"] == "New", "season"]) == {2023}
    assert result.around.loc[:"2023-05-31", "New"].isna().all()
    assert result.around.loc["2023-06-01":, "New"].notna().all()


def test_columns_and_types(herd: Residency) -> None:
    assert list(herd.table.columns) == RESIDENCY_COLUMNS
    assert list(herd.weekly.columns) == WEEKLY_COLUMNS
    assert herd.table["longest_absence_days"].dtype == "Int64"
    assert herd.table["first_seen"].dtype == "datetime64[us]"
    assert not herd.weekly.duplicated(["buck", "season", "week_start"]).any()
    assert list(herd.around.columns) == sorted(RECORDS)
    order = herd.weekly[["buck", "season", "week_start"]]
    pd.testing.assert_frame_equal(
        order, order.sort_values(["buck", "season", "week_start"], ignore_index=True)
    )


def test_around_follows_the_sightings(herd: Residency) -> None:
    around = herd.around
    assert around.loc[RECORDS["rut"], "rut"].min() > 0.9
    assert around.loc["2023-07-01":"2023-09-30", "rut"].max() < 0.1
    assert around.loc["2023-07-01":"2024-04-30", "year-round"].min() > 0.8


# ---- nothing, and the user's own rates ---------------------------------------------------------


@pytest.mark.parametrize("as_of", ["2022-06-01", LAST])
def test_no_visits(as_of: str) -> None:
    result = score_all({}, as_of=as_of)
    assert list(result.table.columns) == RESIDENCY_COLUMNS
    assert list(result.weekly.columns) == WEEKLY_COLUMNS
    assert result.table.empty
    assert result.weekly.empty
    assert result.around.empty


def test_nothing_known_by_that_day() -> None:
    assert score_all(RECORDS, as_of="2022-05-31").table.empty


def test_a_site_that_no_effort_names() -> None:
    table = visits({"Crab": days("2022-10-01", "2022-10-20", 3)}, site="")
    result = residency(
        table, effort(FIRST, LAST, sites=SITES), SeasonCalendar(), as_of=pd.Timestamp("2023-05-31")
    )
    assert row(result, "Crab")["days_seen"] == 7
    assert np.isfinite(result.weekly["evidence"]).all()


def test_own_rates_move_the_answer() -> None:
    one_photo = {"Ghost": days("2023-10-15", "2023-10-15")}
    scores = [
        row(score_all(one_photo, judgement=Judgement(prior_rut=p)), "Ghost")["score"]
        for p in (0.05, 0.38, 0.95)
    ]
    assert scores[0] > scores[1] > scores[2]


@pytest.mark.parametrize(
    "chosen",
    [
        {"stranger_rate": 1e-9, "wrong_tag_share": 1e-9},
        {"wrong_tag_share": 1.0},
        {"persistence": 1.0, "vanish": 1e-9},
        {"vanish": 1.0},
        {"rate_median": 6.0, "rate_buck_log_sd": 3.0},
    ],
)
def test_extreme_rates_still_give_answers(chosen: dict[str, float]) -> None:
    result = score_all(RECORDS, judgement=Judgement.from_settings(chosen))
    assert result.table["score"].between(0, 100).all()
    assert np.isfinite(result.weekly["evidence"]).all()


def test_one_camera_makes_modest_scores() -> None:
    """A few days of June and none in fall: at one camera he may live out of its sight."""
    seen = {"Shy": days("2023-06-18", "2023-06-26", 4), "home": RECORDS["year-round"]}
    ran = effort(FIRST, LAST, sites=["Alder"])

    def shy(**values: float) -> pd.Series:
        table = score_all(seen, ran, "2023-10-31", judgement=Judgement(**values))
        return row(table, "Shy")

    as_it_is, sure = shy(), shy(off_few_sites=0.1)
    assert as_it_is["label"] == "undecided"
    assert sure["score"] < 20 < as_it_is["score"]
    assert Judgement().at_sites(1.0).off_days > 2 * Judgement().at_sites(4.0).off_days
    assert Judgement().at_sites(1.0).off_rate < Judgement().at_sites(4.0).off_rate
