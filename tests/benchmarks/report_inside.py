"""Run as a process: the report command, with a watch on what draws its page.

    python -m benchmarks.report_inside FOLDER

prints JSON: ``total_s`` from the start of this module, imports included; ``charts``, how many
matplotlib draws; ``drawing_s``, the time in those and in the panels of the maps; ``page_s``, the
time in which the page is made of what was worked out: drawing, strips and templates.
"""

from __future__ import annotations

import time

START = time.perf_counter()

import json  # noqa: E402
import sys  # noqa: E402
from collections.abc import Callable  # noqa: E402
from contextlib import redirect_stdout  # noqa: E402
from dataclasses import dataclass  # noqa: E402
from functools import wraps  # noqa: E402
from types import ModuleType  # noqa: E402
from typing import Any  # noqa: E402


@dataclass
class Watch:
    """Counts the calls of a function and adds up their time."""

    calls: int = 0
    spent_s: float = 0.0

    def put_on(self, module: ModuleType, name: str) -> None:
        """Put the function into its module again, watched."""
        watched: Callable[..., Any] = getattr(module, name)

        @wraps(watched)
        def timed(*arguments: Any, **more: Any) -> Any:
            begin = time.perf_counter()
            try:
                return watched(*arguments, **more)
            finally:
                self.spent_s += time.perf_counter() - begin
                self.calls += 1

        setattr(module, name, timed)


def main(folder: str) -> None:
    """Run the report and print the figures."""
    from deerlog.cli import main as deerlog
    from deerlog.report import report_files
    from deerlog.report.page import page

    charts, maps, whole = Watch(), Watch(), Watch()
    charts.put_on(page, "day_hour_chart")
    maps.put_on(page, "map_panels")
    whole.put_on(report_files, "render_page")
    with redirect_stdout(sys.stderr):
        deerlog(["--property", folder, "report"], standalone_mode=False)
    if not (charts.calls and whole.calls):
        raise RuntimeError("nothing was drawn where drawing was looked for")
    figures = {
        "total_s": time.perf_counter() - START,
        "charts": charts.calls,
        "drawing_s": charts.spent_s + maps.spent_s,
        "page_s": whole.spent_s,
    }
    print(json.dumps(figures))


if __name__ == "__main__":
    main(sys.argv[1])
