"""What the page shows of each camera."""

from __future__ import annotations

from collections.abc import Hashable
from datetime import date, timedelta
from typing import Any

import pandas as pd

from deerlog.report.page.buck_data import (
    CameraSection,
    ClockFinding,
    EffortDay,
    PlacementRow,
    SilentStretch,
)
from deerlog.study import Study


def camera_sections(study: Study) -> tuple[CameraSection, ...]:
    """Every camera of cameras.csv, in its order."""
    return tuple(
        _section(study, camera) for camera in dict.fromkeys(study.place.placements["camera"])
    )


def _section(study: Study, camera: str) -> CameraSection:
    log = study.field_log
    placements = study.place.placements
    effort = study.effort[study.effort["camera"] == camera].sort_values("day")
    season = study.calendar.season_of(pd.DatetimeIndex([study.last_day]))[0]
    of_season = study.calendar.season_of(effort["day"]) == season
    until = (study.last_day + timedelta(days=1)).tz_localize(study.place.settings.timezone)
    photos = log.photos[(log.photos["camera"] == camera) & log.photos["same_as"].isna()]
    photos = photos[photos["local"] < until]
    visits = log.visits[(log.visits["camera"] == camera) & (log.visits["first"] < until)]
    ran = effort.loc[effort["camera_day"] > 0, "day"]
    return CameraSection(
        camera=camera,
        placements=tuple(
            PlacementRow(
                site=str(p["site"]),
                setting=str(p["setting"]),
                first=p["start"].date(),
                last=_last_day(p["end"]),
                baited=bool(p["bait"]),
            )
            for p in placements[placements["camera"] == camera].to_dict("records")
        ),
        effort=(
            *(
                EffortDay(day=d.date(), site=str(s), camera_day=float(c))
                for d, s, c in zip(effort["day"], effort["site"], effort["camera_day"], strict=True)
            ),
            *_days_not_told_of(study, camera, effort),
        ),
        camera_days=float(effort["camera_day"].sum()),
        season_camera_days=float(effort.loc[of_season, "camera_day"].sum()),
        photos=len(photos),
        visits=len(visits),
        untagged=int((~visits["tagged"].astype(bool)).sum()),
        tag_sheet=f"tags/{camera}.csv",
        last_proof_of_life=None if ran.empty else ran.max().date(),
        clock=tuple(
            ClockFinding(what="This clock looks wrong.", evidence=f"{p.why} {p.how}")
            for p in study.clock_faults
            if p.camera == camera
        ),
        silent=_silent_stretches(log.silent[log.silent["camera"] == camera], study.last_day),
    )


def _days_not_told_of(study: Study, camera: str, effort: pd.DataFrame) -> list[EffortDay]:
    """Days up to the report's on which it stands somewhere, but no card has told of them yet."""
    told = None if effort.empty else effort["day"].max()
    days = []
    placed = study.place.placements[study.place.placements["camera"] == camera]
    for row in placed.sort_values("start", kind="stable").to_dict("records"):
        first = row["start"].normalize()
        if told is not None:
            first = max(first, told + timedelta(days=1))
        last = study.last_day
        if not pd.isna(row["end"]):
            last = min(last, (row["end"] - timedelta(microseconds=1)).normalize())
        days += [
            EffortDay(day=day.date(), site=str(row["site"]), camera_day=0.0)
            for day in pd.date_range(first, last, freq="D")
        ]
    return days


def _silent_stretches(silent: pd.DataFrame, last_day: pd.Timestamp) -> tuple[SilentStretch, ...]:
    """Stretches begun by the last day, in order; one that is noted as down stands once."""
    begun = silent[silent["start"] < last_day + timedelta(days=1)]
    noted = begun[begun["status"] == "down"]
    stretches = []
    for row in begun.sort_values("start", kind="stable").to_dict("records"):
        if row["status"] == "silent" and _covered(row, noted):
            continue
        last = min(_last_day(row["end"]) or date.max, last_day.date())
        stretches.append(
            SilentStretch(
                site=str(row["site"]),
                first=row["start"].date(),
                last=last,
                status=row["status"],
            )
        )
    return tuple(stretches)


def _covered(stretch: dict[Hashable, Any], noted: pd.DataFrame) -> bool:
    """Whether an outage noted by the user is this stretch, to the day."""
    day = timedelta(days=1)
    return any(
        site == stretch["site"] and start - day <= stretch["start"] and stretch["end"] <= end + day
        for site, start, end in zip(noted["site"], noted["start"], noted["end"], strict=True)
    )


def _last_day(end: pd.Timestamp) -> date | None:
    """The last day of a half-open stretch."""
    if pd.isna(end):
        return None
    return (end - timedelta(microseconds=1)).date()
