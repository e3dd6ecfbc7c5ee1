"""Time zone names as people type them."""

from __future__ import annotations

import pytest

from deerlog.property.settings import hours_from_sun, nearest_zone, zone_exists


@pytest.mark.parametrize(
    "name", ["", "Central", "America", "../x", "/etc", "America/Chicgo", "a\0b"]
)
def test_what_is_no_zone(name: str) -> None:
    assert not zone_exists(name)


@pytest.mark.parametrize(
    ("name", "zone"),
    [
        ("america/new york", "America/New_York"),
        ("Chicago", "America/Chicago"),
        ("US Central", "America/Chicago"),
        ("CST", "America/Chicago"),
        ("pdt", "America/Los_Angeles"),
        ("Mountain time", "America/Denver"),
        ("zzzz", None),
    ],
)
def test_nearest_zone(name: str, zone: str | None) -> None:
    assert nearest_zone(name) == zone


def test_the_sun_at_a_zone_meridian_keeps_its_clock() -> None:
    assert hours_from_sun("America/Chicago", -90.0) == pytest.approx(0.0, abs=1e-9)
    assert hours_from_sun("America/Chicago", -97.5) == pytest.approx(-0.5, abs=1e-9)
    assert hours_from_sun("America/Chicago", 90.0) == pytest.approx(-12.0, abs=1e-9)
