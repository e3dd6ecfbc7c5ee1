"""The residency tables and reasons recounted from the visits, row by row."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from invented.buck_record import days, effort, visits
from scipy.stats import beta

from deerlog.analysis.residency.explain import STRETCHES, reasons, what_if
from deerlog.analysis.residency.residency import Residency, residency
from deerlog.analysis.residency.tables import label_of
from deerlog.analysis.residency.standing import patterns_after
from deerlog.timekeeping.seasons import SeasonCalendar

CALENDAR = SeasonCalendar()
AS_OF = pd.Timestamp("2024-02-16")
HERD = {
    "Ash": days("2022-06-04", "2024-02-10", 5),
    "Elm": days("2022-11-10", "2022-11-19", 2) + days("2023-11-12", "2023-11-20", 2),
    "Fir": days("2023-09-13", "2024-02-14", 4),
    "Oak": days("2022-07-01", "2022-07-01") + days("2023-10-03", "2023-10-03"),
    "Yew": days("2022-06-08", "2023-05-20", 6),
}
OUT = days("2023-06-12", "2023-07-04") + days("2023-10-16", "2023-10-21")


@pytest.fixture(scope="module")
def seen() -> pd.DataFrame:
    light = visits(HERD)
    dark = visits({"Ash": days("2022-06-09", "2024-02-10", 10)}, site="Birch", in_light=False)
    return pd.concat([light, dark])


@pytest.fixture(scope="module")
def scored(seen: pd.DataFrame) -> Residency:
    ran = effort("2022-06-01", "2024-02-29", without=OUT)
    return residency(seen, ran, CALENDAR, as_of=AS_OF, targets=["Fir"], week_starts="Wed")


def week_first(day: pd.Timestamp) -> pd.Timestamp:
    """The Wednesday on or before a day."""
    return day - pd.Timedelta(days=(day.weekday() - 2) % 7)


def season_days(season: int) -> pd.DatetimeIndex:
    return pd.date_range(f"{season}-06-01", min(pd.Timestamp(f"{season + 1}-05-31"), AS_OF))


def test_weeks_recounted(seen: pd.DataFrame, scored: Residency) -> None:
    rows = iter(scored.weekly.itertuples(index=False))
    of_day: dict[tuple[str, pd.Timestamp], list[tuple[str, bool]]] = {}
    for buck, day, phase, lit in seen[["buck", "day", "phase", "in_light"]].to_numpy():
        of_day.setdefault((buck, day), []).append((phase, lit))
    out, states = set(OUT), []
    for buck, on in HERD.items():
        share, around = scored.share[buck].to_dict(), scored.around[buck].to_dict()
        for season in (2022, 2023):
            in_season = season_days(season)
            if season == 2022 and min(on) > in_season[-1]:
                continue
            weeks: dict[pd.Timestamp, list[pd.Timestamp]] = {}
            for day in in_season:
                weeks.setdefault(week_first(day), []).append(day)
            phase_of = dict(zip(in_season, CALENDAR.phase_of(in_season), strict=True))
            for first, week in weeks.items():
                row = next(rows)
                assert (row.buck, row.season, row.week_start) == (buck, season, first)
                came = [(day, *visit) for day in week for visit in of_day.get((buck, day), [])]
                watched = np.mean([min(share[day], 1.0) for day in week]) >= 0.25
                state = "seen" if came else "not seen" if watched else "not watched"
                assert row.state == state
                states.append(state)
                counts = (row.days_seen, row.visits, row.shooting_light_visits)
                if state == "not watched":
                    assert all(pd.isna(n) for n in counts)
                else:
                    n_days = len({day for day, _, _ in came})
                    assert counts == (n_days, len(came), sum(lit for _, _, lit in came))
                assert row.camera_days == pytest.approx(3 * sum(day not in out for day in week))
                assert row.around == pytest.approx(np.mean([around[day] for day in week]))
                phases = tuple(dict.fromkeys(phase for _, phase, _ in came))
                assert row.phases_seen == phases
                assert row.months_seen == tuple(dict.fromkeys(day.month for day, _, _ in came))
                middle = week[(len(week) - 1) // 2]
                assert row.phase == (phases[0] if phases else phase_of[middle])
    assert next(rows, None) is None
    assert set(states) == {"seen", "not seen", "not watched"}


def test_weeks_add_up_to_the_score_and_each_to_what_it_moved(scored: Residency) -> None:
    whole = scored.table[scored.table["season"] == "all"].set_index("buck")
    n_told = 0
    for buck, weeks in scored.weekly.groupby("buck"):
        score = whole.at[buck, "score"] / 100
        if not 1e-6 < score < 1 - 1e-6:
            continue  # too sure for what is left of it to have digits
        total = scored.prior_log_odds[str(buck)] + weeks["evidence"].sum()
        assert total == pytest.approx(np.log(score / (1 - score)), rel=1e-6)
        n_told += 1
    assert n_told >= 2


def test_rows_of_the_table_recounted(seen: pd.DataFrame, scored: Residency) -> None:
    weekly = scored.weekly
    rows = iter(scored.table.itertuples(index=False))
    for buck in HERD:
        his = seen[seen["buck"] == buck]
        seasons = [s for s in (2022, 2023) if s >= his["season"].min()]
        absences: list[int] = []
        for name in [*map(str, seasons), "all"]:
            row = next(rows)
            assert (row.buck, row.season, row.target) == (buck, name, buck == "Fir")
            mine = his if name == "all" else his[his["season"] == int(name)]
            weeks = weekly[weekly["buck"] == buck]
            weeks = weeks if name == "all" else weeks[weeks["season"] == int(name)]
            assert row.weeks_seen == (weeks["state"] == "seen").sum()
            assert row.weeks_watched == (weeks["state"] != "not watched").sum()
            n, lit = len(mine), int(mine["in_light"].sum())
            assert (row.days_seen, row.visits) == (mine["day"].nunique(), n)
            assert row.shooting_light_visits == lit
            daylight = (row.daylight_share, row.daylight_low, row.daylight_high)
            if n:
                assert (row.first_seen, row.last_seen) == (mine["day"].min(), mine["day"].max())
                low, high = beta(lit + 0.5, n - lit + 0.5).ppf([0.025, 0.975])
                wanted = (lit / n, low if lit else 0.0, high if lit < n else 1.0)
                assert daylight == pytest.approx(wanted)
            else:
                assert pd.isna(row.first_seen) and pd.isna(row.last_seen)
                assert all(np.isnan(each) for each in daylight)
            chances = [row.p_year_round, row.p_fall, row.p_summer, row.p_rut]
            assert row.score == pytest.approx(100 * (row.p_year_round + row.p_fall))
            told = ("year-round", "fall", "summer", "rut")[int(np.argmax(chances))]
            assert row.pattern == (told if n else "")
            so_far = his[his["season"] <= (int(name) if name != "all" else 2023)]["day"].nunique()
            n_days = mine["day"].nunique()
            assert row.label == label_of(row.score, n_days, so_far, 1 - sum(chances))
            if name != "all":
                on = sorted(set(mine["day"]))
                watched = scored.share[buck] >= 0.25
                gaps = [
                    int(watched[(watched.index > a) & (watched.index < b)].sum())
                    for a, b in pairwise(on)
                ]
                wanted = max(gaps, default=None)
                absences += [] if wanted is None else [wanted]
            else:
                wanted = max(absences, default=None)
            assert (pd.isna(row.longest_absence_days) if wanted is None
                    else row.longest_absence_days == wanted)  # fmt: skip
    assert next(rows, None) is None
    assert {"resident", "visiting", "undecided"} == set(scored.table["label"])


@pytest.mark.parametrize(
    ("case", "label"),
    [
        ((80.0, 9, 9, 0.0), "resident"),
        ((79.99, 9, 9, 0.0), "undecided"),
        ((20.0, 9, 9, 0.0), "visiting"),
        ((20.01, 9, 9, 0.0), "undecided"),
        ((99.0, 0, 9, 0.0), "undecided"),  # not seen in the season
        ((99.0, 1, 1, 0.0), "undecided"),  # one day may be another buck
        ((99.0, 1, 2, 0.0), "resident"),
        ((1.0, 9, 9, 0.5), "visiting"),
        ((1.0, 9, 9, 0.51), "undecided"),  # likelier dead than visiting
    ],
)
def test_where_labels_begin(case: tuple[float, int, int, float], label: str) -> None:
    assert label_of(*case) == label


OF_PHASE = {"summer": 0, "early season": 0, "pre-rut": 0, "rut": 1, "late season": 2}


def test_reasons_recounted(seen: pd.DataFrame, scored: Residency) -> None:
    told = reasons(scored.table, scored.weekly)
    assert list(told) == list(HERD)
    whole = scored.table[scored.table["season"] == "all"].set_index("buck")
    kinds = set()
    for buck, reason in told.items():
        weeks = scored.weekly[scored.weekly["buck"] == buck]
        latest = weeks[weeks["season"] == 2023]
        sign = {"resident": 1, "visiting": -1, "undecided": 0}[reason.label]
        # Seven to one for the label from this season alone, or there is no other.
        alone = weeks["season"].nunique() == 1 or sign * latest["evidence"].sum() >= 2.0
        assert reason.season == (2023 if alone else None)
        kinds.add(alone)
        used = latest if alone else weeks
        used = used[used["state"] != "not watched"]
        came = None
        if alone and reason.pattern == "fall":
            came = used.loc[used["state"] == "seen", "week_start"].min()
            used = used[used["week_start"] >= came]
        sums = {n: [0, 0, 0.0] for n in range(3)}
        for week in used.itertuples():
            parts = {OF_PHASE[p] for p in week.phases_seen or (week.phase,)}
            for part in parts:
                sums[part][0] += week.state == "seen"
                sums[part][1] += 1
                sums[part][2] += week.evidence / len(parts)
        wanted = [(STRETCHES[n], *sums[n]) for n in range(3) if sums[n][1]]
        got = [(s.name, s.weeks_seen, s.weeks_watched, s.evidence) for s in reason.stretches]
        assert [row[:3] for row in got] == [row[:3] for row in wanted]
        assert [row[3] for row in got] == pytest.approx([row[3] for row in wanted])
        for stretch in reason.stretches:
            assert (stretch in reason.arguing) == (sign * stretch.evidence > 0)
            first = came is not None and stretch is reason.stretches[0]
            assert stretch.since == (came.date() if first else None)
        last = max(HERD[buck])
        assert reason.last_seen == last.date() and reason.days_seen == len(set(HERD[buck]))
        later = weeks[(weeks["week_start"] > last) & (weeks["state"] != "not watched")]
        assert reason.weeks_watched_since == len(later)
        chances = whole.loc[buck, ["p_year_round", "p_fall", "p_summer", "p_rut"]].sum()
        assert reason.p_gone == pytest.approx(max(1 - chances, 0))
    assert kinds == {True, False}


def test_weeks_to_come_are_run_one_by_one(scored: Residency) -> None:
    standing = scored.standing
    assert standing is not None
    whole = scored.table[scored.table["season"] == "all"].set_index("buck")
    labels = [str(whole.at[buck, "label"]) for buck in standing.bucks]
    found = what_if(standing, labels)
    n_changes = 0
    for b, buck in enumerate(standing.bucks):
        share = standing.share[[b]]
        share = np.where(share < 0.25, 1.0, share)
        for name, a_week in (("unseen", 0), ("seen", 1)):
            wanted = None
            for weeks in range(1, 9):
                record = np.zeros((7 * weeks, 1), dtype=bool)
                record[3::7] = a_week  # on the middle day of each
                (chance,) = patterns_after(standing, np.array([b]), record, share, [7 * weeks - 1])
                n = int(standing.days_seen[b]) + a_week * weeks
                score, gone = 100 * chance[0, :2].sum(), chance[0, 4:].sum()
                label = label_of(float(score), n, n, float(gone))
                if label != labels[b]:
                    wanted = weeks, (AS_OF + pd.Timedelta(days=7 * weeks)).date(), label
                    break
            got = getattr(found[buck], name)
            assert (None if got is None else (got.weeks, got.until, got.label)) == wanted
            n_changes += wanted is not None
    assert n_changes
    short = what_if(standing, labels, least_watched_share=2.0)  # none stands: as on a usual day
    assert set(short) == set(found)


def test_a_season_s_end_is_the_end_of_what_is_foretold(seen: pd.DataFrame) -> None:
    def weeks_ahead(as_of: str) -> bool:
        ran = effort("2022-06-01", "2024-05-31")
        standing = residency(seen, ran, CALENDAR, as_of=pd.Timestamp(as_of)).standing
        assert standing is not None
        labels = ["no label"] * len(standing.bucks)  # so that any week changes it
        change = what_if(standing, labels)["Ash"].unseen
        return change is not None and change.until <= date(2024, 5, 31)

    assert weeks_ahead("2024-05-24") and not weeks_ahead("2024-05-25")


def test_what_is_known_of_a_buck_is_what_stands(seen: pd.DataFrame, scored: Residency) -> None:
    standing = scored.standing
    assert standing is not None
    assert standing.days[0] == AS_OF + pd.Timedelta(days=1)
    assert standing.days[-1] == pd.Timestamp("2024-05-31")
    for b, buck in enumerate(standing.bucks):
        assert standing.days_seen[b] == len(set(seen.loc[seen["buck"] == buck, "day"]))
        lately = scored.share.loc[AS_OF - pd.Timedelta(days=13) : AS_OF, buck]
        assert len(lately) == 14
        assert standing.share[b] == pytest.approx(lately.mean())
    assert 0.15 < scored.rate["Ash"] < 0.3, "he is seen on a day in five"
    outside = scored.around["Fir"].loc[:"2023-05-31"]
    assert outside.isna().all() and scored.around["Fir"].loc["2023-06-01":].notna().all()
