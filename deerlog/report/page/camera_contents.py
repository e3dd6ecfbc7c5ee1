"""What the page shows of each camera."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

import pandas as pd

from deerlog.report.page.template_engine import Row, records, rows
from deerlog.study import PropertyStudy

_MOMENT, _DAY = timedelta(microseconds=1), timedelta(days=1)


STATES = ("ran", "not looked at", "part", "not known")
"""A day of a camera: it ran; it ran, but most of what it took is untagged; it ran for a part of the
day; it is not known to have run."""
_WHOLE_DAY = 0.95  # a camera-day above this is drawn as a whole one; our choice
_LOOKED_AT = 0.5  # share of a camera-day that must have been looked at; our choice


def camera_sections(study: PropertyStudy) -> list[Row]:
    """Every camera of cameras.csv, in its order."""
    effort = study.effort.assign(watched=study.watched["camera_day"])
    return [
        _section(study, camera, effort[effort["camera"] == camera].sort_values("day"))
        for camera in dict.fromkeys(study.place.placements["camera"])
    ]


def _section(study: PropertyStudy, camera: str, effort: pd.DataFrame) -> Row:
    """Where it stands, when it ran, what is wrong, what waits to be tagged.

    ``effort`` is day, site and state, in order; ``placements`` are those of the season;
    ``untagged`` counts visits that nobody has looked at.
    """
    log = study.field_log
    placed = study.place.placements[study.place.placements["camera"] == camera]
    season = study.season_now
    of_season = study.calendar.season_of(effort["day"]) == season
    visits = log.visits[log.visits["camera"] == camera]
    visits = visits[visits["first"] < study.last_moment]
    running = effort.loc[effort["camera_day"] > 0, "day"]
    here = placed["end"].isna() | (placed["end"] > pd.Timestamp(study.calendar.bounds(season)[0]))
    days = effort[["day", "site", "camera_day", "watched"]].itertuples(index=False)
    return {
        "camera": camera,
        "placements": rows(placed[here & (placed["start"] <= study.last_day)]),
        "effort": [
            *((day.date(), site, _state(ran, watched)) for day, site, ran, watched in days),
            *_days_not_told_of(study, placed, effort["day"].max()),
        ],
        "season_camera_days": float(effort.loc[of_season, "camera_day"].sum()),
        "untagged": int((~visits["tagged"].astype(bool)).sum()),
        "last_proof_of_life": None if running.empty else running.max().date(),
        "clock": [p for p in study.clock_faults if p.camera == camera],
        "silent": silent_stretches(log.silent[log.silent["camera"] == camera], study.last_day),
    }


def _state(camera_day: float, watched: float) -> str:
    if not camera_day:
        return "not known"
    if watched < _LOOKED_AT * camera_day:
        return "not looked at"
    return "ran" if camera_day >= _WHOLE_DAY else "part"


def _days_not_told_of(
    study: PropertyStudy, placed: pd.DataFrame, told: pd.Timestamp
) -> Iterator[tuple[date, str, str]]:
    """Days up to the report's on which it stands somewhere, but no card has told of them yet."""
    for row in placed.sort_values("start", kind="stable").to_dict("records"):
        first, last = row["start"].normalize(), study.last_day
        if not pd.isna(told):
            first = max(first, told + _DAY)
        if not pd.isna(row["end"]):
            last = min(last, (row["end"] - _MOMENT).normalize())
        for day in pd.date_range(first, last, freq="D"):
            yield day.date(), row["site"], "not known"


def silent_stretches(silent: pd.DataFrame, last_day: pd.Timestamp) -> list[Row]:
    """Stretches begun by the last day, in order; one that is noted as down stands once.

    ``start`` and ``end`` are days, both included; ``status`` is ``silent`` (too long to be
    believed: counted as not watched), ``down`` (noted as not running: not watched) or ``running``
    (silent, but noted as running: watched).
    """
    begun = silent[silent["start"] < last_day + _DAY]
    begun = begun.assign(end=begun["end"].fillna(last_day + _DAY))
    stretches = records(begun.sort_values("start", kind="stable"))
    noted = [s for s in stretches if s["status"] == "down"]
    shown = []
    for s in stretches:
        # Noted by the user as an outage, to the day.
        covered = any(
            n["site"] == s["site"]
            and n["start"] - _DAY <= s["start"]
            and s["end"] <= n["end"] + _DAY
            for n in noted
        )
        if s["status"] != "silent" or not covered:
            end = min((s["end"] - _MOMENT).date(), last_day.date())
            shown.append(s | {"start": s["start"].date(), "end": end})
    return shown
