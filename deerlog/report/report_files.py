"""The files of one report, as text by name."""

from __future__ import annotations

from pathlib import Path

from deerlog.report.contents import page_of_study
from deerlog.report.page import render_page
from deerlog.report.tables import table_text
from deerlog.report.write import write_report
from deerlog.study import Study


def report_files(study: Study) -> dict[str, str]:
    """The page and its tables; the same study gives the same bytes."""
    return {
        "report.html": render_page(page_of_study(study)),
        "residency.csv": table_text("residency.csv", study.residency.table),
        "weekly.csv": table_text("weekly.csv", study.residency.weekly),
        "daylight.csv": table_text("daylight.csv", study.daylight),
        "effort.csv": table_text("effort.csv", study.effort),
    }


def write_study_report(study: Study) -> Path:
    """Write ``reports/<as of>/`` in the property folder.

    Returns
    -------
    Path
        The report's folder.
    """
    folder = study.place.folder / "reports" / study.last_day.date().isoformat()
    return write_report(folder, report_files(study))
