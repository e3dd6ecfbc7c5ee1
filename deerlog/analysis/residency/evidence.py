"""Which parts of the record argued for what."""

from __future__ import annotations

import pandas as pd

from deerlog.analysis.weeks import NOT_WATCHED, SEEN


def phase_evidence(weekly: pd.DataFrame) -> pd.DataFrame:
    """Weeks and their evidence summed by season and phase.

    Parameters
    ----------
    weekly
        Of `deerlog.analysis.residency.residency.residency`.

    Returns
    -------
    DataFrame
        ``buck, season, phase, weeks_seen, weeks_watched, evidence`` (natural log of odds, above
        zero for living here), in order of time; phases with no week yet are not in it.
    """
    table = weekly.assign(
        seen=weekly["state"].eq(SEEN).astype(int),
        watched=weekly["state"].ne(NOT_WATCHED).astype(int),
    )
    grouped = table.groupby(["buck", "season", "phase"], sort=False, observed=True)
    return grouped.agg(
        weeks_seen=("seen", "sum"), weeks_watched=("watched", "sum"), evidence=("evidence", "sum")
    ).reset_index()
