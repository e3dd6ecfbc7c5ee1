"""What the page shows of each camera."""

from __future__ import annotations

from datetime import date, timedelta

import pandas as pd

from deerlog.report.camera_data import (
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
    photos = log.photos[(log.photos["camera"] == camera) & log.photos["same_as"].isna()]
    visits = log.visits[log.visits["camera"] == camera]
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
        effort=tuple(
            EffortDay(day=d.date(), site=str(s), camera_day=float(c))
            for d, s, c in zip(effort["day"], effort["site"], effort["camera_day"], strict=True)
        ),
        camera_days=float(effort["camera_day"].sum()),
        season_camera_days=float(effort.loc[of_season, "camera_day"].sum()),
        photos=len(photos),
        visits=len(visits),
        untagged=int((~visits["tagged"].astype(bool)).sum()),
        tag_sheet=f"tags/{camera}.csv",
        last_proof_of_life=None if ran.empty else ran.max().date(),
        clock=tuple(
            ClockFinding(what=p.value or "", evidence=p.why, row_to_add=p.how)
            for p in log.problems
            if p.kind.startswith("clock-") and p.file == f"cards/{camera}"
        ),
        silent=tuple(
            SilentStretch(
                site=str(s["site"]), first=s["start"].date(), last=_last_day(s["end"]) or date.max
            )
            for s in log.silent[log.silent["camera"] == camera].to_dict("records")
        ),
    )


def _last_day(end: pd.Timestamp) -> date | None:
    """The last day of a half-open stretch."""
    if pd.isna(end):
        return None
    return (end - timedelta(microseconds=1)).date()
