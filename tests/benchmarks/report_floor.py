"""The report against a plain script that reads the same and draws as many charts."""

from __future__ import annotations

import json
from collections.abc import Iterator

from benchmarks.one_process import run_deerlog, run_module
from benchmarks.several_runs import in_turn
from benchmarks.table import Row, seconds
from benchmarks.workbench import Workbench

AIM_SHARE = 0.5
CHART = '<svg class="chart" '
"""What a chart that matplotlib drew begins with on the page; the maps are drawn without it, and not
asked of the floor."""


def rows(bench: Workbench) -> Iterator[Row]:
    """The ratio, and the share of the report that is drawing."""
    folder = bench.ingested(bench.sizes.seasons).folder
    bench.tell("the report with a watch on what draws, and its floor")
    pages = sorted((folder / "reports").glob("*/report.html"))
    if not pages:
        run_deerlog(folder, "report")
        pages = sorted((folder / "reports").glob("*/report.html"))
    page = pages[-1]
    charts = page.read_text(encoding="utf-8").count(CHART)
    floor, report = in_turn(
        [
            lambda: run_module("floor", str(charts), str(folder)),
            lambda: run_module("report_inside", str(folder)),
        ],
        bench.sizes.few,
    )
    yield Row(
        work="report, against its floor",
        measured=seconds(report.wall_s),
        floor=f"{seconds(floor.wall_s)}: pandas reads, {charts} charts",
        ratio=report.wall_s / floor.wall_s,
    )
    figures = json.loads(report.output)
    if figures["charts"] != charts:
        raise RuntimeError(f"{charts} charts on the page, and {figures['charts']} were drawn")
    share = figures["drawing_s"] / figures["total_s"]
    yield Row(
        work="share of the report that is drawing (charts by matplotlib, maps)",
        measured=f"{seconds(figures['drawing_s'])} of {seconds(figures['total_s'])}",
        floor=f"with strips and templates {seconds(figures['page_s'])}",
        ratio=share,
        aim=f"more than {AIM_SHARE:g}",
        met=share > AIM_SHARE,
    )
