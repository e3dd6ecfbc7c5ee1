"""The rows of plan.csv."""

from __future__ import annotations

import pandas as pd

from deerlog.analysis.plan.planned_sits import PlannedSit
from deerlog.report.plan_words import why
from deerlog.report.tables import TABLE_COLUMNS
from deerlog.study.plan import ComingPlan

COLUMNS = list(TABLE_COLUMNS["plan.csv"])


def plan_rows(made: ComingPlan) -> pd.DataFrame:
    """One row a stand and half-day, in the plan's order."""
    rows = [
        {
            "day": sit.day,
            "half": sit.half,
            "stand": sit.stand,
            "site": sit.site,
            "buck": sit.buck,
            "chance": sit.chance,
            "low": sit.low,
            "high": sit.high,
            "advice": sit.advice,
            "why": why(sit),
        }
        for sit in made.sits
    ]
    return pd.DataFrame(rows, columns=COLUMNS)


def site_rows(made: ComingPlan, every: pd.DataFrame) -> pd.DataFrame:
    """One row a running site, buck and half-day, in order of time.

    Parameters
    ----------
    every
        Of `deerlog.study.plan.every_site`. A row of a site that a stand covers bears the advice for
        that stand; of several stands, that of the better one.
    """
    of_stand: dict[tuple[object, str, str], tuple[int, PlannedSit]] = {}
    for rank, sit in enumerate(made.sits):
        of_stand[sit.day, sit.half, sit.place] = rank, sit
    rows = []
    for row in every.to_dict("records"):
        day = row["day"].date()
        places = row["stands"] or (row["site"],)
        known = [of_stand[key] for p in places if (key := (day, row["half"], p)) in of_stand]
        best = min(known)[1] if known else None
        rows.append(
            {
                **{name: row[name] for name in ("half", "site", "buck", "chance", "low", "high")},
                "day": day,
                "stand": best.stand if best is not None else "",
                "advice": best.advice if best is not None else "",
                "why": why(best) if best is not None else "",
            }
        )
    return pd.DataFrame(rows, columns=COLUMNS)
