"""Weeks told by phase: a week that lies in two is told by the days he was seen on."""

from __future__ import annotations

import pandas as pd
import pytest
from invented.buck_record import days, effort, visits

from deerlog.analysis.residency.explain import reasons, weeks_by_part
from deerlog.analysis.residency.residency import Residency, residency
from deerlog.timekeeping.seasons import PHASES, SeasonCalendar

# The week of 2 to 8 November 2026; the rut begins on the 5th, its middle day.
TUESDAY, FRIDAY = pd.Timestamp("2026-11-03"), pd.Timestamp("2026-11-06")
SUMMER = days("2026-07-01", "2026-07-20", 4)


def scored(*seen: pd.Timestamp) -> Residency:
    return residency(
        visits({"Ash": [*SUMMER, *seen]}),
        effort("2026-06-01", "2026-12-31"),
        SeasonCalendar(),
        as_of=pd.Timestamp("2026-12-31"),
    )


def by_phase(result: Residency) -> pd.DataFrame:
    return weeks_by_part(result.weekly, dict(zip(PHASES, PHASES, strict=True)))


def weeks_seen(result: Residency) -> dict[str, int]:
    weeks = by_phase(result)
    return weeks["state"].eq("seen").groupby(weeks["part"]).sum().to_dict()


@pytest.mark.parametrize(
    ("seen", "pre_rut", "rut"),
    [((TUESDAY,), 1, 0), ((FRIDAY,), 0, 1), ((TUESDAY, FRIDAY), 1, 1), ((), 0, 0)],
)
def test_seen_in_a_phase_is_said_just_where_a_visit_lies_in_it(
    seen: tuple[pd.Timestamp, ...], pre_rut: int, rut: int
) -> None:
    result = scored(*seen)
    found = weeks_seen(result)
    assert (found["pre-rut"], found["rut"]) == (pre_rut, rut)
    reason = reasons(result.table, result.weekly)["Ash"]
    of_rut = {s.name: s for s in reason.stretches}["in the rut"]
    assert of_rut.weeks_seen == rut


def test_shared_weeks_neither_add_nor_lose_evidence() -> None:
    result = scored(TUESDAY, FRIDAY)
    table = by_phase(result)
    assert table["evidence"].sum() == pytest.approx(result.weekly["evidence"].sum())
    reason = reasons(result.table, result.weekly)["Ash"]
    assert sum(s.evidence for s in reason.stretches) == pytest.approx(table["evidence"].sum())


def test_a_month_is_named_for_the_days_he_was_seen_on() -> None:
    """The week of 30 November lies in December but for one day."""
    result = scored(pd.Timestamp("2026-11-30"), pd.Timestamp("2026-12-01"))
    week = result.weekly[result.weekly["week_start"] == pd.Timestamp("2026-11-30")]
    assert week["months_seen"].tolist() == [(11, 12)]
    assert scored(pd.Timestamp("2026-11-30")).weekly["months_seen"].tolist()[-5] == (11,)
    assert week["phase"].tolist() == ["late season"]
