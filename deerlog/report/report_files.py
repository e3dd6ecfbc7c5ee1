"""The files of one report, as text by name."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

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
    """The page and its tables; the same study and weather give the same bytes.

    Parameters
    ----------
    weather
        A forecast for the coming week, of `deerlog.study.plan_inputs.read_forecast`.
    pictures
        Whether the page carries each target's last pictures.
    share
        Whether to add `SHARED_PAGE`, of `deerlog.report.page.contents.to_share`.
    """
    page = page_of_study(study, weather=weather, pictures=pictures)
    return {
        "report.html": render_page(page),
        **({SHARED_PAGE: render_page(to_share(page))} if share else {}),
        "residency.csv": table_text("residency.csv", study.residency.table),
        "weekly.csv": table_text("weekly.csv", study.residency.weekly),
        "daylight.csv": table_text("daylight.csv", study.daylight),
        "shift.csv": table_text("shift.csv", study.shift),
        "windows.csv": table_text("windows.csv", study.windows),
        "calendar.csv": table_text("calendar.csv", study.stays),
        "outlook.csv": table_text("outlook.csv", outlook_table(study)),
        "effort.csv": table_text("effort.csv", study.effort),
    }


def write_study_report(
    study: PropertyStudy,
    progress: Callable[[str, int, int], None] | None = None,
    *,
    weather: pd.DataFrame | None = None,
    pictures: bool = True,
    share: bool = False,
) -> Path:
    """Write ``reports/<as of>/`` in the property folder.

    Parameters
    ----------
    progress
        Told what is being done; with a total of 0, since these steps have nothing to count.
    weather, pictures, share
        As for `report_files`.

    Returns
    -------
    Path
        The report's folder.
    """
    tell = progress or (lambda what, done, total: None)
    folder = study.place.folder / "reports" / study.last_day.date().isoformat()
    tell("Working out who lives here", 0, 0)
    _ = study.residency
    tell("Working out the chances and drawing the page", 0, 0)
    files = report_files(study, weather=weather, pictures=pictures, share=share)
    return write_report(folder, files)
