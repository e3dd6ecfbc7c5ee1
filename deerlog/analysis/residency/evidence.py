"""Which parts of the record argued for what."""

from __future__ import annotations

from collections.abc import Mapping

import pandas as pd

from deerlog.analysis.weeks import NOT_WATCHED, SEEN
from deerlog.timekeeping.seasons import PHASES


def weeks_by_part(weekly: pd.DataFrame, part_of: Mapping[str, str]) -> pd.DataFrame:
    """Weeks told by the part of the season they speak of.

    A week in which he was seen speaks of the days he was seen on: where those lie in two parts it
    stands in both, its evidence shared between them. Any other week speaks of the part of its
    middle day. So "seen in the rut" is said of a buck just where a visit of his lies in the rut.

    Parameters
    ----------
    weekly
        Of `deerlog.analysis.residency.residency.residency`.
    part_of
        The part of each phase.

    Returns
    -------
    DataFrame
        The columns of ``weekly`` and ``part``; the evidence of each week sums up to its own.
    """
    parts = [
        tuple(dict.fromkeys(part_of[p] for p in phases or (phase,)))
        for phases, phase in zip(weekly["phases_seen"], weekly["phase"], strict=True)
    ]
    shared = weekly["evidence"] / [len(p) for p in parts]
    return weekly.assign(
        part=pd.Series(parts, index=weekly.index, dtype="object"), evidence=shared
    ).explode("part")


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
        zero for living here), in order of time; phases with no week yet are not in it. A week in
        which he was seen in two phases counts in both (`weeks_by_part`).
    """
    weeks = weeks_by_part(weekly, {phase: phase for phase in PHASES})
    table = weeks.assign(
        phase=weeks["part"],
        seen=weeks["state"].eq(SEEN).astype(int),
        watched=weeks["state"].ne(NOT_WATCHED).astype(int),
    )
    grouped = table.groupby(["buck", "season", "phase"], sort=False, observed=True)
    return grouped.agg(
        weeks_seen=("seen", "sum"), weeks_watched=("watched", "sum"), evidence=("evidence", "sum")
    ).reset_index()
