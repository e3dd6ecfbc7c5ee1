"""Sits that are much the same, gathered."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from deerlog.analysis.plan.planned_sits import ALIKE, PlannedSit, Veto, sit_groups
from deerlog.analysis.plan.stand_chances import Behind

FIRST = date(2025, 11, 8)
BEHIND = Behind(
    recent_seen=3, recent_watched=27, past_seen=5, past_watched=44, phase="rut",
    recent_visits=9, recent_in_light=4,
)  # fmt: skip
SIT = PlannedSit(
    day=FIRST, half="PM", stand="Blind", site="Beans", buck="Ash", chance=0.13, low=0.06,
    high=0.26, around=0.9, any_chance=0.2, n_bucks=1, behind=BEHIND, winds=(), wind_known=False,
    starts=None, ends=None,
)  # fmt: skip


def sit(day: int, chance: float, *vetoes: Veto, **other: object) -> PlannedSit:
    changes: dict[str, object] = {
        "day": FIRST + timedelta(days=day), "chance": chance, "low": chance / 2,
        "high": chance * 2, "vetoes": vetoes, **other,
    }  # fmt: skip
    return replace(SIT, **changes)  # type: ignore[arg-type]


def kept_for(day: int) -> Veto:
    return Veto(rule="better_day", day=FIRST + timedelta(days=day))


def days(groups: object) -> list[tuple[int, int]]:
    return [((g.first - FIRST).days, (g.last - FIRST).days) for g in groups]  # type: ignore[attr-defined]


def test_days_in_a_row_of_which_any_would_do_are_one_group() -> None:
    (group,) = sit_groups(
        [sit(0, 0.14), sit(1, 0.135, kept_for(0)), sit(2, 0.13, kept_for(3)), sit(3, 0.131)]
    )
    assert days([group]) == [(0, 3)]
    assert [s.day for s in group.sits] == [FIRST, FIRST + timedelta(days=3)]
    assert (group.least, group.most) == (0.13, 0.14)
    assert (group.low, group.high) == (0.065, 0.28)
    assert group.best.chance == 0.14


def test_chances_farther_apart_than_a_point_or_two_are_two_groups() -> None:
    assert len(sit_groups([sit(0, 0.14), sit(1, 0.14 - 0.9 * ALIKE)])) == 1
    groups = sit_groups([sit(0, 0.14), sit(1, 0.14 - 1.1 * ALIKE)])
    assert days(groups) == [(0, 0), (1, 1)]
    # A slow fall is cut too: no group is wider than that from end to end.
    falling = [sit(n, 0.14 - 0.008 * n) for n in range(6)]
    assert all(g.most - g.least <= ALIKE for g in sit_groups(falling))
    assert sum(len(g.sits) for g in sit_groups(falling)) == 6


def test_a_day_on_which_a_rule_forbids_parts_two_groups() -> None:
    wind = Veto(rule="wind", wind_degrees=180.0)
    assert days(sit_groups([sit(0, 0.14), sit(1, 0.14, wind), sit(2, 0.13)])) == [(0, 0), (2, 2)]
    small = Veto(rule="sit_at_least")
    assert sit_groups([sit(0, 0.03, small)]) == ()
    # Where another stand is merely better on a day between, any day would still do.
    better = Veto(rule="better_stand", stand="Ladder")
    assert days(sit_groups([sit(0, 0.14), sit(1, 0.14, better), sit(2, 0.13)])) == [(0, 2)]
    assert days(sit_groups([sit(0, 0.14, better), sit(1, 0.14)])) == [(1, 1)]


def test_days_kept_for_another_group_are_in_neither() -> None:
    """The best day stands alone, and its rest days are no days to go."""
    groups = sit_groups(
        [sit(0, 0.22), sit(1, 0.16, kept_for(0)), sit(2, 0.16, kept_for(0)), sit(3, 0.16)]
    )
    assert days(groups) == [(0, 0), (3, 3)]


def test_stands_halves_and_bucks() -> None:
    groups = sit_groups(
        [
            sit(0, 0.1),
            sit(1, 0.11, buck="Birch"),
            sit(0, 0.1, half="AM"),
            sit(1, 0.2, stand="Ladder"),
        ]
    )
    assert [(g.best.place, g.best.half) for g in groups] == [
        ("Ladder", "PM"), ("Blind", "PM"), ("Blind", "AM"), ("Blind", "PM"),
    ]  # fmt: skip
    assert [g.best.buck for g in groups] == ["Ash", "Birch", "Ash", "Ash"]
