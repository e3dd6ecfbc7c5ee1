from __future__ import annotations

from deerlog.property.cameras import SETTINGS
from deerlog.report.page.svg import MARKS


def test_each_setting_has_a_shape_and_a_colour_of_its_own() -> None:
    assert tuple(MARKS) == SETTINGS
    assert len({mark.outline for mark in MARKS.values()}) == len(SETTINGS)
    assert len({mark.colour for mark in MARKS.values()}) == len(SETTINGS)


def test_shapes_fill_about_the_same_square() -> None:
    for setting, mark in MARKS.items():
        reach = [max(abs(c[axis]) for c in mark.outline) for axis in (0, 1)]
        assert all(0.8 <= r <= 1.2 for r in reach), setting
