"""The files of one report, as text by name."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd

from deerlog.report.page.contents import page_of_study, to_share
from deerlog.report.page.page import render_page
from deerlog.report.tables import table_text
from deerlog.report.words.season_words import outlook_table
from deerlog.report.write import write_report
from deerlog.study import PropertyStudy

SHARED_PAGE = "share.html"
"""The page that may be handed on, beside the owner's own."""


def report_files(
    study: PropertyStudy,
    *,
    weather: pd.DataFrame | None = None,
    pictures: bool = True,
    share: bool = False,
) -> dict[str, str]:
    """The page, which carries each target's last ``pictures``, and its tables; the same study and
    weather give the same bytes.

    ``weather`` is a forecast for the coming week, of `deerlog.study.plan_inputs.read_forecast`;
    ``share`` adds `SHARED_PAGE`, of `deerlog.report.page.contents.to_share`.
    """
    page = page_of_study(study, weather=weather, pictures=pictures)
    pages = {"report.html": page} | ({SHARED_PAGE: to_share(page)} if share else {})
    tables = {
        "residency.csv": study.residency.table,
        "weekly.csv": study.residency.weekly,
        "daylight.csv": study.daylight,
        "shift.csv": study.shift,
        "windows.csv": study.windows,
        "calendar.csv": study.stays,
        "outlook.csv": outlook_table(study),
        "effort.csv": study.effort,
    }
    return {name: render_page(page) for name, page in pages.items()} | {
        name: table_text(name, table) for name, table in tables.items()
    }


def write_study_report(
    study: PropertyStudy, progress: Callable[[str, int, int], None] | None = None, **how: Any
) -> Path:
    """Write ``reports/<as of>/`` in the property folder, which is given back; ``how`` is as for
    `report_files`.

    ``progress`` is told what is being done, with a total of 0: these steps have nothing to count.
    """
    tell = progress or (lambda what, done, total: None)
    folder = study.place.folder / "reports" / study.last_day.date().isoformat()
    tell("Working out who lives here", 0, 0)
    _ = study.residency
    tell("Working out the chances and drawing the page", 0, 0)
    return write_report(folder, report_files(study, **how))
