"""Many properties on one page and in one table: a row each, by what needs a person."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd

from deerlog.report.page.changed_contents import latest_earlier_report, what_changed
from deerlog.report.page.template_engine import page_templates
from deerlog.report.tables import OVERVIEW_COLUMNS, cells_text
from deerlog.report.words.words import half, percent, short_weekday, weekday
from deerlog.study import PropertyStudy
from deerlog.study.plan import coming_plan

PAGE, TABLE = "overview.html", "overview.csv"
Row = dict[str, Any]
"""A property by `OVERVIEW_COLUMNS`; what is not known is None."""


def overview_row(study: PropertyStudy, report: Path) -> Row:
    """What a person who looks after many properties asks of one; ``report`` is its page."""
    to_mend = [p for p in study.problems if p.must_mend]
    made = coming_plan(study)
    sit = next((sit for sit in made.sits if sit.advice == "sit"), None)
    earlier = latest_earlier_report(study.place.folder, study.last_day.date())
    return {
        "property": study.place.settings.name,
        "cards_through": study.ran_until,
        "to_mend": len(to_mend),
        "mend_first": f"{to_mend[0].place()}: {to_mend[0].why}" if to_mend else None,
        "untagged": study.untagged_visits,
        "best_sit": None if sit is None else (
            f"{short_weekday(sit.day)}, {half(sit.half)}, {sit.place}: {sit.buck}"
        ),
        "chance": None if sit is None else sit.chance,
        "changed": "" if earlier is None else " ".join(what_changed(study, earlier, made.bucks)),
        "report": report.as_posix(),
    }  # fmt: skip


def overview_files(rows: Sequence[Row], folder: Path, today: date) -> dict[str, str]:
    """The page and the table, as text by file name, to be written into ``folder``: folders and
    reports are named from there.

    ``rows`` are of `overview_row`, each with ``folder``; or ``folder`` and ``error`` where it
    failed.
    """
    empty: Row = dict.fromkeys(OVERVIEW_COLUMNS)
    ordered = sorted((empty | row for row in rows), key=_need)
    for row in ordered:
        for name in ("folder", "report"):
            if row[name]:
                row[name] = Path(row[name]).relative_to(folder).as_posix()
    environment = page_templates()
    environment.filters.update(percent=percent)
    page = environment.get_template("overview.html.j2").render(rows=ordered, day=weekday(today))
    frame = pd.DataFrame(ordered, columns=list(OVERVIEW_COLUMNS), dtype=object)
    return {PAGE: page, TABLE: cells_text(OVERVIEW_COLUMNS, frame)}


def _need(row: Row) -> tuple[Any, ...]:
    """First what failed, then what must be mended, what waits for a name, the oldest cards."""
    through = row["cards_through"] or date.min
    waiting = row["to_mend"] or 0, row["untagged"] or 0
    return row["error"] is None, *(-n for n in waiting), through, row["folder"]
