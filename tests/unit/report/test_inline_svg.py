from __future__ import annotations

import pytest
from matplotlib.figure import Figure

from deerlog.report.page.svg import STAND_INS, figure_svg


def drawing(colour: str) -> Figure:
    figure = Figure(figsize=(1, 1))
    figure.patch.set_visible(False)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.plot([0, 1], [0, 1], color=colour)
    return figure


def test_a_stand_in_becomes_its_property() -> None:
    svg = figure_svg(drawing(STAND_INS["--rut"]), "c", title="t", description="d")
    assert "stroke: var(--rut)" in svg


def test_a_colour_that_is_none_of_the_page_is_refused() -> None:
    with pytest.raises(ValueError, match="#123456"):
        figure_svg(drawing("#123456"), "c", title="t", description="d")


def test_title_and_description_are_escaped_and_named() -> None:
    svg = figure_svg(drawing(STAND_INS["--ink"]), "c", title="<i>&", description='"d"')
    assert svg.startswith('<svg class="chart" role="img" viewBox="0 0 72 72"')
    assert 'aria-labelledby="c-title c-desc"' in svg
    assert '<title id="c-title">&lt;i&gt;&amp;</title>' in svg


def test_no_date_and_no_program_in_it() -> None:
    svg = figure_svg(drawing(STAND_INS["--ink"]), "c", title="t", description="d")
    assert "metadata" not in svg
    assert "Matplotlib" not in svg
