"""A small invented property on disk, ingested from photo logs in CSV: quick to make, whole to use.

Three cameras, two seasons, a resident, a rut visitor and a summer buck; the last day known is
20 October 2025.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from pathlib import Path
from random import Random

from deerlog.ingest.run import ingest_cards
from deerlog.property import open_property

LAST_DAY = date(2025, 10, 20)

SETTINGS = """\
name = "Hollow Fork"
latitude = 40.1
longitude = -91.2
timezone = "America/Chicago"
rut_peak = "11-12"
[[hunting]]
name = "bow"
opens = "10-01"
closes = "01-15"
"""
TABLES = {
    "property.toml": SETTINGS,
    "cameras.csv": "camera,site,setting,latitude,longitude,start,end\n"
    "c1,Ridge,travel,40.101,-91.201,2024-08-01,\n"
    "c2,Beans,food,40.104,-91.205,2024-08-01,\n"
    "c3,Creek,water,40.098,-91.196,2024-08-01,2025-02-01\n",
    "bucks.csv": "buck,target,born,aliases,notes\n"
    "Lantern,yes,,Lamp,\nPasser,yes,,,\nSummers,no,,,\n",
    "stands.csv": "stand,sites,latitude,longitude,use,winds,rest_days,notes\n"
    "Ridge Ladder,Ridge,40.1012,-91.2011,either,N;NW,3,\n"
    'Bean Blind,Beans,,,either,,2,"box"\n',
    "sits.csv": "day,half,stand,bucks_seen,deer_seen,notes\n"
    "2024-11-10,AM,Ridge Ladder,Lantern,3,\n"
    "2025-10-11,PM,Bean Blind,,2,\n"
    "2025-10-19,PM,Ridge Ladder,,1,\n"
    "2025-10-25,AM,Ridge Ladder,,1,\n",
}


def make_small_property(
    folder: Path,
    tables: Mapping[str, str | None] | None = None,
    *,
    tagged: bool = True,
    summer_buck: str = "Summers",
    seasons: int = 2,
) -> Path:
    """Write and ingest it.

    Parameters
    ----------
    tables
        Files by name to write instead of those of `TABLES`; None leaves one out.
    tagged
        False leaves every visit without a tag.
    summer_buck
        The name he is tagged with.
    seasons
        1 leaves the first out, from photos and tables: quicker, where one season shows as much.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in (TABLES | dict(tables or {})).items():
        if text is not None:
            if seasons == 1:
                text = text.replace("2024-08-01", "2025-08-01").replace("2025-02-01", "")
            (folder / name).write_text(text, encoding="utf-8", newline="\n")
    for camera, rows in _photos(Random(20251020), summer_buck, seasons).items():
        card = folder / "cards" / camera
        card.mkdir(parents=True)
        _write(card / "log.csv", ["file", "taken"], [[file, taken] for file, taken, _ in rows])
        (folder / "tags").mkdir(exist_ok=True)
        if tagged:
            header = ["photo", "taken", "photos", "bucks", "others", "notes"]
            sheet = [[file, taken, 1, bucks, "", ""] for file, taken, bucks in rows]
            _write(folder / "tags" / f"{camera}.csv", header, sheet)
    ingest_cards(open_property(folder), today=LAST_DAY + timedelta(days=2))
    return folder


def _photos(draw: Random, summer_buck: str, seasons: int) -> dict[str, list[tuple[str, str, str]]]:
    """File, time and tag of every photo by camera."""
    photos: dict[str, list[tuple[str, str, str]]] = {"c1": [], "c2": [], "c3": []}

    def add(camera: str, when: datetime, bucks: str) -> None:
        file = f"{camera}_{len(photos[camera]):05d}.jpg"
        photos[camera].append((file, f"{when:%Y-%m-%d %H:%M:%S}", bucks))

    stretches = ((date(2024, 8, 1), date(2025, 1, 31)), (date(2025, 8, 1), LAST_DAY))
    for first, last in stretches[-seasons:]:
        day = first
        while day <= last:
            for camera in photos:
                if seasons > 1 and camera == "c3" and day > date(2025, 2, 1):
                    continue
                add(camera, datetime.combine(day, time(13, 0)), "-")
                minute = draw.randrange(60)
                if camera in ("c1", "c2") and draw.random() < 0.35:
                    hour = draw.choice((7, 8, 17, 22) if camera == "c1" else (3, 17, 18, 23))
                    add(camera, datetime.combine(day, time(hour, minute)), "Lantern")
                if camera == "c1" and (11, 6) <= (day.month, day.day) <= (11, 15):
                    add(camera, datetime.combine(day, time(9, minute)), "Passer")
                if camera == "c3" and day.month == 8:
                    add(camera, datetime.combine(day, time(19, minute)), summer_buck)
            day += timedelta(days=1)
    return photos


def _write(path: Path, header: list[str], rows: list[list[object]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as out:
        csv.writer(out, lineterminator="\n").writerows([header, *rows])
