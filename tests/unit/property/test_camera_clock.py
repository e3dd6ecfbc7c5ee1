"""The clock column."""

from __future__ import annotations

import pytest

from deerlog.property.cameras import clock_offset_minutes, parse_clock
from deerlog.property.cell_values import CellError


@pytest.mark.parametrize(
    ("text", "clock", "minutes"),
    [
        ("local", "local", None),
        (" LOCAL ", "local", None),
        ("UTC-5", "UTC-5", -300),
        ("utc - 5", "UTC-5", -300),
        ("UTC−05:00", "UTC-5", -300),
        ("GMT+5:30", "UTC+5:30", 330),
        ("UTC-0330", "UTC-3:30", -210),
        ("UTC", "UTC", 0),
        ("UTC+0", "UTC", 0),
        ("UTC+14", "UTC+14", 840),
    ],
)
def test_clocks(text: str, clock: str, minutes: int | None) -> None:
    assert parse_clock(text) == clock
    assert clock_offset_minutes(clock) == minutes


@pytest.mark.parametrize("text", ["EST", "-5", "UTC-13", "UTC+15", "UTC+5:20", "UTC-5:99", "UTC5"])
def test_what_is_no_clock(text: str) -> None:
    with pytest.raises(CellError) as caught:
        parse_clock(text)
    assert caught.value.how


def test_the_advice_holds_for_a_camera_set_in_summer() -> None:
    with pytest.raises(CellError) as caught:
        parse_clock("Central")
    assert "blank or write local" in caught.value.how
    assert "set in summer time in Central that is UTC-5, in winter UTC-6" in caught.value.how
