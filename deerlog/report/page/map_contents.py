"""What the page shows of a buck's ground: use of the sites by phase, and how he moved."""

from __future__ import annotations

from typing import Any

import pandas as pd

from deerlog.analysis.shift.shift import FALL, phase_use
from deerlog.report.page.buck_data import BuckMap, MapSite, Move, PhaseMap, ShiftRow, SiteUse
from deerlog.report.words.words import shift_words
from deerlog.study import Study
from deerlog.timekeeping.seasons import PHASES

EARLY_SEASON = PHASES[1]
"""The panel that bears the move from summer to fall as a whole."""


def buck_map(study: Study, buck: str) -> BuckMap | None:
    """The panels of one buck; None where no site has a position."""
    placed = study.sites.dropna(subset=["x_m", "y_m"])
    if placed.empty:
        return None
    units = study.place.settings.units
    moves = _moves(study, buck, units)
    use = phase_use(study.visits, study.watched, study.calendar, buck)
    use = use[use["site"].isin(placed["site"])]
    return BuckMap(
        sites=tuple(
            MapSite(site=str(s), east_m=float(x), north_m=float(y))
            for s, x, y in zip(placed["site"], placed["x_m"], placed["y_m"], strict=True)
        ),
        phases=tuple(
            PhaseMap(
                phase=str(phase),
                uses=tuple(
                    SiteUse(
                        site=str(row["site"]),
                        visits=int(row["visits"]),
                        shooting_light_visits=int(row["shooting_light_visits"]),
                        camera_days=float(row["camera_days"]),
                        rate=None
                        if pd.isna(row["per_100_camera_days"])
                        else float(row["per_100_camera_days"]),
                    )
                    for row in part.to_dict("records")
                ),
                move=moves.get(str(phase)),
            )
            for phase, part in use.groupby("phase", sort=False)
        ),
        units=units,
    )


def shift_rows(study: Study, buck: str) -> tuple[ShiftRow, ...]:
    """Moves of the latest season that can tell of any; where none stands out, the one from summer.

    Of the move from summer to fall as a whole no more is said where that to the early season is
    known by itself.
    """
    return tuple(_shift_row(row) for row in _latest_moves(study, buck))


def _latest_moves(study: Study, buck: str) -> list[dict[Any, Any]]:
    table = study.shift[study.shift["buck"] == buck]
    table = table[table["season"] == table["season"].max()]
    if (table["from_phase"].eq("summer") & table["to_phase"].ne(FALL)).any():
        table = table[table["to_phase"] != FALL]
    told = table[table["change_day"].notna()]
    rows: list[dict[Any, Any]] = (told if len(told) else table.iloc[:1]).to_dict("records")
    return rows


def _shift_row(row: dict[Any, Any]) -> ShiftRow:
    return ShiftRow(
        season=int(row["season"]),
        from_phase=str(row["from_phase"]),
        to_phase=str(row["to_phase"]),
        distance_m=float(row["distance_m"]),
        low_m=float(row["low_m"]),
        high_m=float(row["high_m"]),
        change_probability=float(row["change_probability"]),
        change_day=None if pd.isna(row["change_day"]) else row["change_day"].date(),
    )


def _moves(study: Study, buck: str, units: str) -> dict[str, Move]:
    """The moves that are likelier than not, by the phase they led to."""
    moves = {}
    for row in _latest_moves(study, buck):
        if pd.isna(row["change_day"]):
            continue
        phase = EARLY_SEASON if row["to_phase"] == FALL else str(row["to_phase"])
        moves[phase] = Move(
            from_east_m=float(row["from_x_m"]),
            from_north_m=float(row["from_y_m"]),
            to_east_m=float(row["to_x_m"]),
            to_north_m=float(row["to_y_m"]),
            words=shift_words(_shift_row(row), units),
        )
    return moves
