"""The files of one plan, as text by name."""

from __future__ import annotations

from datetime import UTC
from pathlib import Path

import pandas as pd

from deerlog.report.calendar_text import calendar_text
from deerlog.report.plan_table import plan_rows, site_rows
from deerlog.report.tables import table_text
from deerlog.report.write import PLAN_FILES, write_report
from deerlog.study import Study
from deerlog.study.plan import ComingPlan, every_site


def plan_files(study: Study, made: ComingPlan, *, all_sites: bool = False) -> dict[str, str]:
    """plan.csv and plan.ics; the same study and plan give the same bytes.

    Parameters
    ----------
    all_sites
        Put every running site, target and half in plan.csv, stand or no stand.
    """
    rows = site_rows(made, every_site(study, made)) if all_sites else plan_rows(made)
    zone = study.place.settings.timezone
    known_until = (study.last_day + pd.Timedelta(days=1)).tz_localize(zone).tz_convert(UTC)
    stands = study.place.stands.dropna(subset=["latitude", "longitude"])
    return {
        "plan.csv": table_text("plan.csv", rows),
        "plan.ics": calendar_text(
            made.sits,
            property_name=study.place.settings.name,
            made=known_until.to_pydatetime(),
            positions={
                str(name): (float(latitude), float(longitude))
                for name, latitude, longitude in zip(
                    stands["stand"], stands["latitude"], stands["longitude"], strict=True
                )
            },
        ),
    }


def write_plan(study: Study, made: ComingPlan, *, all_sites: bool = False) -> Path:
    """Write ``reports/<day before the plan>/``; a report that lies there is kept.

    Returns
    -------
    Path
        The folder.
    """
    folder = study.place.folder / "reports" / made.as_of.isoformat()
    return write_report(folder, plan_files(study, made, all_sites=all_sites), own=PLAN_FILES)
