"""Said where the record ends before yesterday, and nowhere else."""

from __future__ import annotations

from datetime import date

import pytest

from deerlog.cli.options import behind_today

LAST = date(2026, 11, 9)


def test_what_to_run_is_said() -> None:
    said = behind_today(LAST, date(2026, 11, 25), "deerlog plan --from {tomorrow}")
    assert said is not None
    assert "The cards end on 2026-11-09" in said
    assert said.endswith("`deerlog plan --from 2026-11-26`")
    other = behind_today(LAST, date(2026, 11, 25), "deerlog report --as-of {today}")
    assert other is not None and other.endswith("`deerlog report --as-of 2026-11-25`")


@pytest.mark.parametrize(
    ("last_day", "today"),
    [
        (LAST, LAST),
        (LAST, date(2026, 11, 10)),  # a card pulled this morning
        (LAST, date(2026, 11, 1)),  # a clock of the machine that is behind
        (LAST, date(2028, 11, 9)),  # a record of old
        (None, date(2026, 11, 25)),
    ],
)
def test_else_nothing_is_said(last_day: date | None, today: date) -> None:
    assert behind_today(last_day, today, "deerlog plan --from {tomorrow}") is None
