from __future__ import annotations

from deerlog.report.page.svg import COLOURS, SHAPES, site_marks


def test_no_two_of_42_sites_share_shape_and_colour() -> None:
    marks = site_marks([f"site {n}" for n in range(42)])
    assert len(set(marks.values())) == 42


def test_the_first_seven_differ_in_shape_and_the_first_six_in_colour_too() -> None:
    marks = list(site_marks([f"site {n}" for n in range(7)]).values())
    assert len({m.shape for m in marks}) == 7
    assert len({m.colour for m in marks[:6]}) == COLOURS


def test_outlines_fill_much_the_same_square() -> None:
    for name, outline in SHAPES:
        for axis in (0, 1):
            values = [corner[axis] for corner in outline]
            assert -1.2 <= min(values) <= -0.75, name
            assert 0.75 <= max(values) <= 1.2, name
