"""Writes property.toml and the plain tables of the property folder."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from drawing import ground
from drawing.herd import BUCKS
from drawing.hunts import Sit
from drawing.mishaps import CARD_FULL_DAYS, DRIFT_CAMERA, DRIFT_END, DRIFT_MINUTES, DRIFT_START
from drawing.movement import Event, in_shooting_light
from drawing.sky import Sun, Weather

_SEEN_SHARE = 0.55
"""Of the visits in shooting light near a hunted stand, so many are seen by the hunter."""

_SETTINGS = f"""# Nettlepost Farm: an invented property, drawn by sample_data/draw.py.
name = "{ground.NAME}"
latitude = {ground.LATITUDE}
longitude = {ground.LONGITUDE}
timezone = "{ground.ZONE}"
units = "imperial"
season_start = "06-01"

# The local peak of breeding: ask the state agency for conception dates, or take the peak of
# fawning less about 200 days.
rut_peak = "11-12"

light_before_sunrise_minutes = 30
light_after_sunset_minutes = 30
visit_gap_minutes = 30
week_starts = "Mon"

[[hunting]]
name = "bow"
opens = "09-15"
closes = "01-15"

[[hunting]]
name = "gun"
opens = "11-14"
closes = "11-24"
"""


def write_tables(
    folder: Path,
    weather: Weather,
    sits: list[Sit],
    events: list[Event],
    sun: Sun,
    rng: np.random.Generator,
) -> None:
    """Writes everything of the property but its cards and tags."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "property.toml").write_bytes(_SETTINGS.encode())
    _write(folder / "cameras.csv", _cameras())
    _write(folder / "bucks.csv", _bucks())
    _write(folder / "stands.csv", _stands())
    _write(folder / "clock.csv", _clock())
    _write(folder / "outages.csv", _outages())
    _write(folder / "weather.csv", _weather(weather))
    _write(folder / "sits.csv", _sits(sits, events, sun, rng))


def _write(path: Path, rows: list[list[object]]) -> None:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    path.write_bytes(text.getvalue().encode())


def _cameras() -> list[list[object]]:
    header = "camera,site,setting,latitude,longitude,start,end,clock,bait,notes"
    rows: list[list[object]] = [list(header.split(","))]
    for placement in ground.placements():
        site = ground.SITES[placement.site]
        camera = ground.CAMERAS[placement.camera]
        clock = "" if camera.clock == "local" else camera.clock
        where = ground.coordinates(site.east_m, site.north_m)
        rows.append(
            [
                placement.camera,
                site.name,
                site.setting,
                *where,
                placement.start,
                placement.end or "",
                clock,
                "yes" if site.bait else "no",
                placement.notes,
            ]
        )
    return rows


def _bucks() -> list[list[object]]:
    rows: list[list[object]] = [["buck", "target", "born", "aliases", "notes"]]
    for buck in BUCKS:
        rows.append(
            [
                buck.name,
                "yes" if buck.target else "no",
                buck.born or "",
                ";".join(buck.aliases),
                buck.notes,
            ]
        )
    return rows


def _stands() -> list[list[object]]:
    header = "stand,sites,latitude,longitude,use,winds,rest_days,notes"
    rows: list[list[object]] = [list(header.split(","))]
    for stand in ground.STANDS:
        where = ground.coordinates(stand.east_m, stand.north_m)
        rows.append(
            [
                stand.name,
                ";".join(stand.sites),
                *where,
                stand.use,
                stand.winds,
                stand.rest_days,
                stand.notes,
            ]
        )
    return rows


def _clock() -> list[list[object]]:
    end = DRIFT_END + timedelta(minutes=DRIFT_MINUTES)
    days = (DRIFT_START.date(), end.date())
    return [
        ["camera", "shown", "actual", "from", "to"],
        [DRIFT_CAMERA, DRIFT_START, DRIFT_START, *days],
        [DRIFT_CAMERA, end, DRIFT_END, *days],
    ]


def _outages() -> list[list[object]]:
    return [["camera", "from", "to", "status"], ["cam-08", *CARD_FULL_DAYS, "down"]]


def _weather(weather: Weather) -> list[list[object]]:
    rows: list[list[object]] = [["time", "temperature_f", "wind_mph", "wind_from", "pressure_inhg"]]
    for i, time in enumerate(weather.time):
        rows.append(
            [
                str(time)[:16].replace("T", " "),
                f"{weather.temperature_f[i]:.0f}",
                f"{weather.wind_mph[i]:.0f}",
                weather.wind_from[i],
                f"{weather.pressure_inhg[i]:.2f}",
            ]
        )
    return rows


def _sits(
    sits: list[Sit], events: list[Event], sun: Sun, rng: np.random.Generator
) -> list[list[object]]:
    by_site_day: dict[tuple[str, date], list[Event]] = {}
    for event in events:
        # Days in UTC would cut an evening in two; the farm is about six hours behind.
        day = (event.at - np.timedelta64(6, "h")).astype("datetime64[D]").item()
        by_site_day.setdefault((event.site, day), []).append(event)
    rows: list[list[object]] = [["day", "half", "stand", "bucks_seen", "deer_seen", "notes"]]
    for sit in sits:
        noon = sun.at(sit.day)[1]
        seen: list[str] = []
        for site in sit.stand.sites:
            for event in by_site_day.get((site, sit.day), []):
                right_half = (event.at < noon) == (sit.half == "AM")
                if (
                    right_half
                    and in_shooting_light(sun, sit.day, event.at)
                    and event.buck not in seen
                    and rng.random() < _SEEN_SHARE
                ):
                    seen.append(event.buck)
        deer = int(rng.poisson(2.4)) + len(seen)
        note = str(
            rng.choice(
                [
                    "",
                    "",
                    "",
                    "",
                    "wind swirled",
                    "quiet",
                    "squirrels all morning" if sit.half == "AM" else "does early",
                    "too far for the bow",
                ]
            )
        )
        if note == "too far for the bow" and not seen:
            note = ""
        rows.append([sit.day, sit.half, sit.stand.name, ";".join(seen), deer, note])
    return rows
